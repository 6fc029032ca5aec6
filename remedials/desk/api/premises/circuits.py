"""What may be done with circuits: add, change, take out, bring back, say that two hang together."""

from typing import Any

from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises import choices, operations
from jobsite.premises.models import Circuit, CircuitLink, Unit
from remedials.desk.api.fields import Changes, Line, Nothing, Number
from remedials.desk.api.ground import Act, Key, Whole, one, verb
from remedials.desk.api.premises.boards import BoardAct, how_verified
from remedials.desk.api.premises.nouns_supply import CircuitLinkShown, CircuitShown
from remedials.desk.api.premises.supplies import TakenOut


class CircuitAct(Act):
    """A verb on one circuit."""

    model = Circuit
    right = Right.KEEP_PREMISES


def maybe(most: int, least: int = 0, **more: Any) -> Whole:
    """A whole number that need not be known."""
    return Whole(required=False, allow_null=True, default=None, min_value=least, max_value=most, **more)


def choice(pairs: Any) -> serializers.ChoiceField:
    """One of some, empty where it is not known."""
    return serializers.ChoiceField(pairs, required=False, allow_blank=True, default="")


class OfCircuit(serializers.Serializer):
    """A way of a board and the circuit on it. Rating in amperes, residual current in mA, conductors in mm² and m.

    `poles`: conductors that the device disconnects, the neutral counted. `breaking_capacity_ka`: as printed on the device.
    `length_m`: from the board to the furthest point, one way. `must_not_lose_power`: medical equipment, alarms.
    """

    way = Whole(min_value=1, max_value=999)
    phase = serializers.ChoiceField(choices.Phase.choices)
    label_found = Line(required=False, help_text="As written at the board, even where it is wrong.")
    designation = Line(required=False, help_text="What it is.")
    verified_how = how_verified()
    unit = Key(required=False, allow_null=True, default=None, help_text="The unit that it serves; null: the board's.")
    device_standard = choice(choices.DeviceStandard.choices)
    device_type = Line(required=False, help_text="B, C, D; 1 to 4; gG.")
    rating_a = Number(max_digits=6, decimal_places=1)
    poles = maybe(4, 1)
    breaking_capacity_ka = Number(max_digits=5, decimal_places=1)
    rcd_kind = choice(choices.RcdKind.choices)
    rcd_ma = maybe(30000, 1)
    rcd_shared = serializers.BooleanField(required=False, default=False)
    arrangement = choice(choices.Arrangement.choices)
    line_mm2 = Number(max_digits=6, decimal_places=2)
    cpc_mm2 = Number(max_digits=6, decimal_places=2)
    length_m = Number(max_digits=6, decimal_places=1)
    points = maybe(9999, help_text="Points served.")
    must_not_lose_power = Line(required=False)
    spare = serializers.BooleanField(required=False, default=False)
    blanked = serializers.BooleanField(required=False, default=False)


class CircuitAdded(OfCircuit):
    """A circuit on a way of a board. `id` is made by the sender: the same again makes no second."""

    id = Key()

    example = {
        "id": key("new"),
        "way": 9,
        "phase": "L1",
        "label_found": "Shower",
        "device_standard": "BS EN 61009",
        "device_type": "B",
        "rating_a": "40.0",
        "rcd_kind": "A",
        "rcd_ma": 30,
        "line_mm2": "10.00",
        "length_m": "14.5",
    }


def with_unit(view: Act, given: dict[str, Any]) -> dict[str, Any]:
    """What was given, the unit as a row where one is named."""
    return given | {"unit": one(view, Unit, given["unit"], "unit")} if given.get("unit") else given


@verb(CircuitShown, status=201, summary="Add a circuit on a way of a board.")
class AddCircuit(BoardAct):
    serializer_class = CircuitAdded

    def do(self, thing: Any, given: dict[str, Any]) -> Circuit:
        made_at = self.request.made_at  # type: ignore[attr-defined]
        return operations.add_circuit(thing, made_at=made_at, **with_unit(self, given), **self.doing)


class CircuitEdited(Changes, OfCircuit):
    """What is to be changed of a circuit; what is left out stays. A new designation alone is believed only."""

    example = {"rcd_kind": "A", "rcd_ma": 30, "points": 6}


@verb(CircuitShown, summary="Change a circuit.")
class EditCircuit(CircuitAct):
    versioned = True
    serializer_class = CircuitEdited

    def do(self, thing: Circuit, given: dict[str, Any]) -> Circuit:
        made_at = self.request.made_at  # type: ignore[attr-defined]
        return operations.edit_circuit(thing, made_at=made_at, **with_unit(self, given), **self.doing)


@verb(CircuitShown, summary="Record that a circuit was taken out.")
class RetireCircuit(CircuitAct):
    serializer_class = TakenOut

    def do(self, thing: Circuit, given: dict[str, Any]) -> Circuit:
        return operations.retire_circuit(thing, **given, **self.doing)


@verb(CircuitShown, summary="Record that a circuit is there after all.")
class BringBackCircuit(CircuitAct):
    serializer_class = Nothing

    def do(self, thing: Circuit, given: dict[str, Any]) -> Circuit:
        return operations.bring_back_circuit(thing, **self.doing)


class CircuitsLinked(serializers.Serializer):
    """The other circuit, and how the two hang together; it works both ways. `id` is made by the sender."""

    id = Key()
    other = Key()
    kind = serializers.ChoiceField(choices.LinkKind.choices)

    examples = {"With itself, which is refused": {"id": key("new"), "other": key("circuit"), "kind": "neutral"}}


@verb(
    CircuitLinkShown, status=201, summary="Record that a circuit shares a neutral with another, or is also fed from it."
)
class LinkCircuits(CircuitAct):
    serializer_class = CircuitsLinked

    def do(self, thing: Circuit, given: dict[str, Any]) -> CircuitLink:
        other = one(self, Circuit, given.pop("other"), "other")
        return operations.link_circuits(thing, other, **given, **self.doing)


@verb(CircuitLinkShown, summary="Record that two circuits do not hang together after all.")
class UnlinkCircuits(Act):
    """Answers with the link as it was; it is no longer there."""

    model = CircuitLink
    right = Right.KEEP_PREMISES
    serializer_class = Nothing

    def do(self, thing: CircuitLink, given: dict[str, Any]) -> CircuitLink:
        operations.unlink_circuits(thing, **self.doing)
        return thing
