"""What may be done with boards: add, change, take out, bring back, change for a new one, say what feeds them."""

from typing import Any

from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.api.headers import NO_VERSION
from jobsite.ledger.rows import FORM_USED
from jobsite.people.rights import Right
from jobsite.premises import choices, operations
from jobsite.premises.models import Board, Circuit, Feed, Site, Supply, Unit
from jobsite.refused import ChangedMeanwhile, Refused
from remedials.desk.api.fields import Changes, Keys, Line, Nothing, Number, Phases, Words
from remedials.desk.api.ground import Act, Key, one, some, verb
from remedials.desk.api.premises.nouns_supply import BoardShown, FeedShown
from remedials.desk.api.premises.supplies import TakenOut

FEEDERS: dict[str, Any] = {"from_circuit": Circuit, "from_supply": Supply}
HOW_HELP = "Empty: believed only. Only for what you traced or saw yourself; what you were told counts as believed."


def how_verified() -> serializers.ChoiceField:
    """How somebody knows; empty where nobody does."""
    return serializers.ChoiceField(
        choices.HowVerified.choices, required=False, allow_blank=True, default="", help_text=HOW_HELP
    )


class BoardAct(Act):
    """A verb on one board."""

    model = Board
    right = Right.KEEP_PREMISES


class OfBoard(serializers.Serializer):
    """A board. Impedance in ohms, fault current in kA. `own_earthing`: where it differs from what feeds the board.

    `main_switch`: in words; `main_switch_kind`: what it disconnects. What is not known is not relied on.
    """

    designation = Line(help_text="What the firm calls it.")
    verified_how = how_verified()
    label_found = Line(required=False, help_text="As written there, even where it is wrong.")
    place = Line(required=False)
    phases = Phases()
    main_switch = Line(required=False)
    main_switch_kind = serializers.ChoiceField(choices.SwitchKind.choices, required=False, allow_blank=True, default="")
    own_earthing = serializers.ChoiceField(choices.Earthing.choices, required=False, allow_blank=True, default="")
    zdb_ohm = Number(max_digits=7, decimal_places=3)
    fault_current_ka = Number(max_digits=6, decimal_places=2)
    units: Any = Keys(required=False, help_text="Units that it serves.")
    notes = Words(required=False)


class FeedOf(serializers.Serializer):
    """One circuit or one supply. `id` is made by the sender."""

    id = Key()
    from_circuit = Key(required=False, allow_null=True, default=None)
    from_supply = Key(required=False, allow_null=True, default=None)
    verified_how = how_verified()


class BoardAdded(OfBoard):
    """A board of a site. `id` is made by the sender: the same again makes no second. `feed`: its normal feed, where known."""

    id = Key()
    feed = FeedOf(required=False, allow_null=True, default=None)

    example = {
        "id": key("new"),
        "designation": "Annex",
        "place": "Behind the kitchen",
        "phases": ["L1"],
        "main_switch": "100 A double-pole",
        "main_switch_kind": "all",
        "feed": {"id": key("new feed"), "from_circuit": key("circuit")},
    }


def with_units(view: Act, given: dict[str, Any]) -> dict[str, Any]:
    """What was given, the units as rows where they are named."""
    return given | {"units": some(view, Unit, given["units"], "units")} if "units" in given else given


def feeder_of(view: Act, given: dict[str, Any]) -> dict[str, Any]:
    """The rows that may feed a board, by the names of columns; None for what is not named."""
    return {
        name: one(view, model, given[name], name) if given.get(name) else None for name, model in FEEDERS.items()
    }  # fmt: skip


@verb(BoardShown, status=201, summary="Add a board to a site.")
class AddBoard(Act):
    model = Site
    right = Right.KEEP_PREMISES
    serializer_class = BoardAdded

    def do(self, thing: Site, given: dict[str, Any]) -> Board:
        feed, given = given.pop("feed"), with_units(self, given)
        if feed is None:
            return operations.add_board(thing, **given, **self.doing)
        feeder = feeder_of(self, feed)
        if (feeder["from_circuit"] is None) == (feeder["from_supply"] is None):
            raise Refused("Name the circuit or the supply that feeds it.", field="feed")
        how = feed["verified_how"]
        return operations.add_fed_board(
            thing, feed_id=feed["id"], feed_verified_how=how, **feeder, **given, **self.doing
        )  # fmt: skip


class BoardEdited(Changes, OfBoard):
    """What is to be changed of a board; what is left out stays. A new designation alone is believed only."""

    example = {"place": "In the plant room", "zdb_ohm": "0.230"}


@verb(BoardShown, summary="Change a board.")
class EditBoard(BoardAct):
    versioned = True
    serializer_class = BoardEdited

    def do(self, thing: Board, given: dict[str, Any]) -> Board:
        return operations.edit_board(thing, **with_units(self, given), **self.doing)


@verb(BoardShown, summary="Record that a board was taken out, with its circuits and the feeds into it.")
class RetireBoard(BoardAct):
    serializer_class = TakenOut

    def do(self, thing: Board, given: dict[str, Any]) -> Board:
        return operations.retire_board(thing, **given, **self.doing)


@verb(BoardShown, summary="Record that a board is there after all.")
class BringBackBoard(BoardAct):
    """Its circuits that went with it are there again too; its feeds are not."""

    serializer_class = Nothing

    def do(self, thing: Board, given: dict[str, Any]) -> Board:
        return operations.bring_back_board(thing, **self.doing)


class Replaced(serializers.Serializer):
    """The new board, and what was done. `id`, of the new board, is made by the sender."""

    id = Key()
    designation = Line()
    main_switch = Line(required=False)
    reason = Line()

    example = {
        "id": key("new"),
        "designation": "Board 1",
        "main_switch": "100 A double-pole",
        "reason": "Consumer unit changed",
    }


@verb(BoardShown, status=201, summary="Record that a board was changed for a new one.")
class ReplaceBoard(BoardAct):
    """Answers with the new board: it has the old one's circuits, believed only, and its feeds."""

    serializer_class = Replaced

    def do(self, thing: Board, given: dict[str, Any]) -> Board:
        return operations.replace_board(thing, **given, **self.doing)


# --- what feeds it ----------------------------------------------------------------------------------------------------


class OfFeed(serializers.Serializer):
    """Where a board is fed from: one circuit or one supply. `changeover`: how an alternative feed takes over, and where."""

    from_circuit = Key(required=False, allow_null=True, default=None)
    from_supply = Key(required=False, allow_null=True, default=None)
    kind = serializers.ChoiceField(choices.FeedKind.choices)
    verified_how = how_verified()
    changeover = Words(required=False)


class FeedSet(OfFeed):
    """A feed of a board. `id` is made by the sender: the same again makes no second."""

    id = Key()

    example = {
        "id": key("new"),
        "from_circuit": key("circuit"),
        "kind": "alternative",
        "changeover": "By hand, at the board",
    }


@verb(FeedShown, status=201, summary="Record where a board is fed from.")
class SetFeed(BoardAct):
    serializer_class = FeedSet

    def do(self, thing: Board, given: dict[str, Any]) -> Feed:
        given |= feeder_of(self, given)
        verified = bool(given["verified_how"])
        try:
            # A feed with this key that says something else is changed by its own address, with the version seen.
            return operations.set_feed(thing, verified=verified, version=NO_VERSION, **given, **self.doing)
        except ChangedMeanwhile:
            raise Refused(FORM_USED) from None


class FeedEdited(Changes, OfFeed):
    """What is to be changed of a feed; what is left out stays. A feeder that is named takes the place of the other kind."""

    example = {"kind": "normal", "verified_how": "switched"}


@verb(FeedShown, summary="Change where a board is fed from, or say how that was verified.")
class EditFeed(Act):
    model = Feed
    right = Right.KEEP_PREMISES
    versioned = True
    serializer_class = FeedEdited

    def do(self, thing: Feed, given: dict[str, Any]) -> Feed:
        names = ("kind", "verified_how", "changeover")
        fields = {name: given.get(name, getattr(thing, name)) for name in names}
        kept = {"from_circuit": thing.from_circuit, "from_supply": thing.from_supply}
        fields |= feeder_of(self, given) if given.keys() & FEEDERS.keys() else kept
        verified = bool(fields["verified_how"])
        return operations.set_feed(thing.board, id=thing.pk, verified=verified, **fields, **self.doing)


@verb(FeedShown, summary="Record that a board is not fed from there after all.")
class RemoveFeed(Act):
    """Answers with the feed as it was; it is no longer there."""

    model = Feed
    right = Right.KEEP_PREMISES
    serializer_class = TakenOut

    def do(self, thing: Feed, given: dict[str, Any]) -> Feed:
        operations.remove_feed(thing, **given, **self.doing)
        return thing
