"""Accept or send back; for each FI what the investigation found."""

from typing import Any
from uuid import UUID

from django import forms

from inspections.choices import Code
from jobsite.forms import CreateForm, DayField, PlainForm
from remedials.works.forms.fields import AREA, text
from remedials.works.models import ProofReview, RecallDecision
from remedials.works.operations.reviewing import Finding

DECISIONS = [
    (ProofReview.Decision.ACCEPTED, "Accept the proof"),
    (ProofReview.Decision.SENT_BACK, "Send it back with the reason"),
]
NOTHING = "nothing"
FOUND = [
    ("", "choose"),
    *((code.value, f"{code}: {code.label}") for code in (Code.C1, Code.C2, Code.C3)),
    (NOTHING, "nothing that needs a code"),
]


class FoundWrongForm(CreateForm):
    """That an instrument measures wrongly, and since when that may be."""

    last_good_on = DayField(
        label="Last known to be right on", help_text="Its last good check, or a comparison that held."
    )
    found_on = DayField(label="Found wrong on")
    what = text("How it is wrong, and who found it", needed=True, area=True)


class RecallForm(CreateForm):
    """What becomes of a reading whose instrument was found wrong. `may_keep`: whether this person may keep it."""

    decision = forms.ChoiceField(
        label="Decision",
        widget=forms.RadioSelect,
        choices=[
            (RecallDecision.Decision.AGAIN, "Read again: what it proved is opened again"),
            (RecallDecision.Decision.KEPT, "Keep it, with the reason"),
        ],
    )
    reason = text("Reason", needed=True, area=True, help_text="To keep it: what shows that it is right all the same.")
    seen = forms.UUIDField(widget=forms.HiddenInput, required=False)

    def __init__(self, *args: Any, may_keep: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not may_keep:
            field: Any = self.fields["decision"]
            field.choices = field.choices[:1]


class ReviewForm(PlainForm):
    decision = forms.ChoiceField(label="Decision", choices=DECISIONS, widget=forms.RadioSelect)
    reason = text("Reason", area=True, help_text="Needed to send it back; kept with the acceptance where given.")
    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, investigations: list[dict[str, Any]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.investigations = investigations
        for item in investigations:
            number = item["number"]
            self.fields[f"code_{item['id']}"] = forms.ChoiceField(
                label=f"What the investigation {number} found", choices=FOUND, required=False
            )
            self.fields[f"text_{item['id']}"] = forms.CharField(
                label=f"The finding of {number} in words", required=False, widget=AREA, max_length=10_000
            )

    def findings(self) -> dict[UUID, Finding]:
        """The findings chosen, by observation; one left open is missing, and the operation asks for it."""
        given = self.cleaned_data
        chosen = {item["id"]: given.get(f"code_{item['id']}", "") for item in self.investigations}
        return {
            UUID(pk): Finding("" if code == NOTHING else code, given.get(f"text_{pk}", ""))
            for pk, code in chosen.items()
            if code
        }
