"""Which switches to put off for a piece of work: every one through which power could come.

1. The work's own spots, all below them, and all that is joined to those without a switch or by a link between circuits,
   are what must go dead together (`around`).
2. Every switch at the edge of that is a point: the devices of all normal and alternative feeds and candidates, the
   isolators of second sources, the device of the circuit at the other end of a link.
3. What a power reaches all the same (no isolator recorded, a supply without a switch of the customer's) is kept from the
   work by the nearest switches between the two, where there are any.
4. Where the supply's earthing doesn't hold the neutral, the nearest switches that disconnect all live conductors.
"""

from collections.abc import Collection, Iterable, Iterator

from .answer import Point, Why, Work
from .network import Join, Network, Spot, Switch

Chosen = dict[Switch, list[Why]]


def spots_of(network: Network, works: Iterable[Work]) -> set[Spot]:
    """What is worked on: a circuit; a board with its outgoing terminals; the conductors that feed a board."""
    found: set[Spot] = set()
    for work in works:
        if work.kind == "circuit":
            found.add(Spot("circuit", work.id))
            continue
        found.add(Spot("in", work.id))
        if work.kind == "inside":
            bus = Spot("bus", work.id)
            found |= {bus, *(join.lower for join in network.joins[bus] if join.upper == bus and join.switch)}
        else:
            found |= {join.upper for join in network.joins[Spot("in", work.id)] if join.upper.kind == "circuit"}
    return {spot for spot in found if spot.kind != "source"}


def around_of(network: Network, work: Iterable[Spot]) -> set[Spot]:
    """The spots that must go dead together; origins and sources among them have no switch on the way."""
    found, ahead = set(work), list(work)
    while ahead:
        here = ahead.pop()
        if here.kind in {"origin", "source"}:
            continue  # nothing of the customer's stands before it: what else it feeds does not matter here
        for join in network.joins[here]:
            there = join.lower if join.upper == here else join.upper
            if there not in found and (join.switch is None or _is_below(join, here)):
                found.add(there)
                ahead.append(there)
    return found


def _is_below(join: Join, here: Spot) -> bool:
    return join.upper == here and join.switch is not None and join.switch.place in {"main", "device"}


def points(network: Network, work: Collection[Spot], around: Collection[Spot]) -> tuple[Point, ...]:
    """The points in the order in which the steps above find them, each once with all its reasons."""
    chosen: Chosen = {}
    for here in sorted(around):
        if here.kind not in {"origin", "source"}:
            for join, why in _at_the_edge(network, here, work, around):
                _add(chosen, join.switch, why)
    for power in network.powers:
        for switch in _between(network, power, work, chosen):
            _add(chosen, switch, "back-feed")
    for switch in _for_the_neutral(network, work, chosen):
        _add(chosen, switch, "neutral")
    return tuple(Point(switch, tuple(why)) for switch, why in chosen.items())


def _add(chosen: Chosen, switch: Switch | None, why: Why) -> None:
    if switch is not None and why not in chosen.setdefault(switch, []):
        chosen[switch].append(why)


def _at_the_edge(
    network: Network, here: Spot, work: Collection[Spot], around: Collection[Spot]
) -> Iterator[tuple[Join, Why]]:
    for join in network.joins[here]:
        if join.switch is None or join.upper in around:
            continue
        if join.upper.kind == "source":
            yield join, "source"
        elif join.feed is not None:
            yield join, _kind_of_feed(join)
        else:
            onward = [j for j in network.joins[here] if j.feed is not None]
            is_worked_on = here in work and not any(j.lower in work for j in onward)
            whys: list[Why] = ["own"] if is_worked_on else [_kind_of_feed(j) for j in onward]
            yield from ((join, why) for why in whys or ["other-end"])


def _kind_of_feed(join: Join) -> Why:
    if join.feed is None or not join.feed.verified:
        return "candidate"
    return "alternative" if join.feed.kind == "alternative" else "feed"


def _between(network: Network, power: Spot, work: Collection[Spot], off: Collection[Switch]) -> list[Switch]:
    """The nearest switches that keep from the work a power that reaches it although the switches `off` are off."""
    reached = network.reach([power], "line", off)
    if not any(spot in reached for spot in work):
        return []
    bare = network.spread([power], lambda join: join.switch is None and not join.only_neutral)
    cut_off = [spot for spot in work if spot in reached and spot not in bare]
    beyond = network.reach(cut_off, "line", off, besides=bare)
    return list(_edge_switches(network, bare, beyond, off))


def _edge_switches(
    network: Network, inside: Iterable[Spot], beyond: Collection[Spot], off: Collection[Switch]
) -> Iterator[Switch]:
    for here in inside:
        for join in network.joins[here]:
            there = join.lower if join.upper == here else join.upper
            if join.switch is not None and join.switch not in off and there in beyond:
                yield join.switch


def _for_the_neutral(network: Network, work: Collection[Spot], off: Collection[Switch]) -> list[Switch]:
    """The nearest switches that also part the neutral, for spots of the work that need it; none where none does it."""
    found: dict[Switch, None] = {}
    live = network.reach(network.feeders, "neutral", off)
    held = network.reach(network.holders, "neutral", off)
    seen: set[Spot] = set()
    for spot in sorted(work):
        if spot in seen or spot not in live or not network.needs_neutral_off(spot, held):
            continue
        joined = network.spread([spot], lambda join: join.switch is None or not join.switch.all_live)
        seen |= set(joined)
        if any(feeder in joined for feeder in network.feeders):
            continue
        beyond = network.reach(network.feeders, "neutral", off, besides=joined)
        found |= dict.fromkeys(_edge_switches(network, joined, beyond, off))
    return list(found)
