"""Forms about the same defect seen twice: which earlier one it is, that it is another, that it is not there any more."""

from collections.abc import Sequence
from typing import Any

from django import forms

from inspections.forms.fields import area
from jobsite.forms import PlainForm

Choices = Sequence[tuple[str, str]]


class SameForm(PlainForm):
    """Which observation is of the same defect: those in like words first, then whatever else it could be."""

    other = forms.ChoiceField(label="The same defect as")

    def __init__(self, *args: Any, likely: Choices, rest: Choices, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["other"]
        groups = [("In like words", list(likely)), ("Others", list(rest))]
        field.choices = [("", "choose"), *((head, pairs) for head, pairs in groups if pairs)]
        if len(likely) == 1:
            field.initial = likely[0][0]


class PartForm(PlainForm):
    """Why two observations are not of one defect after all."""

    reason = area("Why they are two", help_text="Both are open then, each with its own dates.")


class GoneForm(PlainForm):
    """What was seen where a defect had been."""

    seen = area(
        "What was seen there instead",
        help_text="What is there now, and how you know: it stands as the reason for good.",
    )


class ThereForm(PlainForm):
    """Why a defect that was found gone is there after all."""

    reason = area("What was found", help_text="It is open again, with the dates that it had.")
