"""What may be done with units of a site and with who answers for them."""

from typing import Any

from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises import choices, operations
from jobsite.premises.models import Party, PartyAtUnit, Unit
from remedials.desk.api.fields import Changes, Line, Nothing, Number
from remedials.desk.api.ground import Act, Day, Key, one, verb
from remedials.desk.api.premises.nouns import RoleShown, UnitShown
from remedials.desk.api.premises.sites import SiteAct


class UnitAct(Act):
    """A verb on one unit."""

    model = Unit
    right = Right.KEEP_CUSTOMERS


class OfUnit(serializers.Serializer):
    """What is inspected, owned or let by itself: a flat, the common parts, a workshop."""

    name = Line()
    kind = serializers.ChoiceField(choices.PremisesKind.choices)
    tenure = serializers.ChoiceField(choices.Tenure.choices)
    tenancy_granted_on = Day(
        required=False, allow_null=True, default=None, help_text="Of the present tenancy, where it is let."
    )
    common_parts = serializers.BooleanField(required=False, default=False)


class UnitAdded(OfUnit):
    """A unit of a site. `id` is made by the sender: the same again makes no second."""

    id = Key()

    example = {"id": key("new"), "name": "Flat 3", "kind": "house", "tenure": "private-rented"}


@verb(UnitShown, status=201, summary="Add a unit to a site.")
class AddUnit(SiteAct):
    serializer_class = UnitAdded

    def do(self, thing: Any, given: dict[str, Any]) -> Unit:
        return operations.add_unit(thing, **given, **self.doing)


class UnitEdited(Changes, OfUnit):
    """What is to be changed of a unit; what is left out stays."""

    example = {"tenure": "private-rented", "tenancy_granted_on": "2026-01-15"}


@verb(UnitShown, summary="Change a unit.")
class EditUnit(UnitAct):
    versioned = True
    serializer_class = UnitEdited

    def do(self, thing: Unit, given: dict[str, Any]) -> Unit:
        return operations.edit_unit(thing, **given, **self.doing)


@verb(UnitShown, summary="Take a unit off its site's list.")
class RetireUnit(UnitAct):
    serializer_class = Nothing

    def do(self, thing: Unit, given: dict[str, Any]) -> Unit:
        return operations.retire_unit(thing, **self.doing)


@verb(UnitShown, summary="Put a unit on its site's list again.")
class BringBackUnit(UnitAct):
    serializer_class = Nothing

    def do(self, thing: Unit, given: dict[str, Any]) -> Unit:
        return operations.bring_back_unit(thing, **self.doing)


class RoleGiven(serializers.Serializer):
    """What a party is at a unit from a day on. `limit_pounds`: up to what sum an approver's standing word goes."""

    id = Key()
    party = Key()
    role = serializers.ChoiceField(choices.RoleAtUnit.choices)
    since = Day()
    limit_pounds = Number(max_digits=10, decimal_places=2)

    example = {
        "id": key("new"),
        "party": key("party"),
        "role": "approver",
        "since": "2026-02-03",
        "limit_pounds": "250.00",
    }


@verb(RoleShown, status=201, summary="Enter who answers for a unit.")
class GiveRole(UnitAct):
    serializer_class = RoleGiven

    def do(self, thing: Unit, given: dict[str, Any]) -> PartyAtUnit:
        party = one(self, Party, given.pop("party"), "party")
        return operations.give_role(thing, party=party, **given, **self.doing)


class RoleEnded(serializers.Serializer):
    """Its last day, included."""

    until = Day()

    example = {"until": "2026-02-28"}


@verb(RoleShown, summary="Say when a party's part at a unit ended.")
class EndRole(Act):
    """Private links by which they read how the unit stands end with that day, unless they are something else there."""

    model = PartyAtUnit
    right = Right.KEEP_CUSTOMERS
    serializer_class = RoleEnded

    def do(self, thing: PartyAtUnit, given: dict[str, Any]) -> PartyAtUnit:
        return operations.end_role(thing, **given, **self.doing)
