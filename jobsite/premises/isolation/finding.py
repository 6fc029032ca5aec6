"""The answer put together: the points, then what is reached past them, found anew from the network."""

from collections.abc import Collection, Iterable, Iterator
from dataclasses import dataclass

from jobsite.premises.graph import SupplyGraph

from .answer import Isolation, Point, Reason, StaysLive, Work
from .cautions import cautions
from .choosing import around_of, points, spots_of
from .network import Came, Join, Network, Spot, Switch, path_to, supply_side
from .upstream import sure_points


def isolate(graph: SupplyGraph, *works: Work) -> Isolation:
    """What to switch off for all of `works` at once, what should go dead by the record, and what may stay live.

    Raises ValueError where a work names a circuit or board that the graph lacks.
    """
    network = Network(graph)
    for work in works:
        if work.id not in (network.circuits if work.kind == "circuit" else network.boards):
            raise ValueError(
                f"No such {'circuit' if work.kind == 'circuit' else 'board'} in this supply graph: {work.id}."
            )
    spots = spots_of(network, works)
    around = around_of(network, spots)
    chosen = points(network, spots, around)
    off = {point.switch for point in chosen}
    state = State(network, off)
    lasting = {spot for spot in network.joins if spot.kind not in {"origin", "source"}}
    no_point = tuple(sorted(spot.id for spot in around if spot.kind == "origin"))
    return Isolation(
        works=works,
        points=chosen,
        dead=frozenset(spot for spot in lasting if not state.may_be_live(spot)),
        live=(*_reached(state, spots, around), *_always(network, chosen, spots, around)),
        around=frozenset(spot for spot in around if spot.kind not in {"origin", "source"}),
        loses=frozenset(losing(network, off)),
        no_point=no_point,
        sure=sure_points(network, works),
        cautions=tuple(cautions(network, works, chosen, spots, around)),
    )


@dataclass
class State:
    """What is reached while the switches `off` are off.

    A neutral may be live in three ways: the supply's earthing doesn't hold it and it is still joined to a supply; the
    circuit shares it with one whose line may be live; or it is cut off from every supply and such a circuit is joined to it.
    """

    network: Network
    off: Collection[Switch]

    def __post_init__(self) -> None:
        network = self.network
        self.lines = {power: network.reach([power], "line", self.off) for power in network.powers}
        self.neutrals = network.reach(network.feeders, "neutral", self.off)
        self.held = network.reach(network.holders, "neutral", self.off)
        live = [spot for spot in network.joins if spot.kind == "circuit" and self._line_is_live(spot)]
        self.shared: Came = network.reach(live, "neutral", self.off)
        self.linked = network.spread(live, lambda join: join.only_neutral)

    def _line_is_live(self, spot: Spot) -> bool:
        return any(spot in came for came in self.lines.values())

    def by_the_neutral(self, spot: Spot) -> tuple[Reason, tuple[Spot, ...]] | None:
        """Whether the neutral may be live there, and whence."""
        if spot in self.neutrals and self.network.needs_neutral_off(spot, self.held):
            return "neutral", path_to(self.neutrals, spot)
        if spot in self.linked:
            return "link", path_to(self.linked, spot)
        if spot in self.shared and spot not in self.neutrals:
            return "joined-neutral", path_to(self.shared, spot)
        return None

    def may_be_live(self, spot: Spot) -> bool:
        """Whether anything reaches it."""
        return self._line_is_live(spot) or self.by_the_neutral(spot) is not None


def _reached(state: State, work: Collection[Spot], around: Iterable[Spot]) -> Iterator[StaysLive]:
    """What reaches the work, or what is around it, past the points: by each power, then by neutrals."""
    here = [spot for spot in sorted(around) if spot.kind not in {"origin", "source"}]
    for power, came in state.lines.items():
        reached = frozenset(spot for spot in here if spot in came)
        if reached:
            nearest = _nearest(came, [spot for spot in reached if spot in work] or reached)
            yield StaysLive(_by(power), path_to(came, nearest), reached)
    by_path: dict[tuple[Reason, Spot], list[tuple[Spot, tuple[Spot, ...]]]] = {}
    for spot in here:
        if found := state.by_the_neutral(spot):
            by_path.setdefault((found[0], found[1][0]), []).append((spot, found[1]))
    for (reason, _), reaches in by_path.items():
        at_work = [each for each in reaches if each[0] in work] or reaches
        shortest = min(at_work, key=lambda each: (len(each[1]), each[0]))
        yield StaysLive(reason, shortest[1], frozenset(spot for spot, _ in reaches))


def _by(power: Spot) -> Reason:
    if power.kind == "source":
        return "source"
    return "feed" if power.kind == "origin" else "not-recorded"


def _nearest(came: Came, spots: Iterable[Spot]) -> Spot:
    return min(spots, key=lambda spot: (len(path_to(came, spot)), spot))


def _always(
    network: Network, chosen: Iterable[Point], work: Collection[Spot], around: Collection[Spot]
) -> Iterator[StaysLive]:
    """What stays live by its nature: a source's own side, the other end of a link, the supply side of each point."""
    for source in network.sources.values():
        spot = Spot("source", source.id)
        if any(join.lower in around for join in network.joins[spot]):
            yield StaysLive("own-side", (spot,), wait_minutes=source.wait_minutes)
    for link in sorted(_links_at(network, work, around)):
        yield StaysLive("link", link)
    for point in chosen:
        if point.switch.place != "isolator":
            yield StaysLive("supply-side", (supply_side(point.switch, network.circuits),))


def _links_at(network: Network, work: Collection[Spot], around: Collection[Spot]) -> set[tuple[Spot, Spot]]:
    """Each link at what is around the work, the end that is further from the work first.

    Where the boards of both ends are around it as a whole, neither is an other end.
    """

    def nearness(end: Spot) -> tuple[bool, bool]:
        return end in work, is_whole(end)

    def is_whole(end: Spot) -> bool:
        return Spot("bus", network.board_of(end)) in around

    joins = (join for spot in around for join in network.joins[spot])
    links = (join for join in joins if join.upper.kind == join.lower.kind == "circuit")
    partly = (ends for ends in map(_ends, links) if not all(map(is_whole, ends)))
    return {(min(ends, key=nearness), max(reversed(ends), key=nearness)) for ends in partly}


def _ends(join: Join) -> tuple[Spot, Spot]:
    return join.upper, join.lower


def losing(network: Network, off: Collection[Switch]) -> set[Spot]:
    """What may lose its power when the switches `off` are off: all below them, by any feed, believed ones too."""
    found = {join.lower for spot in list(network.joins) for join in network.joins[spot] if join.switch in off}
    ahead = list(found)
    while ahead:
        here = ahead.pop()
        for join in network.joins[here]:
            is_link = join.upper.kind == join.lower.kind == "circuit"
            if join.upper == here and join.lower not in found and not is_link:
                found.add(join.lower)
                ahead.append(join.lower)
    return found
