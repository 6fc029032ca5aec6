"""What may be done with supplies, and with sources besides the network."""

from typing import Any

from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises import choices, operations
from jobsite.premises.models import Board, Circuit, SecondSource, Site, Supply
from remedials.desk.api.fields import Changes, Line, Nothing, Number, Phases, Words
from remedials.desk.api.ground import Act, Key, Whole, one, verb
from remedials.desk.api.premises.nouns_supply import SecondSourceShown, SupplyShown


class SupplyAct(Act):
    """A verb on one supply."""

    model = Supply
    right = Right.KEEP_PREMISES


class OfSupply(serializers.Serializer):
    """Where the network comes in.

    `isolator`: the customer's own between the meter and the boards, in words; `isolator_kind`: what it disconnects.
    """

    name = Line()
    phases = Phases()
    voltage = Whole(required=False, default=230, min_value=1, max_value=1000, help_text="Nominal, volts to earth.")
    main_fuse_a = Whole(
        required=False, allow_null=True, default=None, min_value=1, max_value=5000, help_text="Amperes."
    )
    earthing = serializers.ChoiceField(choices.Earthing.choices)
    ze_ohm = Number(max_digits=7, decimal_places=3, help_text="Ohms.")
    fault_current_ka = Number(max_digits=6, decimal_places=2, help_text="Prospective, kA.")
    isolator = Line(required=False)
    isolator_kind = serializers.ChoiceField(choices.SwitchKind.choices, required=False, allow_blank=True, default="")


class SupplyAdded(OfSupply):
    """A supply of a site. `id` is made by the sender: the same again makes no second."""

    id = Key()

    example = {
        "id": key("new"),
        "name": "Intake 2",
        "phases": ["L1", "L2", "L3"],
        "main_fuse_a": 200,
        "earthing": "TN-S",
        "ze_ohm": "0.210",
        "isolator": "Switch-fuse beside the meter",
        "isolator_kind": "all",
    }


@verb(SupplyShown, status=201, summary="Add a supply to a site.")
class AddSupply(Act):
    model = Site
    right = Right.KEEP_PREMISES
    serializer_class = SupplyAdded

    def do(self, thing: Site, given: dict[str, Any]) -> Supply:
        return operations.add_supply(thing, **given, **self.doing)


class SupplyEdited(Changes, OfSupply):
    """What is to be changed of a supply; what is left out stays."""

    example = {"ze_ohm": "0.190", "fault_current_ka": "1.20"}


@verb(SupplyShown, summary="Change a supply.")
class EditSupply(SupplyAct):
    versioned = True
    serializer_class = SupplyEdited

    def do(self, thing: Supply, given: dict[str, Any]) -> Supply:
        return operations.edit_supply(thing, **given, **self.doing)


@verb(SupplyShown, summary="Record that a supply was taken out.")
class RetireSupply(SupplyAct):
    serializer_class = Nothing

    def do(self, thing: Supply, given: dict[str, Any]) -> Supply:
        return operations.retire_supply(thing, **self.doing)


@verb(SupplyShown, summary="Record that a supply is there after all.")
class BringBackSupply(SupplyAct):
    serializer_class = Nothing

    def do(self, thing: Supply, given: dict[str, Any]) -> Supply:
        return operations.bring_back_supply(thing, **self.doing)


# --- second sources ---------------------------------------------------------------------------------------------------


class SourceAct(Act):
    """A verb on one second source."""

    model = SecondSource
    right = Right.KEEP_PREMISES


class OfSource(serializers.Serializer):
    """A source besides the network: where it comes in, where it is isolated on each side, minutes to wait after.

    Solar panels are live on their direct-current side in daylight, batteries always: give both sides, from the maker.
    """

    name = Line()
    kind = serializers.ChoiceField(choices.SourceKind.choices)
    circuit = Key(
        required=False, allow_null=True, default=None, help_text="Of its board; null: at the board, or not known."
    )
    rating_kw = Number(max_digits=7, decimal_places=2, help_text="kW.")
    phases = Phases()
    isolate_supply_side = Line(required=False)
    isolate_source_side = Line(required=False)
    wait_minutes = Whole(required=False, allow_null=True, default=None, min_value=0, max_value=1440)


class SourceAdded(OfSource):
    """A second source at a board. `id` is made by the sender: the same again makes no second."""

    id = Key()

    example = {
        "id": key("new"),
        "name": "Battery in the loft",
        "kind": "battery",
        "circuit": key("circuit"),
        "rating_kw": "5.00",
        "phases": ["L1"],
        "isolate_supply_side": "Isolator beside the board",
        "isolate_source_side": "Switch on the battery",
        "wait_minutes": 10,
    }


def with_circuit(view: Act, given: dict[str, Any]) -> dict[str, Any]:
    """What was given, the circuit as a row where one is named."""
    wanted = given.get("circuit")
    return given | {"circuit": one(view, Circuit, wanted, "circuit")} if wanted else given


@verb(SecondSourceShown, status=201, summary="Add a second source at a board.")
class AddSecondSource(Act):
    model = Board
    right = Right.KEEP_PREMISES
    serializer_class = SourceAdded

    def do(self, thing: Board, given: dict[str, Any]) -> SecondSource:
        return operations.add_second_source(thing, **with_circuit(self, given), **self.doing)


class SourceEdited(Changes, OfSource):
    """What is to be changed of a second source; what is left out stays. `board`: where it comes in instead."""

    board = Key()

    example = {"wait_minutes": 15}


@verb(SecondSourceShown, summary="Change a second source.")
class EditSecondSource(SourceAct):
    versioned = True
    serializer_class = SourceEdited

    def do(self, thing: SecondSource, given: dict[str, Any]) -> SecondSource:
        if "board" in given:
            given["board"] = one(self, Board, given["board"], "board")
        return operations.edit_second_source(thing, **with_circuit(self, given), **self.doing)


class TakenOut(serializers.Serializer):
    """Why it was taken out."""

    reason = Words(required=False)

    example = {"reason": "Taken down when the roof was done"}


@verb(SecondSourceShown, summary="Record that a second source was taken out.")
class RetireSecondSource(SourceAct):
    serializer_class = TakenOut

    def do(self, thing: SecondSource, given: dict[str, Any]) -> SecondSource:
        return operations.retire_second_source(thing, **given, **self.doing)


@verb(SecondSourceShown, summary="Record that a second source is there after all.")
class BringBackSecondSource(SourceAct):
    serializer_class = Nothing

    def do(self, thing: SecondSource, given: dict[str, Any]) -> SecondSource:
        return operations.bring_back_second_source(thing, **self.doing)
