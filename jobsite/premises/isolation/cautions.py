"""What is to be said beside the answer, by kind and about which thing."""

from collections.abc import Collection, Iterable, Iterator

from jobsite.premises.graph import BoardNode

from .answer import Caution, CautionKind, Point, Work
from .network import Join, Network, Spot

SWITCH_CAUTIONS: dict[str, CautionKind] = {
    "": "switch-not-known",
    "none": "no-switch",
    "control": "control",
    "lines": "lines-only",
}


def cautions(
    network: Network,
    works: Iterable[Work],
    chosen: Collection[Point],
    spots: Collection[Spot],
    around: Collection[Spot],
) -> Iterator[Caution]:
    """Cautions in the order in which a person needs them, each once."""
    found: dict[Caution, None] = {}
    found |= dict.fromkeys(_names(network, works))
    found |= dict.fromkeys(_origins(network, around))
    found |= dict.fromkeys(_boards(network, works, chosen, spots))
    found |= dict.fromkeys(_points(network, chosen))
    found |= dict.fromkeys(_feeds(network, around))
    found |= dict.fromkeys(_sources(network, around))
    yield from found


def _origins(network: Network, around: Collection[Spot]) -> Iterator[Caution]:
    yield from (Caution("no-point", spot.id) for spot in sorted(around) if spot.kind == "origin")
    yield from (Caution("not-recorded", board) for board in network.unknown if Spot("in", board) in around)


def _names(network: Network, works: Iterable[Work]) -> Iterator[Caution]:
    """A circuit that nobody verified: what somebody means to work on may hang on another one."""
    for work in works:
        if work.kind == "circuit" and not network.circuits[work.id].name_verified:
            yield Caution("name-believed", work.id)


def _boards(
    network: Network, works: Iterable[Work], chosen: Collection[Point], spots: Collection[Spot]
) -> Iterator[Caution]:
    worked = dict.fromkeys(network.circuits[w.id].board if w.kind == "circuit" else w.id for w in works)
    switches = {point.switch for point in chosen}
    for board in map(network.boards.__getitem__, worked):
        if board.id in network.not_held:
            yield Caution("all-live", board.id)
        relied_on = any(switch.place == "main" and switch.id == board.id for switch in switches)
        if not relied_on and _would_help(network, board, spots):
            yield Caution(SWITCH_CAUTIONS[board.switch], board.id)
        elif board.switch == "control":
            yield Caution("control", board.id)


def _would_help(network: Network, board: BoardNode, spots: Collection[Spot]) -> bool:
    """Whether a main switch that disconnects all live conductors would have been a point."""
    if board.switch == "all" or board.switch not in SWITCH_CAUTIONS:
        return False
    inside = Spot("bus", board.id) in spots
    feeders = [join.upper for join in network.joins[Spot("in", board.id)] if join.feed is not None]
    at_the_origin = not feeders or any(
        feeder.kind == "origin" and network.origins[feeder.id].switch not in {"all", "lines"} for feeder in feeders
    )
    return (inside and at_the_origin) or (board.id in network.not_held and not _supply_side_only(board, spots))


def _supply_side_only(board: BoardNode, spots: Collection[Spot]) -> bool:
    return Spot("in", board.id) in spots and Spot("bus", board.id) not in spots


def _points(network: Network, chosen: Iterable[Point]) -> Iterator[Caution]:
    for point in chosen:
        switch = point.switch
        if switch.place == "device":
            circuit = network.circuits[switch.id]
            if not circuit.has_device:
                yield Caution("no-device", circuit.id)
            if circuit.poles is None:
                yield Caution("poles-not-recorded", circuit.id)
            elif not circuit.all_live:
                yield Caution("single-pole" if circuit.poles == 1 else "not-all-live", circuit.id)
        elif switch.place == "main":
            if not switch.all_live:
                yield Caution("lines-only", switch.id)
            if not network.boards[switch.id].name_verified:
                yield Caution("switch-believed", switch.id)


def _feeds(network: Network, around: Collection[Spot]) -> Iterator[Caution]:
    joins: list[Join] = [join for spot in sorted(around) if spot.kind == "in" for join in network.joins[spot]]
    for join in joins:
        if join.feed is not None and not join.feed.verified:
            yield Caution("believed", join.feed.child)
    for join in joins:
        if join.feed is not None and join.feed.kind == "alternative":
            yield Caution("changes-over", join.feed.child)


def _sources(network: Network, around: Collection[Spot]) -> Iterator[Caution]:
    for source in network.sources.values():
        spot = Spot("source", source.id)
        if not source.supply_side and any(join.lower in around for join in network.joins[spot]):
            yield Caution("no-isolator", source.id)
