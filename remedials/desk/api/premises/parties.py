"""What may be done with customers and other parties: enter, change, take off the lists, put back."""

from typing import Any

from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises import operations
from jobsite.premises.models import Party
from remedials.desk.api.fields import Changes, Line, Nothing, Words
from remedials.desk.api.ground import Act, Key, verb
from remedials.desk.api.premises.nouns import PartyShown

LONGEST_EMAIL = 254


class PartyAct(Act):
    """A verb on one party."""

    model = Party
    right = Right.KEEP_CUSTOMERS


class OfParty(serializers.Serializer):
    """A person, or with `organisation` an organisation, and how it is reached."""

    name = Line()
    organisation = serializers.BooleanField(required=False, default=False)
    phone = Line(required=False)
    email = serializers.EmailField(required=False, allow_blank=True, default="", max_length=LONGEST_EMAIL)
    address = Words(required=False)


class PartyAdded(OfParty):
    """A customer or another party. `id` is made by the sender: the same again makes no second."""

    id = Key()

    example = {"id": key("new"), "name": "Ada Tenant", "phone": "01632 960444", "email": "ada@example.com"}


@verb(PartyShown, status=201, summary="Enter a customer or another party.")
class AddParty(PartyAct):
    serializer_class = PartyAdded

    def thing(self) -> None:
        """It is not there yet."""

    def do(self, thing: None, given: dict[str, Any]) -> Party:
        return operations.add_party(**given, **self.doing)


class PartyEdited(Changes, OfParty):
    """What is to be changed of a party; what is left out stays."""

    example = {"phone": "01632 960555"}


@verb(PartyShown, summary="Change a party.")
class EditParty(PartyAct):
    versioned = True
    serializer_class = PartyEdited

    def do(self, thing: Party, given: dict[str, Any]) -> Party:
        return operations.edit_party(thing, **given, **self.doing)


@verb(PartyShown, summary="Take a party off the lists.")
class ArchiveParty(PartyAct):
    serializer_class = Nothing

    def do(self, thing: Party, given: dict[str, Any]) -> Party:
        return operations.archive_party(thing, **self.doing)


@verb(PartyShown, summary="Put a party on the lists again.")
class BringBackParty(PartyAct):
    serializer_class = Nothing

    def do(self, thing: Party, given: dict[str, Any]) -> Party:
        return operations.bring_back_party(thing, **self.doing)
