"""Forms for what changes hands or places: a site recorded twice, a site handed over, a board changed for a new one."""

from collections.abc import Iterable
from typing import Any
from uuid import UUID

from django import forms
from django.db.models import Q

from jobsite.forms import CreateForm, DayField, PlainForm
from jobsite.premises.choices import RoleAtUnit
from jobsite.premises.forms.fields import EditForm, text
from jobsite.premises.models import Party, Site

PARTS = [(role.value, role.label) for role in RoleAtUnit if role != RoleAtUnit.OCCUPIER]


class OtherSiteForm(PlainForm):
    """Which site this one is, recorded twice; those of its own customer."""

    other = forms.ModelChoiceField(Site.objects.none(), label="It is the same as", empty_label="choose")

    def __init__(self, *args: Any, site: Site, user: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["other"]
        same = Q(customer=site.customer_id, nation=site.nation)
        field.queryset = Site.objects.visible_to(user).current().filter(same).exclude(pk=site.pk).order_by("sort", "pk")
        field.label_from_instance = lambda row: f"{row.name}, {row.one_line}"


class MergeForm(PlainForm):
    """The names that those of the one get which the other has too, and how it is known that the two are one."""

    reason = text("How you know that it is the same site", needed=True, area=True)

    def __init__(self, *args: Any, rows: Iterable[Any] = (), **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.renamed: list[UUID] = []
        for row in rows:
            self.renamed.append(row.pk)
            name = getattr(row, row.sort_by)
            field = text(f"{type(row).__name__} {name} is from now on", needed=True)
            field.initial = f"{name} (2)"
            self.fields[f"name-{row.pk}"] = field
        self.order_fields([*(f"name-{key}" for key in self.renamed), "reason"])

    @property
    def names(self) -> dict[UUID, str]:
        """The new names by key."""
        return {key: self.cleaned_data[f"name-{key}"] for key in self.renamed}


class HandOverForm(EditForm):
    """To whom a site goes, from when, and why."""

    to = forms.ModelChoiceField(Party.objects.none(), label="To", empty_label="choose")
    on = DayField(label="From")
    roles = forms.MultipleChoiceField(
        label="They take over as", choices=PARTS, required=False, widget=forms.CheckboxSelectMultiple,
        help_text="Where the former customer is entered as that.",
    )  # fmt: skip
    reason = text("Why", needed=True, help_text="Sold, another agent, inherited.")

    def __init__(self, *args: Any, site: Site, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["to"]
        field.queryset = Party.objects.current().exclude(pk=site.customer_id).order_by("sort", "pk")


class ReplaceBoardForm(CreateForm):
    """A board changed for a new one."""

    designation = text("The new board is called", needed=True)
    main_switch = text("Its main switch")
    reason = text("What was done", needed=True, help_text="Consumer unit changed.")
