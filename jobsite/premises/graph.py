"""What feeds what at a site: origins, boards, feeds, second sources, borrowed links. Values only, no database.

Ids are strings that are unique over origins, boards, circuits and second sources of one graph. A feed is *normal* or
*alternative* (changeover, standby supply) and *verified* or only believed. Nothing here says that anything is dead.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from graphlib import CycleError, TopologicalSorter
from heapq import heapify, heappop, heappush
from itertools import pairwise
from typing import Literal

PHASES = ("L1", "L2", "L3")

Phases = frozenset[str]
FeedKind = Literal["normal", "alternative"]
SourceKind = Literal["pv", "battery", "generator", "wind"]
LinkKind = Literal["neutral", "feed"]
# What a main switch disconnects: not known; all live conductors; the line conductors only; nothing that can be relied on,
# since it is a contactor or an electronic control; there is none.
SwitchKind = Literal["", "all", "lines", "control", "none"]


@dataclass(frozen=True)
class Origin:
    """Where a supply comes in: main fuse in amperes, its phases, the earthing arrangement and further words."""

    id: str
    name: str
    fuse_a: int | Decimal | None = None
    phases: Phases = frozenset()
    earthing: str = ""
    detail: str = ""
    isolator: str = ""  # the customer's own, between the meter and the boards, in words
    switch: SwitchKind = "none"


@dataclass(frozen=True)
class BoardNode:
    """A board; `name` is what the firm calls it (verified or not), `label_found` what is written on it."""

    id: str
    name: str
    name_verified: bool = True
    label_found: str = ""
    place: str = ""
    phases: Phases = frozenset()
    href: str = ""
    retired: bool = False
    main_switch: str = ""
    switch: SwitchKind = ""
    own_earthing: str = ""  # where it differs from what feeds the board
    units: tuple[str, ...] = ()


@dataclass(frozen=True)
class CircuitNode:
    """A circuit that matters beyond its board: it feeds another, is linked, carries a source or a load, or is asked for.

    `poles`: how many conductors its device disconnects, the neutral counted; None where that isn't recorded. `load`:
    what must not lose power. `name_verified`: whether somebody saw that it supplies what its name says.
    """

    id: str
    board: str
    way: str = ""
    name: str = ""
    poles: int | None = None
    three_phase: bool = False
    has_device: bool = True
    load: str = ""
    unit: str = ""
    name_verified: bool = True

    @property
    def all_live(self) -> bool:
        """Whether its device disconnects all live conductors, the neutral too."""
        return self.poles is not None and self.poles >= (4 if self.three_phase else 2)


@dataclass(frozen=True)
class FeedEdge:
    """One feed into a board, from an origin or from another board, by way words such as "way 4L2 · B40"."""

    child: str
    from_origin: str | None = None
    from_board: str | None = None
    way: str = ""
    kind: FeedKind = "normal"
    verified: bool = True
    circuit: str | None = None
    changeover: str = ""

    @property
    def feeder(self) -> str:
        """Id of the origin or board that it comes from."""
        return self.from_origin or self.from_board or ""


@dataclass(frozen=True)
class SourceNode:
    """A second source on a board or one of its circuits: rating, where it is isolated, minutes to wait after.

    `isolate` says both sides in one phrase; `supply_side` and `source_side` say each. `plain`: what is said of it in place
    of all that to somebody who is not of the trade.
    """

    id: str
    kind: SourceKind
    name: str
    on_board: str
    way: str = ""
    rating: str = ""
    isolate: str = ""
    wait_minutes: int | None = None
    circuit: str | None = None
    supply_side: str = ""
    source_side: str = ""
    plain: str = ""


@dataclass(frozen=True)
class BorrowedLink:
    """Two circuits, often of two boards, that share a neutral, or of which one is also fed from the other."""

    board_a: str
    way_a: str
    board_b: str
    way_b: str
    kind: LinkKind = "neutral"
    circuit_a: str | None = None
    circuit_b: str | None = None


@dataclass(frozen=True)
class Mark:
    """Open items of one code on a board, as an upper floor counts them; made safe but still open stand apart."""

    code: str
    count: int = 1
    made_safe: bool = False


Marks = Mapping[str, Sequence[Mark]]


@dataclass(frozen=True)
class SupplyGraph:
    """One site's supply. Raises ValueError, naming the culprit, when ids repeat or a reference leads nowhere."""

    origins: tuple[Origin, ...] = ()
    boards: tuple[BoardNode, ...] = ()
    feeds: tuple[FeedEdge, ...] = ()
    sources: tuple[SourceNode, ...] = ()
    links: tuple[BorrowedLink, ...] = ()
    circuits: tuple[CircuitNode, ...] = ()

    def __post_init__(self) -> None:
        things: tuple[Origin | BoardNode | SourceNode | CircuitNode, ...]
        things = (*self.origins, *self.boards, *self.sources, *self.circuits)
        ids = [thing.id for thing in things]
        if len(ids) != len(set(ids)):
            raise ValueError("An id stands for two things in this supply graph.")
        origins, boards = {origin.id for origin in self.origins}, {board.id for board in self.boards}
        for feed in self.feeds:
            if (feed.from_origin is None) == (feed.from_board is None):
                raise ValueError(f"The feed of {feed.child} needs either an origin or a board that it comes from.")
            if feed.child not in boards or feed.feeder not in (boards if feed.from_board is not None else origins):
                raise ValueError(f"The feed of {feed.child} from {feed.feeder} leads to nothing in this supply graph.")
        named = {s.on_board for s in self.sources} | {b for link in self.links for b in (link.board_a, link.board_b)}
        named |= {circuit.board for circuit in self.circuits}
        if stray := named - boards:
            raise ValueError(f"No such board in this supply graph: {min(stray)}.")


@dataclass(frozen=True)
class Depths:
    """Where each board stands: its distance from an origin in feeds, and the feeder it is drawn behind.

    Boards that no recorded feed joins to an origin are in `unfed`, in an order with feeders first. Their columns
    count from the first board of such a group, which stands in column 1 with the feeder None.
    """

    column: dict[str, int]
    feeder: dict[str, str | None]
    unfed: tuple[str, ...]


@dataclass(frozen=True)
class Lacking:
    """Phases that a board is recorded to have and its feeder not."""

    child: str
    feeder: str
    phases: tuple[str, ...]


def led_to(starts: Iterable[str], steps: Iterable[tuple[str, str]]) -> set[str]:
    """All that `steps`, each from one thing to the next, lead to from `starts`, themselves included."""
    onward: dict[str, list[str]] = defaultdict(list)
    for here, there in steps:
        onward[here].append(there)
    found = set(starts)
    ahead = list(found)
    while ahead:
        new = set(onward[ahead.pop()]) - found
        found |= new
        ahead += new
    return found


def loops(feeds: Iterable[FeedEdge]) -> tuple[tuple[str, ...], ...]:
    """Boards that feed each other in a ring, each ring once and in feeding order; empty when there is none.

    Rings that share a feed with one already named are left out: putting the named ones right brings them up.
    """
    left = {(feed.from_board, feed.child) for feed in feeds if feed.from_board is not None}
    found: list[tuple[str, ...]] = []
    while True:
        feeders: dict[str, list[str]] = defaultdict(list)
        for feeder, child in sorted(left):
            feeders[child].append(feeder)
        try:
            TopologicalSorter(feeders).prepare()
        except CycleError as ring:
            boards = ring.args[1]  # feeding order, first board again at the end
            found.append(tuple(boards[:-1]))
            left -= set(pairwise(boards))
        else:
            return tuple(found)


def depths(graph: SupplyGraph) -> Depths:
    """Distance of each board from the nearest origin by normal feeds; by any feed where no normal one leads there."""
    walk = _Walk(graph)
    for origin in graph.origins:
        walk.reach(origin.id, 0, None)
    walk.spread(alternative=False)
    walk.spread(alternative=True)
    fed = set(walk.column)
    fed_somehow = {feed.child for feed in graph.feeds}
    # Boards without any feed first, so that what they feed stands behind them; then whatever stands in a ring.
    for board in sorted((b.id for b in graph.boards), key=lambda b: b in fed_somehow):
        if board not in walk.column:
            walk.reach(board, 1, None)
            walk.spread(alternative=False)
            walk.spread(alternative=True)
    for origin in graph.origins:
        del walk.column[origin.id], walk.feeder[origin.id]
    return Depths(walk.column, walk.feeder, tuple(b for b in walk.column if b not in fed))


@dataclass
class _Walk:
    """Breadth first from what has been reached; feeders keep the order in which the graph names their feeds."""

    graph: SupplyGraph
    column: dict[str, int] = field(default_factory=dict)
    feeder: dict[str, str | None] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.out: dict[str, list[FeedEdge]] = defaultdict(list)
        for feed in self.graph.feeds:
            self.out[feed.feeder].append(feed)

    def reach(self, node: str, column: int, feeder: str | None) -> None:
        self.column[node], self.feeder[node] = column, feeder

    def spread(self, *, alternative: bool) -> None:
        """Go on from all that is reached, nearest first: by normal feeds only, or by alternative ones too."""
        queue = [(column, order, node) for order, (node, column) in enumerate(self.column.items())]
        heapify(queue)
        while queue:
            column, _, node = heappop(queue)
            for feed in self.out[node]:
                if feed.child not in self.column and (alternative or feed.kind == "normal"):
                    heappush(queue, (column + 1, len(self.column), feed.child))
                    self.reach(feed.child, column + 1, node)


def phases_lacking(graph: SupplyGraph) -> tuple[Lacking, ...]:
    """Feeds whose board has a phase that the feeder lacks; nothing is said where the feeder's phases aren't recorded."""
    phases = {origin.id: origin.phases for origin in graph.origins} | {b.id: b.phases for b in graph.boards}
    return tuple(
        Lacking(feed.child, feed.feeder, tuple(sorted(missing)))
        for feed in graph.feeds
        if phases[feed.feeder] and (missing := phases[feed.child] - phases[feed.feeder])
    )
