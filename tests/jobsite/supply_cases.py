"""Supply graphs to test with: any that could be drawn, and one of an invented boatyard."""

from dataclasses import replace

from hypothesis import strategies as st

from jobsite.premises.graph import PHASES, BoardNode, BorrowedLink, FeedEdge, Mark, Origin, SourceNode, SupplyGraph

THREE = frozenset(PHASES)
WORDS = st.text(max_size=40)
CODES = st.sampled_from(["C1", "C2", "C3", "FI", "not yet coded"])


@st.composite
def graphs(draw_, words=WORDS, most=25):
    """Any graph: mostly trees, with alternative feeds, second sources, borrowed links, rings, boards nothing feeds."""
    origins = tuple(Origin(f"o{n}", draw_(words), draw_(st.none() | st.just(100)), THREE) for n in range(2))
    count = draw_(st.integers(0, most))
    boards = tuple(
        BoardNode(f"b{n}", draw_(words), draw_(st.booleans()), draw_(words), draw_(words), THREE, "/b/")
        for n in range(count)
    )
    feeders = [draw_(st.sampled_from(["", "o0", "o1", *(f"b{k}" for k in range(n))])) for n in range(count)]
    tree = [edge(f, f"b{n}", draw_(words), verified=draw_(st.booleans())) for n, f in enumerate(feeders) if f]
    if not count:
        return SupplyGraph(origins)
    board = st.integers(0, count - 1).map("b{}".format)
    kinds = st.sampled_from(["normal", "alternative"])
    more = st.builds(lambda a, b, way, kind: edge(a, b, way, kind=kind), board, board, words, kinds)
    kinds = st.sampled_from(["pv", "battery", "generator", "wind"])
    source = st.builds(SourceNode, st.just("s"), kinds, words, board, words, words, words, st.just(5))
    links = st.lists(st.builds(BorrowedLink, board, words, board, words), max_size=2)
    return SupplyGraph(
        origins,
        boards,
        (*tree, *draw_(st.lists(more, max_size=8))),
        tuple(replace(each, id=f"s{n}") for n, each in enumerate(draw_(st.lists(source, max_size=3)))),
        tuple(draw_(links)),
    )


@st.composite
def marked(draw_):
    """A graph with open items on some of its boards."""
    graph = draw_(graphs())
    marks = st.lists(st.builds(Mark, CODES, st.integers(1, 999), st.booleans()), max_size=6)
    return graph, {board.id: draw_(marks) for board in graph.boards}


def edge(feeder: str, child: str, way: str = "", **more) -> FeedEdge:
    ends = {"from_origin": feeder} if feeder.startswith("o") else {"from_board": feeder}
    return FeedEdge(child, way=way, **ends, **more)


def boatyard() -> SupplyGraph:
    """Seven invented boards, with one of each thing that the drawing knows."""
    boards = (
        BoardNode("b1", "Main intake", place="store behind office", phases=THREE, href="/boards/1/"),
        BoardNode("b2", "Workshop", place="by the roller door", phases=THREE, href="/boards/2/"),
        BoardNode("b3", "Slip hoist", label_found="old crane", phases=THREE, href="/boards/3/"),
        BoardNode("b4", "Chandlery", place="under the stairs", phases=frozenset({"L2"}), href="/boards/4/"),
        BoardNode("b5", "Café", name_verified=False, phases=frozenset({"L3"}), href="/boards/5/"),
        BoardNode("b6", "Pontoon A", place="pillars 1–8", phases=frozenset({"L1"}), href="/boards/6/"),
        BoardNode("b7", "Pontoon B", place="pillars 1–8", phases=frozenset({"L2"}), href="/boards/7/"),
    )
    feeds = (
        edge("o1", "b1"),
        edge("b1", "b2", "way 1 · C63"),
        edge("b1", "b3", "way 2 · C63"),
        edge("b1", "b4", "way 4L2 · B40"),
        edge("b1", "b5", "way 6L3 · C50"),
        edge("b3", "b6", "way 5 · C40"),
        edge("b3", "b7", "way 6 · C40", verified=False),
        edge("b4", "b7", "way 9 · B32", kind="alternative"),
    )
    sources = (SourceNode("s1", "pv", "Solar inverter", "b2", "way 9 · C32", "8 kW", "beside it", 15),)
    links = (BorrowedLink("b3", "3L2", "b4", "2L2"),)
    return SupplyGraph((Origin("o1", "Supply", 100, THREE, "TN-S"),), boards, feeds, sources, links)
