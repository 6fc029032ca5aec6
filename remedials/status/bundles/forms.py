"""Forms that ask for an archive, and those of holds."""

import re

from django import forms
from django.core.exceptions import ValidationError

from jobsite.forms import CreateForm, MomentField, PlainForm

AREA = forms.Textarea(attrs={"rows": 3})
BETWEEN = re.compile(r"[\s,;]+")
NUMBER = re.compile(r"[0-9]{1,9}")
MOST_NAMED = 5
NOT_NUMBERS = "Write the numbers of remedials with commas or blanks between them: 1004, 1010."


class AsOfForm(CreateForm):
    """As of when, for whom and why."""

    instant = MomentField(
        label="As of", moves=True, help_text="What was recorded later is left out. The time is that of London's clock."
    )
    reason = forms.CharField(label="For whom, and why", widget=AREA, help_text="It stands in the ledger.")


class PackForm(CreateForm):
    """Which remedials, for whom and why."""

    jobs = forms.CharField(label="Numbers of remedials", help_text="As the assessor picked them: 1004, 1010, 1011.")
    reason = forms.CharField(label="For whom, and why", widget=AREA, help_text="It stands in the ledger.")

    def clean_jobs(self) -> list[int]:
        """The numbers, each once. ValidationError for anything else."""
        parts = [part for part in BETWEEN.split(self.cleaned_data["jobs"]) if part]
        wrong = list(dict.fromkeys(part for part in parts if not NUMBER.fullmatch(part)))
        if wrong:
            named = ", ".join(f"“{part[:30]}”" for part in wrong[:MOST_NAMED])
            raise ValidationError(f"{named} {'is no number' if len(wrong) == 1 else 'are no numbers'}. {NOT_NUMBERS}")
        return sorted({int(part) for part in parts})


class HoldForm(CreateForm):
    """What for it is held."""

    reason = forms.CharField(
        label="What for",
        widget=AREA,
        help_text="A claim, an accident, a request of a court or an insurer; and their reference.",
    )


class LiftForm(PlainForm):
    """Why it is lifted."""

    why = forms.CharField(label="Why it may be lifted, and who decided that", widget=AREA)
