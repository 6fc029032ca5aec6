"""Sending, withdrawing, chasing, taking on, handing over a link."""

from typing import Any

from django import forms

from jobsite.forms import CreateForm, DayField, PlainForm
from jobsite.people.models import User
from jobsite.people.rights import ROLES_WITH, Right
from remedials.quotes.choices import SentHow
from remedials.works.forms.fields import PersonField, text

PRICING = tuple(sorted(ROLES_WITH[Right.PRICE]))


class SendForm(CreateForm):
    version = forms.IntegerField(widget=forms.HiddenInput, required=False)
    how = forms.ChoiceField(label="How", choices=SentHow.choices, widget=forms.RadioSelect)
    to = text("To", needed=True, help_text="The e-mail address; or, printed, to whom it is handed or posted.")


class WithdrawForm(PlainForm):
    reason = text("Why", needed=True, area=True, help_text="The customer is told this.")


class ChaseForm(CreateForm):
    heard = text("What was heard", needed=True, area=True)
    chase_on = DayField(label="Chase next on")


class TakeOnForm(PlainForm):
    owner = PersonField(label="Who follows it up", roles=PRICING)
    chase_on = DayField(label="Chases the answer on")

    def clean_owner(self) -> User:
        """Somebody from outside sees no price."""
        owner: User = self.cleaned_data["owner"]
        if owner.subcontractor:
            raise forms.ValidationError("A subcontractor sees no price: choose somebody of the firm.")
        return owner


class HandOverForm(CreateForm):
    given_to = text("Given to", needed=True, help_text="In your own words: whom, and how.")


def initial_of_send(offer: Any) -> dict[str, Any]:
    """By e-mail where there is an address, else printed, to the party by name."""
    party = offer.quote.party
    how, to = (SentHow.EMAIL, party.email) if party.email else (SentHow.PRINTED, party.name)
    return {"how": how.value, "to": to, "version": offer.version}
