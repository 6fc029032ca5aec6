"""Labels against facts: what is written at the boards of a site, and where that disagrees. Values only, no database.

People write the same name in many ways ("DB 3", "Dist. board 3", "feed to db-03"), so labels are compared by the words
that are left when the usual ones are taken off. That is a help to look at, never a proof that two labels mean the same.
"""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

# What stands around a board's name on a label (common practice).
AROUND = frozenset(
    [
        "at",
        "board",
        "boards",
        "circuit",
        "cu",
        "db",
        "dist",
        "distribution",
        "fed",
        "feed",
        "feeder",
        "feeding",
        "feeds",
        "for",
        "from",
        "in",
        "main",
        "mains",
        "of",
        "on",
        "panel",
        "sub",
        "submain",
        "supplies",
        "supply",
        "the",
        "to",
    ]
)
_WORD = re.compile(r"\d+|[^\W\d_]+")

Key = tuple[str, ...]


class Kind(StrEnum):
    """What is wrong with a label, in the order in which it matters."""

    OPEN_WAY = "open-way"
    FEEDER = "feeder"
    OTHER_BOARD = "other-board"
    TWICE = "twice"
    DIFFERS = "differs"

    @property
    def words(self) -> str:
        return _KIND_WORDS[self]


_KIND_WORDS = {
    Kind.OPEN_WAY: "spare way without a blank",
    Kind.FEEDER: "the label names another board than it feeds",
    Kind.OTHER_BOARD: "the label is another board's name",
    Kind.TWICE: "the same label twice",
    Kind.DIFFERS: "the label says something else",
}


@dataclass(frozen=True, slots=True)
class LabelledBoard:
    """A board with its name, whether that is verified, and the label found on it."""

    id: str
    name: str
    verified: bool = False
    label: str = ""


@dataclass(frozen=True, slots=True)
class LabelledWay:
    """A way of a board: `way` as written there (5L1), `what` it is by the record, `feeds` the ids of boards that a
    verified feed leads to from here."""

    id: str
    board: str
    way: str
    label: str = ""
    what: str = ""
    verified: bool = False
    spare: bool = False
    blanked: bool = False
    feeds: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Disagreement:
    """One thing to put right: where (`way` the id of a way, "" for the board itself), what is written, why."""

    kind: Kind
    board: str
    way: str
    label: str
    sentence: str


def bare(label: str) -> Key:
    """The words of a label that tell it from others: lower case, no accents, numbers without leading noughts.

    "DB 3", "DB3", "db-03" and "Feed to Dist. Board 3" are all ("3",). A label of usual words only keeps them.
    """
    folded = unicodedata.normalize("NFKD", label.casefold())
    plain = "".join(c for c in folded if not unicodedata.combining(c))
    plain = plain.replace("consumer unit", "board")
    words = [word.lstrip("0") or "0" if word.isdigit() else word for word in _WORD.findall(plain)]
    return tuple(word for word in words if word not in AROUND) or tuple(words)


def disagreements(boards: Sequence[LabelledBoard], ways: Iterable[LabelledWay]) -> tuple[Disagreement, ...]:
    """All labels of a site that disagree with another label or with what is verified; boards in their order.

    Unverified designations are never held against a label: nobody knows yet which of the two is right.
    """
    ways = list(ways)
    names = {board.id: board.name for board in boards}
    called = _called(boards)
    fed = {child for way in ways for child in way.feeds}
    worse = [*_feeders(ways, names, called, fed), *_named_as_others(boards)]
    said = {(one.board, one.way) for one in worse}
    found = [
        *_open_ways(ways),
        *worse,
        *_boards_twice(boards),
        *_ways_twice(ways),
        *(one for one in _differing(boards, ways) if (one.board, one.way) not in said),
    ]
    place = {board.id: order for order, board in enumerate(boards)}
    rank = {kind: order for order, kind in enumerate(Kind)}
    return tuple(sorted(found, key=lambda one: (place.get(one.board, len(place)), rank[one.kind])))


def _called(boards: Iterable[LabelledBoard]) -> Mapping[Key, frozenset[str]]:
    """Which boards go by a name: what they are called, or what is written on them."""
    found: dict[Key, set[str]] = defaultdict(set)
    for board in boards:
        for name in filter(None, (board.name, board.label)):
            found[bare(name)].add(board.id)
    return {key: frozenset(ids) for key, ids in found.items() if key}


def _open_ways(ways: Iterable[LabelledWay]) -> Iterable[Disagreement]:
    sentence = "Recorded as spare and not blanked: live parts may be within reach. Blank it, or put the record right."
    for way in ways:
        if way.spare and not way.blanked:
            yield Disagreement(Kind.OPEN_WAY, way.board, way.id, way.label, sentence)


def _feeders(
    ways: Iterable[LabelledWay], names: Mapping[str, str], called: Mapping[Key, frozenset[str]], fed: set[str]
) -> Iterable[Disagreement]:
    """Ways whose label names a board that they don't feed, as far as feeds are verified."""
    for way in ways:
        named = called.get(bare(way.label), frozenset()) - {way.board} if way.label else frozenset()
        if not named or named & set(way.feeds):
            continue
        if way.feeds:
            feeds = " and ".join(names[child] for child in way.feeds if child in names)
            yield Disagreement(Kind.FEEDER, way.board, way.id, way.label, f"It feeds {feeds}, which was verified.")
        elif named <= fed:
            which = " or ".join(sorted(names[child] for child in named))
            sentence = f"{which} is fed from elsewhere, which was verified."
            yield Disagreement(Kind.FEEDER, way.board, way.id, way.label, sentence)


def _named_as_others(boards: Sequence[LabelledBoard]) -> Iterable[Disagreement]:
    names = {board.id: board.name for board in boards}
    by_name = {bare(board.name): board.id for board in boards}
    for board in boards:
        other = by_name.get(bare(board.label)) if board.label else None
        if other is not None and other != board.id and bare(board.label) != bare(board.name):
            sentence = f"{names[other]} is the name of another board."
            yield Disagreement(Kind.OTHER_BOARD, board.id, "", board.label, sentence)


def _boards_twice(boards: Iterable[LabelledBoard]) -> Iterable[Disagreement]:
    by_label: dict[Key, list[LabelledBoard]] = defaultdict(list)
    for board in boards:
        if board.label:
            by_label[bare(board.label)].append(board)
    for same in by_label.values():
        for board in same if len(same) > 1 else ():
            others = " and ".join(other.name for other in same if other is not board)
            yield Disagreement(Kind.TWICE, board.id, "", board.label, f"{others} has the same label.")


def _ways_twice(ways: Iterable[LabelledWay]) -> Iterable[Disagreement]:
    """Ways of one board with the same label; the phases of one way are one thing."""
    by_label: dict[tuple[str, Key], list[LabelledWay]] = defaultdict(list)
    for way in ways:
        if way.label and not way.spare:
            by_label[way.board, bare(way.label)].append(way)
    for same in by_label.values():
        if len({_number(way.way) for way in same}) > 1:
            for way in same:
                others = ", ".join(other.way for other in same if other is not way)
                yield Disagreement(
                    Kind.TWICE, way.board, way.id, way.label, f"Way {others} of this board has the same."
                )


def _number(way: str) -> str:
    return way.partition("L")[0]


def _differing(boards: Iterable[LabelledBoard], ways: Iterable[LabelledWay]) -> Iterable[Disagreement]:
    for board in boards:
        if board.verified and board.label and bare(board.label) != bare(board.name):
            yield Disagreement(Kind.DIFFERS, board.id, "", board.label, f"It was verified to be {board.name}.")
    for way in ways:
        if way.verified and way.label and way.what and bare(way.label) != bare(way.what):
            yield Disagreement(Kind.DIFFERS, way.board, way.id, way.label, f"It was verified to be {way.what}.")
