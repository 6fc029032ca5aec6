"""Making a private link: what it opens, whom it is for, until when, and how they get it."""

from datetime import date
from typing import Any

from django import forms

from jobsite.forms import CreateForm, MomentField, PlainForm
from jobsite.people.models import PrivateLink
from jobsite.premises.models import Party, Site, Unit
from jobsite.premises.queries.sharing import may_be_given, more_than_theirs, parts_at

SHOW, MAIL = "show", "mail"
HOW = [(SHOW, "I pass it on: show it to me once"), (MAIL, "By e-mail, straight to them")]


class _GivenForm(CreateForm):
    how = forms.ChoiceField(label="How they get it", choices=HOW, initial=SHOW, widget=forms.RadioSelect)
    sent_to = forms.CharField(
        label="Given to",
        help_text="In your own words: whom, and how. By e-mail it is the address.",
        required=False,
        max_length=300,
    )
    email = forms.EmailField(label="E-mail address", required=False, max_length=254)
    note = forms.CharField(
        label="A word of your own in the e-mail",
        required=False,
        max_length=2000,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    expires_at = MomentField(label="Ends")

    def clean(self) -> dict[str, Any]:
        """Whom it is given to, or where it is sent."""
        data = super().clean() or self.cleaned_data
        if data.get("how") == SHOW and not data.get("sent_to") and "sent_to" not in self.errors:
            self.add_error("sent_to", "Say whom you give it to: later somebody asks who has it.")
        if data.get("how") == MAIL and not data.get("email") and "email" not in self.errors:
            self._no_address(data)
        return data

    def _no_address(self, data: dict[str, Any]) -> None:
        self.add_error("email", "Write the address to which it is to go.")


class LinkForm(_GivenForm):
    unit = forms.ModelChoiceField(Unit.objects.none(), label="For", required=False, empty_label="the whole site")
    party = forms.ModelChoiceField(Party.objects.none(), label="Customer or party", required=False, empty_label="none")
    all_units = forms.BooleanField(
        label="They may see every unit of this site", required=False, widget=forms.HiddenInput
    )
    field_order = ("id", "unit", "party", "all_units")
    before_their_day = False  # whether who is to become something here may be given it already

    def __init__(self, *args: Any, site: Site, today: date, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.customer = site.customer_id
        self.parts = parts_at(site, today, before_their_day=self.before_their_day)
        units, parties = self.fields["unit"], self.fields["party"]
        units.queryset = site.units.current().order_by("sort")  # type: ignore[attr-defined]
        parties.queryset = may_be_given(site, self.parts)  # type: ignore[attr-defined]
        if site.units.filter(whole_site=True).exists():
            del self.fields["unit"], self.fields["all_units"]
        self.fields["email"].help_text = "Left empty: the one that is recorded of the customer or party chosen above."

    def clean(self) -> dict[str, Any]:
        """By e-mail it goes to somebody whom the record knows."""
        data = super().clean()
        if data.get("how") == MAIL and not data.get("party") and "party" not in self.errors:
            self.add_error("party", "Choose whom the e-mail is for: its words begin with the name.")
        party: Party | None = data.get("party")
        if party and "unit" in self.fields and not data.get("unit") and "unit" not in self.errors:
            self._more_than_theirs(party, agreed=bool(data.get("all_units")))
        return data

    def _more_than_theirs(self, party: Party, *, agreed: bool) -> None:
        """Whoever only lives in a unit sees all the others through a link to the whole site: that is asked about first."""
        where = more_than_theirs(party, self.customer, self.parts)
        if not where:
            return
        self.fields["all_units"].widget = forms.CheckboxInput()
        if not agreed:
            self.add_error(
                "all_units",
                f"{party.name} is on record only as living in {where}; this link shows every unit. Choose that one "
                "above, or tick this.",
            )

    def _no_address(self, data: dict[str, Any]) -> None:
        """The recorded address of whoever was chosen; never that of somebody else."""
        party: Party | None = data.get("party")
        if party is not None and party.email:
            data["email"] = party.email
        elif party is not None:
            self.add_error("email", f"No address of {party.name} is recorded: write one.")


class PortfolioLinkForm(_GivenForm):
    """All of one customer's sites and units."""


class NarrowLinks(PlainForm):
    q = forms.CharField(label="Given to, customer or site", required=False, max_length=200)
    which = forms.ChoiceField(
        label="Which",
        required=False,
        choices=[("open", "those that open"), ("ended", "those that ended"), ("all", "all")],
    )
    purpose = forms.ChoiceField(
        label="What they open", required=False, choices=[("", "anything"), *PrivateLink.Purpose.choices]
    )
    customer = forms.UUIDField(required=False, widget=forms.HiddenInput)
