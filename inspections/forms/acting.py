"""Forms for what is decided and done about an observation, and for a reading."""

from typing import Any

from django import forms

from inspections.choices import Decision, MadeSafeHow, NoticeAnswer, NoticeHow
from inspections.forms.fields import CODES, PlacedForm, area, line, person, photo, pick
from inspections.models import Observation
from jobsite.forms import CreateForm, DayField, MomentField, PlainForm
from jobsite.ids import new_id

DECISIONS = [
    (Decision.AGREE.value, "agree with the code"),
    (Decision.RECODE.value, "recode"),
    (Decision.NO_CODE.value, "needs no code"),
]
FINDINGS = [(code, label) for code, label in CODES if code != "FI"]
NOTHING = "nothing"
ANSWERS = [(value, label) for value, label in NoticeAnswer.choices if value]


class ReviewForm(PlainForm):
    """The decision on a code."""

    decision = forms.ChoiceField(label="Decision", choices=DECISIONS, widget=forms.RadioSelect)
    code = pick("New code", CODES, needed=False, first="as it is", help_text="Only where you recode.")
    reason = area("Reason", needed=False, help_text="Needed for anything but agreeing.")
    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, coded: bool = True, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if not coded:
            decision: Any = self.fields["decision"]
            decision.choices = [(Decision.RECODE.value, "give it a code"), *DECISIONS[2:]]
            self.fields["code"].label, self.fields["code"].help_text = "Code", ""


class CodeForm(PlainForm):
    """The decision on a code as the page of all codes takes it: one choice, the reason, the version that was seen."""

    choice = forms.ChoiceField(
        label="Decision",
        choices=[(Decision.AGREE.value, ""), *[(code, "") for code, _ in CODES], (Decision.NO_CODE.value, "")],
    )
    reason = line("Reason", needed=False, max_length=10_000)
    version = forms.IntegerField(widget=forms.HiddenInput)

    def clean(self) -> dict[str, Any]:
        """The cleaned values, the choice as a decision and its code."""
        values = dict(super().clean() or self.cleaned_data)
        choice = values.pop("choice", "")
        recodes = choice not in (Decision.AGREE, Decision.NO_CODE)
        return values | {"decision": Decision.RECODE.value if recodes else choice, "code": choice if recodes else ""}


class MissedForm(PlacedForm, CreateForm):
    """What another firm's report missed."""

    text = area("What was observed")
    code = pick("Code", CODES, first="choose")
    field_order = ("unit", "board", "way", "place", "text", "code")


class FindingForm(CreateForm):
    """What an investigation found."""

    code = forms.ChoiceField(
        label="Finding",
        choices=[*FINDINGS, (NOTHING, "nothing that needs a code")],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what was found, or that nothing was."},
    )
    text = area("What was found")

    def clean_code(self) -> str:
        """The code; nothing found is chosen, never assumed, and has no code."""
        code = self.cleaned_data["code"]
        return "" if code == NOTHING else str(code)


class WithdrawFindingForm(PlainForm):
    """That a finding was recorded in error."""

    reason = area(
        "Why it is withdrawn", help_text="The investigation is open again; what was recorded stays on record."
    )


class TakeOnForm(PlainForm):
    """Whose the next step is, and by when."""

    owner = person("Who has the next step", empty_label="choose")
    step_by = DayField(label="By", moves=True)
    reason = line("Remark", needed=False)


class PhotoForm(PlainForm):
    """A photograph of the defect as found. Its key is the phone's, which keeps each photo apart by it."""

    id = forms.UUIDField(required=False, widget=forms.HiddenInput(attrs={"data-fresh": ""}), initial=new_id)
    photo = photo("Photo")
    caption = line("What it shows", needed=False)


class MakeSafeForm(CreateForm):
    """A temporary action, agreed with the duty-holder."""

    done_by = person(
        "Who made it safe",
        empty_label="choose",
        help_text="Where nobody of the firm did, choose who saw that it was done, and say below who did it.",
    )
    done_at = MomentField(label="When", moves=True, help_text="Not when it is recorded: when it was done.")
    how = pick("How", MadeSafeHow.choices, first="choose")
    what = area("What exactly, and where", help_text="So that the next person finds it.")
    agreed_with = line("Agreed with", help_text="The duty-holder: nothing is taken out of use without their agreement.")
    lock = line("Lock", needed=False, help_text="Its number or mark.")
    key_holder = line("Who holds the key", needed=False)
    look_again_on = DayField(label="Look again on", moves=True)
    looker = person("Who looks again", needed=False, empty_label="whoever made it safe")
    photo = photo("Photo of it", needed=False)
    no_photo = line("Why there can be no photo", needed=False, help_text="Only where you add none: it is the proof.")


class LookAgainForm(CreateForm):
    """That what was made safe still holds."""

    look_again_on = DayField(label="It still holds; look again on", moves=True)
    key_holder = line("Who holds the key now", needed=False)
    note = area("What you saw", needed=False)


class ReconnectForm(PlainForm):
    """That what was made safe is connected again."""

    reason = area("Who reconnected it, and why")


class NoticeForm(CreateForm):
    """A danger notice."""

    observations = forms.ModelMultipleChoiceField(
        label="About", queryset=Observation.objects.none(), widget=forms.CheckboxSelectMultiple
    )
    why = area("Why it is dangerous")
    advised = area("What was advised")
    given_to = line("Given to", help_text="Name, and what they are at the site.")
    how = pick("How it was given", NoticeHow.choices, first="choose")

    def __init__(self, *args: Any, about: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["observations"]
        field.queryset = about
        field.label_from_instance = lambda row: f"{row.number} · {row.code or 'not coded'} · {row.text[:120]}"


class AnswerForm(PlainForm):
    """What was answered to a danger notice."""

    answer = forms.ChoiceField(label="Answer", choices=ANSWERS, widget=forms.RadioSelect)
    answered_by = line("Who answered", needed=False)
    answer_note = area("What they said", needed=False, help_text="Of a refusal, their reason as they gave it.")
