"""Forms for who moves in, and for what is owed in writing."""

from typing import Any

from django import forms

from inspections.choices import AskedBy, PaperAnswer, SupplyCame, SupplyHow
from inspections.forms.fields import area, pick
from inspections.models import Inspection, Paper, PaperDocument
from inspections.operations import Recipient
from inspections.queries.papers import candidates
from jobsite.forms import CreateForm, DayField, LineField, PlainForm
from jobsite.premises.models import Party, Unit

SETTLED = [(PaperAnswer.DONE.value, "it was done"), (PaperAnswer.NOT_NEEDED.value, "it is not needed")]
CAME = [(SupplyCame.GIVEN.value, "they have it"), (SupplyCame.REFUSED.value, "they would not take it")]


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

    answer = pick("What became of it", SETTLED, needed=False, first="still to be done")
    answered_on = DayField(label="On", required=False)
    how = area("How, and to whom", needed=False, help_text="By e-mail to the tenant, by hand; or why it is not needed.")
    version = forms.IntegerField(widget=forms.HiddenInput)


class ToForm(CreateForm):
    """A form that names the people a paper goes to: those on record, ticked, and somebody else."""

    to = forms.MultipleChoiceField(label="Who", required=False, widget=forms.CheckboxSelectMultiple)

    def __init__(self, *args: Any, paper: Paper, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.known = {one.key: one for one in self.offered(paper)}
        field: Any = self.fields["to"]
        field.choices = [(key, one.label) for key, one in self.known.items()]
        field.initial = [key for key, one in self.known.items() if one.must and not one.has_it]
        if not self.known:
            del self.fields["to"]

    def offered(self, paper: Paper) -> list[Any]:
        """Those on record whom it may go to."""
        return candidates(paper)


class SupplyForm(ToForm):
    """That a paper was handed over: to whom, when, how, which document; or that they would not take it."""

    somebody = LineField(label="Somebody else", required=False, help_text="A name that is not on the list.")
    came = forms.ChoiceField(label="What became of it", choices=CAME, widget=forms.RadioSelect, initial="given")
    how = pick("How", SupplyHow.choices)
    on = DayField(label="On")
    document = forms.ModelChoiceField(
        PaperDocument.objects.none(), label="Which document", required=False, empty_label="another, or none kept here"
    )
    note = area(
        "Note", needed=False, rows=2, help_text="Their reference; of a refusal, how it was offered and what they said."
    )
    receipt = forms.FileField(label="What shows it", required=False, help_text="A receipt, their answer, a photograph.")
    settles = forms.BooleanField(
        label="That settles it: nobody else is to have it", required=False, initial=True,
        help_text="Leave it unticked while somebody still lacks it.",
    )  # fmt: skip
    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, paper: Paper, **kwargs: Any) -> None:
        super().__init__(*args, paper=paper, **kwargs)
        field: Any = self.fields["document"]
        field.queryset = paper.documents.order_by("-made_at")
        newest = field.queryset.first()
        if newest is None:
            del self.fields["document"]
        else:
            field.initial = newest.pk

    def clean(self) -> dict[str, Any]:
        """The cleaned values, the people as an operation takes them."""
        values = dict(super().clean() or self.cleaned_data)
        chosen = [self.known[key] for key in values.pop("to", [])]
        somebody = values.pop("somebody", "")
        values["to"] = [Recipient(one.name, one.party) for one in chosen]
        values["to"] += [Recipient(somebody)] if somebody else []
        return values


class MailForm(ToForm):
    """To whom a paper goes by e-mail."""

    name = LineField(label="Somebody else", required=False)
    email = forms.EmailField(label="Their e-mail address", required=False)

    def offered(self, paper: Paper) -> list[Any]:
        """Those on record who have an e-mail address."""
        return [one for one in candidates(paper) if one.party and one.party.email]

    def clean(self) -> dict[str, Any]:
        """The cleaned values, the people with their addresses as an operation takes them."""
        values = dict(super().clean() or self.cleaned_data)
        chosen = [self.known[key] for key in values.pop("to", [])]
        name, email = values.pop("name", ""), values.pop("email", "")
        if bool(name) != bool(email) and not self.errors:
            self.add_error("name" if email else "email", "Give the name and the address.")
        people = [Recipient(one.name, one.party, one.party.email) for one in chosen if one.party]
        values["to"] = people + ([Recipient(name, None, email)] if name and email else [])
        return values


class BackForm(PlainForm):
    """Why an entry is taken back."""

    why = area("Why")


class RequestForm(CreateForm):
    """Somebody asked in writing for a copy of the report."""

    asked_by = forms.ChoiceField(label="Who asked", choices=AskedBy.choices, widget=forms.RadioSelect)
    who = LineField(label="Their name", help_text="The council's, or the person's.")
    asked_on = DayField(label="Their letter or e-mail came on")
    unit = forms.ModelChoiceField(Unit.objects.none(), label="For which unit", empty_label=None)
    how = LineField(label="How, and their reference", required=False)

    def __init__(self, *args: Any, inspection: Inspection, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["unit"]
        field.queryset = inspection.units.order_by("sort", "pk")
        self.units_there = list(field.queryset)
        if len(self.units_there) == 1:
            del self.fields["unit"]

    def clean(self) -> dict[str, Any]:
        """The cleaned values, the one unit where nobody was asked for it."""
        values = dict(super().clean() or self.cleaned_data)
        if len(self.units_there) == 1:
            values["unit"] = self.units_there[0]
        return values
