"""Forms for who moves in, and for what the law asks for in writing."""

from typing import Any

from django import forms

from inspections.choices import PaperAnswer
from inspections.forms.fields import area, pick
from jobsite.forms import CreateForm, DayField, PlainForm
from jobsite.premises.models import Party


class OccupancyForm(CreateForm):
    """Somebody moves in."""

    since = DayField(label="They move in on")
    occupier = forms.ModelChoiceField(
        Party.objects.none(), label="Who", required=False, empty_label="not entered, or nobody yet",
        help_text="Somebody who is not on the list is entered under Customers first.",
    )  # fmt: skip
    tenancy_granted_on = DayField(
        label="Tenancy granted on", required=False, help_text="Where it is let: it decides which rule of law binds."
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["occupier"]
        field.queryset = Party.objects.current().order_by("sort", "pk")


class PaperForm(PlainForm):
    """Whether a paper was given: when, how, to whom; or why it is not needed."""

    answer = pick("What became of it", PaperAnswer.choices, needed=False, first="still to be done")
    answered_on = DayField(label="On", required=False)
    how = area("How, and to whom", needed=False, help_text="By e-mail to the tenant, by hand; or why it is not needed.")
    version = forms.IntegerField(widget=forms.HiddenInput)
