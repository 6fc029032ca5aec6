"""The conductors of a site as one network: where they are joined, which switches part them, what power can reach.

Power may come from either end of a conductor: a second source behind a board, or an alternative feed of it, feeds back
through the board's normal feed unless something parts the two. So joins are followed both ways, and a changeover is not
relied on. Phases are not told apart: a source on L1 counts for all that its conductors lead to.
"""

from collections import defaultdict, deque
from collections.abc import Callable, Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

from jobsite.premises.graph import BoardNode, CircuitNode, FeedEdge, Origin, SourceNode, SupplyGraph, depths, led_to

SpotKind = Literal["origin", "source", "in", "bus", "circuit"]
Conductor = Literal["line", "neutral"]
SwitchPlace = Literal["intake", "main", "device", "isolator"]

# Earthing that holds the supply's neutral at or near earth, so that it need not be disconnected. From memory, of BS 7671's
# chapter on isolation and switching (461.2); not read there: look it up in the edition in force before relying on it. With
# any other earthing, or where it is not recorded, the neutral counts as a live conductor that must be disconnected too.
HELD = frozenset({"TN-S", "TN-C-S"})


class Spot(NamedTuple):
    """A stretch of conductors: an origin, a source, a board on the supply side of its main switch (`in`) or behind it
    (`bus`), a circuit behind its device."""

    kind: SpotKind
    id: str


@dataclass(frozen=True)
class Switch:
    """Something that isolates: a supply's isolator, a board's main switch, a circuit's device, a source's isolator.

    `id` is that of the supply, board, circuit or source. It parts the lines always, the neutral with `all_live`.
    """

    place: SwitchPlace
    id: str
    all_live: bool

    def parts(self, conductor: Conductor) -> bool:
        """Whether it disconnects this conductor."""
        return conductor == "line" or self.all_live


@dataclass(frozen=True)
class Join:
    """Two spots that are joined, the upper one (where power normally comes from) first, and the switch between them."""

    upper: Spot
    lower: Spot
    switch: Switch | None = None
    only_neutral: bool = False
    feed: FeedEdge | None = None


Came = dict[Spot, Spot | None]
Follow = Callable[[Join], bool]


class Network:
    """The joins of a supply graph, and what can be live in it."""

    def __init__(self, graph: SupplyGraph) -> None:
        self.graph = graph
        self.boards: dict[str, BoardNode] = {board.id: board for board in graph.boards}
        self.origins: dict[str, Origin] = {origin.id: origin for origin in graph.origins}
        self.sources: dict[str, SourceNode] = {source.id: source for source in graph.sources}
        self.circuits: dict[str, CircuitNode] = {circuit.id: circuit for circuit in graph.circuits}
        self.unknown = _fed_by_nobody_knows_what(graph)
        self.joins: dict[Spot, list[Join]] = defaultdict(list)
        for join in (*self._boards(), *self._feeds(), *self._sources(), *self._links(), *self._devices()):
            self.joins[join.upper].append(join)
            self.joins[join.lower].append(join)
        self.feeders = [Spot("origin", o) for o in self.origins] + [Spot("in", b) for b in self.unknown]
        self.holders = [Spot("origin", o.id) for o in graph.origins if o.earthing in HELD]
        self.holders += [Spot("in", board.id) for board in graph.boards if board.own_earthing in HELD]
        self.powers = [*self.feeders, *(Spot("source", s) for s in self.sources)]
        self.not_held = self._not_held()

    def _boards(self) -> Iterator[Join]:
        for board in self.graph.boards:
            yield Join(Spot("in", board.id), Spot("bus", board.id), main_switch(board))

    def _feeds(self) -> Iterator[Join]:
        for feed in self.graph.feeds:
            if feed.from_origin is not None:
                upper, switch = Spot("origin", feed.from_origin), intake_switch(self.origins[feed.from_origin])
            else:
                upper, switch = Spot("circuit", self._circuit(feed.circuit, feed.feeder, feed.way)), None
            yield Join(upper, Spot("in", feed.child), switch, feed=feed)

    def _sources(self) -> Iterator[Join]:
        for source in self.graph.sources:
            at = Spot("bus", source.on_board)
            if source.circuit:
                at = Spot("circuit", self._circuit(source.circuit, source.on_board, source.way))
            switch = Switch("isolator", source.id, all_live=True) if source.supply_side else None
            yield Join(Spot("source", source.id), at, switch)

    def _links(self) -> Iterator[Join]:
        for link in self.graph.links:
            a = Spot("circuit", self._circuit(link.circuit_a, link.board_a, link.way_a))
            b = Spot("circuit", self._circuit(link.circuit_b, link.board_b, link.way_b))
            yield Join(a, b, only_neutral=link.kind == "neutral")

    def _devices(self) -> Iterator[Join]:
        """Each circuit behind its device, also where that isn't recorded: unlike a main switch, which may be missing or a
        contactor, something at the way parts every circuit from the bars, be it only a fuse to withdraw (common practice).
        Were it not relied on, a site just taken on, whose list names neither devices nor main switches, would get
        "no isolation point here" as nearly every answer. The point itself says that its device is not recorded.
        """
        for circuit in self.circuits.values():
            device = Switch("device", circuit.id, circuit.all_live)
            yield Join(Spot("bus", circuit.board), Spot("circuit", circuit.id), device)

    def _circuit(self, id_: str | None, board: str, way: str) -> str:
        """The id of a circuit; one that the graph names only by its way is taken in with what is known of it."""
        key = id_ or f"{board} {way}"
        if key not in self.circuits:
            self.circuits[key] = CircuitNode(key, board, way)
        return key

    def _not_held(self) -> set[str]:
        """The boards whose neutral no earthing of the supply holds, as far as is recorded: TT, IT, or not known."""
        not_held = {o for o, origin in self.origins.items() if origin.earthing not in HELD} | set(self.unknown)
        found = {b for b, board in self.boards.items() if board.own_earthing and board.own_earthing not in HELD}
        children: dict[str, list[str]] = defaultdict(list)
        for feed in self.graph.feeds:
            if not self.boards[feed.child].own_earthing:
                children[feed.feeder].append(feed.child)
        ahead = [*not_held, *found]
        found |= set(self.unknown)
        while ahead:
            new = [child for child in children[ahead.pop()] if child not in found]
            found.update(new)
            ahead += new
        return found

    def board_of(self, spot: Spot) -> str:
        """The id of the board that the spot is at; "" for origins and sources."""
        if spot.kind == "circuit":
            return self.circuits[spot.id].board
        return spot.id if spot.kind in {"in", "bus"} else ""

    def needs_neutral_off(self, spot: Spot, held: Collection[Spot]) -> bool:
        """Whether all live conductors must be disconnected there, the neutral too.

        `held`: what the neutrals that an earthing holds still reach. A circuit cut off from those can be joined by a
        borrowed neutral to a supply whose earthing holds none.
        """
        return self.board_of(spot) in self.not_held or spot not in held

    def spread(self, starts: Iterable[Spot], follow: Follow) -> Came:
        """All that the starts are joined to by joins that `follow` allows: each spot with the one it was reached from."""
        came: Came = dict.fromkeys(starts)
        queue = deque(came)
        while queue:
            here = queue.popleft()
            for join in self.joins[here]:
                there = join.lower if here == join.upper else join.upper
                if there not in came and follow(join):
                    came[there] = here
                    queue.append(there)
        return came

    def reach(
        self, starts: Iterable[Spot], conductor: Conductor, off: Collection[Switch], besides: Collection[Spot] = ()
    ) -> Came:
        """What the starts reach by this conductor while the switches `off` are off, not through the spots `besides`."""

        def follow(join: Join) -> bool:
            if conductor == "line" and join.only_neutral:
                return False
            if join.switch in off and join.switch is not None and join.switch.parts(conductor):
                return False
            return join.upper not in besides and join.lower not in besides

        return self.spread(starts, follow)


def main_switch(board: BoardNode) -> Switch | None:
    """The board's main switch, if the record says that it isolates: what is not known is not relied on."""
    return Switch("main", board.id, board.switch == "all") if board.switch in {"all", "lines"} else None


def intake_switch(origin: Origin) -> Switch | None:
    """The customer's own isolator at the origin, if the record says that there is one that isolates."""
    return Switch("intake", origin.id, origin.switch == "all") if origin.switch in {"all", "lines"} else None


def supply_side(switch: Switch, circuits: Mapping[str, CircuitNode]) -> Spot:
    """The spot on the supply side of a switch; a source's isolator has the source itself there."""
    if switch.place in {"intake", "isolator"}:
        return Spot("origin" if switch.place == "intake" else "source", switch.id)
    return Spot("in", switch.id) if switch.place == "main" else Spot("bus", circuits[switch.id].board)


def path_to(came: Came, spot: Spot) -> tuple[Spot, ...]:
    """The spots from a start to `spot`, both named."""
    path: list[Spot] = []
    here: Spot | None = spot
    while here is not None:
        path.append(here)
        here = came[here]
    return tuple(reversed(path))


def _fed_by_nobody_knows_what(graph: SupplyGraph) -> tuple[str, ...]:
    """Boards of which no feed is recorded, and those that feed each other in a ring that nothing else feeds."""
    fed = {feed.child for feed in graph.feeds}
    unfed = [board for board in depths(graph).unfed if board not in fed]
    below = led_to(unfed, ((feed.feeder, feed.child) for feed in graph.feeds))
    return (*unfed, *(board for board in depths(graph).unfed if board not in below))
