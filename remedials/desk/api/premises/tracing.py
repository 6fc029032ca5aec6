"""Finding what feeds each board by switching off: name what may, note tests, withdraw them, take over what is certain."""

from typing import Any

from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.ledger import made
from jobsite.people.rights import Right
from jobsite.premises import choices, operations
from jobsite.premises.models import Board, Circuit, Site, Supply, SwitchingTest
from jobsite.refused import Refused
from remedials.desk.api.fields import MOST_AT_ONCE, Keys, Line, Words
from remedials.desk.api.ground import Act, Key, Moment, some, verb
from remedials.desk.api.premises.boards import BoardAct, feeder_of
from remedials.desk.api.premises.nouns_found import SwitchingTestShown
from remedials.desk.api.premises.nouns_supply import FeedShown


class FeedsShown(serializers.Serializer):
    """Some feeds."""

    feeds = FeedShown(many=True)


class CandidatesNamed(serializers.Serializer):
    """Circuits and supplies that may feed a board; what is recorded already is passed over."""

    circuits: Any = Keys(required=False)
    supplies: Any = Keys(required=False)

    examples = {"The supply": {"supplies": [key("supply")]}}


@verb(FeedsShown, summary="Name what may feed a board.")
class NameCandidates(BoardAct):
    """Answers with the feeds that are new."""

    serializer_class = CandidatesNamed

    def do(self, thing: Board, given: dict[str, Any]) -> Any:
        feeders = some(self, Circuit, given["circuits"], "circuits") + some(self, Supply, given["supplies"], "supplies")
        return {"feeds": operations.name_candidates(thing, feeders, **self.doing)}


class Seen(serializers.Serializer):
    """How a board was found."""

    board = Key()
    state = serializers.ChoiceField(choices.SeenState.choices)


class TestNoted(serializers.Serializer):
    """One circuit's device or one supply's isolator was switched off alone, and how boards were found then.

    Boards that are not named were not looked at. `others_off`: second sources and other feeds were off as well, and
    changeovers stood on the normal feed. `together_with`: who else was there. `id` is made by the sender.
    """

    id = Key()
    off_circuit = Key(required=False, allow_null=True, default=None)
    off_supply = Key(required=False, allow_null=True, default=None)
    at = Moment(help_text="When it was off, with its offset.")
    seen = Seen(many=True, max_length=MOST_AT_ONCE)  # type: ignore[call-arg]
    others_off = serializers.BooleanField(required=False, default=False)
    together_with = Line(required=False)
    note = Words(required=False)

    example = {
        "id": key("new"),
        "off_circuit": key("circuit"),
        "at": "2026-02-03T09:30:00Z",
        "seen": [{"board": key("board"), "state": "alive"}],
    }


@verb(SwitchingTestShown, status=201, summary="Note which boards were dead or alive while one device was off.")
class NoteSwitchingTest(Act):
    model = Site
    right = Right.KEEP_PREMISES
    serializer_class = TestNoted

    def do(self, thing: Site, given: dict[str, Any]) -> SwitchingTest:
        circuit, supply = given.pop("off_circuit"), given.pop("off_supply")
        if (circuit is None) == (supply is None):
            raise Refused("Name the one circuit or supply that was switched off.", field="off")
        of = {"off_circuit": (Circuit, circuit), "off_supply": (Supply, supply)}
        off = next(self._here(thing, model, [pk], name)[0] for name, (model, pk) in of.items() if pk)
        found = given.pop("seen")
        states = {row["board"]: row["state"] for row in found}
        if len(states) < len(found):
            raise Refused("Each board was seen dead or alive, not both.", field="seen")
        boards = self._here(thing, Board, list(states), "seen")
        given["at"] = made.not_ahead(given["at"], now=self.doing["now"])  # a phone's clock may be ahead of ours
        seen = {board: states[board.pk] for board in boards}
        return operations.note_switching_test(off, seen=seen, **given, **self.doing)

    def _here(self, site: Site, model: Any, keys: list[Any], field: str) -> list[Any]:
        """The rows, all of them of this site. Raises UnknownRow as `some` does, Refused for one of another."""
        found = some(self, model, keys, field)
        if any(row.site_id != site.pk for row in found):
            raise Refused("This is of another site.", field=field)
        return found


class TestWithdrawn(serializers.Serializer):
    """Why it does not count: noted wrongly, or something was rewired since."""

    why = Line()

    example = {"why": "Noted for the wrong way"}


@verb(SwitchingTestShown, summary="Say that a switching test does not count.")
class WithdrawSwitchingTest(Act):
    """It stays on record with the reason."""

    model = SwitchingTest
    right = Right.KEEP_PREMISES
    serializer_class = TestWithdrawn

    def do(self, thing: SwitchingTest, given: dict[str, Any]) -> SwitchingTest:
        return operations.withdraw_switching_test(thing, **given, **self.doing)


class Certain(serializers.Serializer):
    """A board and what feeds it, as the tests make certain."""

    board = Key()
    from_circuit = Key(required=False, allow_null=True, default=None)
    from_supply = Key(required=False, allow_null=True, default=None)


class CertainTaken(serializers.Serializer):
    """Which of what is certain (see tracing) is to be recorded as verified, switched off and seen: all or nothing."""

    certain = Certain(many=True, allow_empty=False, max_length=MOST_AT_ONCE)  # type: ignore[call-arg]

    example = {"certain": [{"board": key("board"), "from_supply": key("supply")}]}


@verb(FeedsShown, summary="Record as verified what the switching tests of a site make certain.")
class TakeOverCertain(Act):
    """Answers with the feeds that are verified now and were not; other candidates of their boards are removed."""

    model = Site
    right = Right.KEEP_PREMISES
    serializer_class = CertainTaken

    def do(self, thing: Site, given: dict[str, Any]) -> Any:
        pairs = {}
        for row in given["certain"]:
            feeders = [feeder for feeder in feeder_of(self, row).values() if feeder]
            if len(feeders) != 1:
                raise Refused("Name the circuit or the supply that feeds each board.", field="certain")
            pairs[row["board"]] = feeders[0].pk
        return {"feeds": operations.take_over_certain(thing, pairs, **self.doing)}
