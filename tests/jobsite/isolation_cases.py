"""Supply graphs to isolate in: any that could be, and what is live in them found by force, apart from the rules' own walk."""

from collections.abc import Collection

from hypothesis import strategies as st

from jobsite.premises.graph import BoardNode, BorrowedLink, CircuitNode, FeedEdge, Origin, SourceNode, SupplyGraph
from jobsite.premises.isolation import Work

EARTHINGS = st.sampled_from(["TN-S", "TN-C-S", "TT", "earthing not known"])
SWITCHES = st.sampled_from(["", "all", "lines", "control", "none"])
WHERE = st.sampled_from(["", "beside it"])


@st.composite
def sites(draw, most=6):
    """Any graph of boards with circuits: several feeds of a board, sources with or without an isolator, links, rings."""
    origins = tuple(
        Origin(f"o{n}", f"Supply {n}", earthing=draw(EARTHINGS), switch=draw(SWITCHES))
        for n in range(draw(st.integers(1, 2)))
    )
    count = draw(st.integers(1, most))
    boards = tuple(
        BoardNode(f"b{n}", f"Board {n}", switch=draw(SWITCHES), own_earthing=draw(st.just("") | EARTHINGS))
        for n in range(count)
    )
    circuits = tuple(
        CircuitNode(f"c{n}.{k}", f"b{n}", f"way {k}", poles=draw(st.sampled_from([None, 1, 2])))
        for n in range(count)
        for k in range(draw(st.integers(1, 3)))
    )
    one = st.sampled_from(circuits)
    feeds = draw(st.lists(st.builds(feed, st.sampled_from(boards), one | st.sampled_from(origins), *KINDS), max_size=9))
    links = st.builds(link, one, one, st.sampled_from(["neutral", "feed"]))
    sources = st.builds(source, st.sampled_from(boards) | one, st.sampled_from(["pv", "battery"]), WHERE)
    return SupplyGraph(
        origins,
        boards,
        tuple(feeds),
        tuple(made(f"s{n}") for n, made in enumerate(draw(st.lists(sources, max_size=2)))),
        tuple(draw(st.lists(links, max_size=2))),
        circuits,
    )


KINDS = (st.sampled_from(["normal", "normal", "alternative"]), st.booleans())


def feed(board: BoardNode, feeder: CircuitNode | Origin, kind: str = "normal", verified: bool = True) -> FeedEdge:
    """A feed of a board from a circuit or an origin."""
    if isinstance(feeder, Origin):
        return FeedEdge(board.id, from_origin=feeder.id, kind=kind, verified=verified)
    return FeedEdge(board.id, None, feeder.board, feeder.way, kind, verified, circuit=feeder.id)


def link(one: CircuitNode, other: CircuitNode, kind: str = "neutral") -> BorrowedLink:
    return BorrowedLink(one.board, one.way, other.board, other.way, kind, one.id, other.id)


def source(at: BoardNode | CircuitNode, kind: str, isolator: str, **more):
    """A maker of a second source, which takes its id."""
    board, circuit = (at.board, at.id) if isinstance(at, CircuitNode) else (at.id, None)
    return lambda id_: SourceNode(id_, kind, f"Source {id_}", board, circuit=circuit, supply_side=isolator, **more)


@st.composite
def asked(draw):
    """A site and the work to be done there: one piece, or two at once."""
    graph = draw(sites())
    boards, circuits = st.sampled_from(graph.boards), st.sampled_from(graph.circuits)
    work = st.builds(lambda c: Work("circuit", c.id), circuits)
    work |= st.builds(lambda b, kind: Work(kind, b.id), boards, st.sampled_from(["inside", "supply"]))
    return graph, draw(st.lists(work, min_size=1, max_size=2))


# --- by force ---------------------------------------------------------------------------------------------------------
# Two conductors a spot, written as "line c1" and "neutral in b2"; pairs that conduct are tried again and again until
# nothing more is reached. Nothing of this is shared with jobsite/premises/isolation.

TN = ("TN-S", "TN-C-S")


def conducting(graph: SupplyGraph, off: Collection[tuple[str, str]]) -> set[tuple[str, str]]:
    """The pairs of conductors that are joined while the switches `off`, as (place, id), are off."""
    pairs = []

    def join(one, other, *, place="", id_="", all_live=False, line=True, neutral=True):
        opened = (place, id_) in off
        if line and not opened:
            pairs.append((f"line {one}", f"line {other}"))
        if neutral and not (opened and all_live):
            pairs.append((f"neutral {one}", f"neutral {other}"))

    for board in graph.boards:
        place = "main" if board.switch in {"all", "lines"} else "cannot be switched off"
        join(f"in {board.id}", f"bus {board.id}", place=place, id_=board.id, all_live=board.switch == "all")
    for circuit in graph.circuits:
        poles = circuit.poles or 1
        join(f"bus {circuit.board}", f"circuit {circuit.id}", place="device", id_=circuit.id, all_live=poles > 1)
    kinds = {origin.id: origin.switch for origin in graph.origins}
    for each in graph.feeds:
        if each.from_origin:
            kind = kinds[each.from_origin]
            place = "intake" if kind in {"all", "lines"} else "cannot be switched off"
            upper = f"origin {each.from_origin}"
            join(upper, f"in {each.child}", place=place, id_=each.from_origin, all_live=kind == "all")
        else:
            join(f"circuit {each.circuit}", f"in {each.child}")
    for each in graph.sources:
        at = f"circuit {each.circuit}" if each.circuit else f"bus {each.on_board}"
        place = "isolator" if each.supply_side else "cannot be switched off"
        join(f"source {each.id}", at, place=place, id_=each.id, all_live=True)
    for each in graph.links:
        join(f"circuit {each.circuit_a}", f"circuit {each.circuit_b}", line=each.kind == "feed")
    return set(pairs)


def reached(pairs: set[tuple[str, str]], starts: Collection[str]) -> set[str]:
    """All that is joined to the starts."""
    found: set[str] = set()
    more = set(starts)
    while more - found:
        found |= more
        more = {b for a, b in pairs if a in found} | {a for a, b in pairs if b in found}
    return found


def powers(graph: SupplyGraph) -> set[str]:
    """Where power comes from: origins, sources, and boards that nothing recorded joins to an origin."""
    found = {f"origin {origin.id}" for origin in graph.origins} | {f"source {s.id}" for s in graph.sources}
    return found | {f"in {board}" for board in of_unknown_feed(graph)}


def of_unknown_feed(graph: SupplyGraph) -> set[str]:
    """Boards without a feed, and those that no chain of feeds from one of these or from an origin leads to."""
    fed = {each.child for each in graph.feeds}
    bare = {board.id for board in graph.boards} - fed
    led = {origin.id for origin in graph.origins} | bare
    for _ in graph.boards:
        led |= {each.child for each in graph.feeds if each.feeder in led}
    return bare | ({board.id for board in graph.boards} - led)


def not_held(graph: SupplyGraph) -> set[str]:
    """Boards where the neutral must be disconnected too: the earthing is not TN, or not recorded."""
    own = {board.id: board.own_earthing for board in graph.boards}
    bad = {origin.id for origin in graph.origins if origin.earthing not in TN} | of_unknown_feed(graph)
    bad |= {board for board, earthing in own.items() if earthing and earthing not in TN}
    for _ in graph.boards:
        bad |= {each.child for each in graph.feeds if each.feeder in bad and not own[each.child]}
    return bad & set(own)


def live_by_force(graph: SupplyGraph, off: Collection[tuple[str, str]]) -> dict[str, set[str]]:
    """Each spot that may be live with what it may be live from: powers, or the word "neutral"."""
    pairs = conducting(graph, off)
    at = {f"circuit {c.id}": c.board for c in graph.circuits}
    at |= {f"{side} {b.id}": b.id for b in graph.boards for side in ("in", "bus")}
    live = {spot: set() for spot in at}
    for power in powers(graph):
        lines = reached(pairs, [f"line {power}"])
        for spot in at:
            if f"line {spot}" in lines:
                live[spot].add(power)
    supplied = reached(pairs, [f"neutral {power}" for power in powers(graph) if not power.startswith("source")])
    earthed = {f"neutral origin {origin.id}" for origin in graph.origins if origin.earthing in TN}
    earthed |= {f"neutral in {board.id}" for board in graph.boards if board.own_earthing in TN}
    held = reached(pairs, earthed)
    driven = [circuit for circuit in at if circuit.startswith("circuit") and live[circuit]]
    joined = reached(pairs, [f"neutral {circuit}" for circuit in driven])
    shares = {(f"circuit {e.circuit_a}", f"circuit {e.circuit_b}") for e in graph.links if e.kind == "neutral"}
    shared = reached(shares, driven)
    for spot, board in at.items():
        neutral = f"neutral {spot}"
        held_by_nothing = neutral in supplied and (board in not_held(graph) or neutral not in held)
        if held_by_nothing or spot in shared or (neutral in joined and neutral not in supplied):
            live[spot].add("neutral")
    return {spot: why for spot, why in live.items() if why}
