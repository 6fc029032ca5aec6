"""The supply graph: loops, distances from the origin, phases, and the list in words."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from jobsite.premises.graph import (
    PHASES,
    BoardNode,
    BorrowedLink,
    FeedEdge,
    Lacking,
    Mark,
    Origin,
    SourceNode,
    SupplyGraph,
    depths,
    loops,
    phases_lacking,
)
from jobsite.premises.supply_words import Item, as_list, board_name, feed_words, key, phase_words, summary

THREE = frozenset(PHASES)


def feed(feeder: str, child: str, **more) -> FeedEdge:
    """A feed between boards; from the origin when the feeder is called "o"."""
    ends = {"from_origin": feeder} if feeder == "o" else {"from_board": feeder}
    return FeedEdge(child, **ends, **more)


def graph(boards: str, *feeds: FeedEdge, **more) -> SupplyGraph:
    """Boards named by single letters, with one origin "o"."""
    return SupplyGraph((Origin("o", "Supply"),), tuple(BoardNode(b, f"Board {b}") for b in boards), feeds, **more)


# --- what a graph refuses ---------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("feeds", "sentence"),
    [
        ((FeedEdge("a"),), "The feed of a needs either an origin or a board that it comes from."),
        ((FeedEdge("a", "o", "b"),), "The feed of a needs either an origin or a board that it comes from."),
        ((FeedEdge("a", "x"),), "The feed of a from x leads to nothing in this supply graph."),
        ((FeedEdge("a", None, "o"),), "The feed of a from o leads to nothing in this supply graph."),
        ((FeedEdge("x", "o"),), "The feed of x from o leads to nothing in this supply graph."),
    ],
)
def test_graph_refuses_feeds_that_lead_nowhere(feeds, sentence):
    with pytest.raises(ValueError) as refused:
        graph("ab", *feeds)
    assert str(refused.value) == sentence


def test_graph_refuses_one_id_for_two_things():
    with pytest.raises(ValueError, match=r"^An id stands for two things in this supply graph\.$"):
        graph("aa")


@pytest.mark.parametrize(
    "more",
    [{"sources": (SourceNode("s", "pv", "Solar", "x"),)}, {"links": (BorrowedLink("a", "1", "x", "2"),)}],
)
def test_graph_refuses_sources_and_links_on_unknown_boards(more):
    with pytest.raises(ValueError, match=r"^No such board in this supply graph: x\.$"):
        graph("a", **more)


# --- loops ------------------------------------------------------------------------------------------------------------


def test_loops_none_in_a_tree_or_where_two_ways_meet():
    assert loops([feed("o", "a"), feed("a", "b"), feed("a", "c"), feed("b", "d"), feed("c", "d")]) == ()


def test_loops_names_a_ring_in_feeding_order():
    (ring,) = loops([feed("o", "a"), feed("a", "b"), feed("b", "c"), feed("c", "a", kind="alternative")])
    start = ring.index("a")
    assert ring[start:] + ring[:start] == ("a", "b", "c")


def test_loops_names_a_board_that_feeds_itself_and_each_separate_ring():
    rings = loops([feed("a", "a"), feed("b", "c"), feed("c", "b")])
    assert sorted(sorted(ring) for ring in rings) == [["a"], ["b", "c"]]


pairs = st.tuples(st.integers(0, 8), st.integers(0, 8))


@given(st.lists(pairs, max_size=20))
def test_loops_found_exactly_when_some_board_reaches_itself(drawn):
    feeds = [FeedEdge(str(child), None, str(feeder)) for feeder, child in drawn]
    rings = loops(feeds)
    assert bool(rings) == any(reaches(drawn, board, board) for board in range(9))
    edges = {(f.from_board, f.child) for f in feeds}
    for ring in rings:
        assert set(zip(ring, ring[1:] + ring[:1], strict=True)) <= edges


def reaches(edges: list[tuple[int, int]], start: int, end: int) -> bool:
    """Whether feeds lead from one board to another, by trying all of them again and again."""
    reached = {child for feeder, child in edges if feeder == start}
    for _ in edges:
        reached |= {child for feeder, child in edges if feeder in reached}
    return end in reached


# --- distances --------------------------------------------------------------------------------------------------------


def test_depths_count_feeds_from_the_origin():
    where = depths(graph("abcd", feed("o", "a"), feed("a", "b"), feed("b", "c"), feed("a", "d")))
    assert where.column == {"a": 1, "b": 2, "c": 3, "d": 2}
    assert where.feeder == {"a": "o", "b": "a", "c": "b", "d": "a"}
    assert where.unfed == ()


def test_depths_follow_the_normal_feed_where_there_is_one():
    where = depths(graph("abc", feed("o", "a"), feed("a", "b"), feed("b", "c"), feed("o", "c", kind="alternative")))
    assert (where.column["c"], where.feeder["c"]) == (3, "b")


def test_depths_follow_an_alternative_feed_where_nothing_else_leads_there():
    where = depths(graph("abc", feed("o", "a"), feed("a", "b", kind="alternative"), feed("b", "c")))
    assert where.column == {"a": 1, "b": 2, "c": 3}
    assert where.unfed == ()


def test_depths_set_apart_what_nothing_joins_to_an_origin():
    where = depths(graph("zxya", feed("o", "a"), feed("x", "y"), feed("y", "z")))
    assert where.unfed == ("x", "y", "z")
    assert {board: where.column[board] for board in where.unfed} == {"x": 1, "y": 2, "z": 3}
    assert where.feeder["x"] is None


def test_depths_place_every_board_of_a_ring():
    where = depths(graph("abc", feed("a", "b"), feed("b", "c"), feed("c", "a")))
    assert sorted(where.unfed) == ["a", "b", "c"]
    assert sorted(where.column.values()) == [1, 2, 3]


@given(st.lists(pairs, max_size=24), st.sets(st.integers(0, 8)))
def test_depths_are_one_more_than_the_feeders(drawn, from_origin):
    feeds = [feed("o", f"b{n}") for n in sorted(from_origin)]
    feeds += [FeedEdge(f"b{child}", None, f"b{feeder}") for feeder, child in drawn]
    boards = tuple(BoardNode(f"b{n}", "") for n in range(9))
    where = depths(SupplyGraph((Origin("o", "Supply"),), boards, tuple(feeds)))
    assert set(where.column) == {board.id for board in boards}
    for board, feeder in where.feeder.items():
        before = 0 if feeder in {None, "o"} else where.column[feeder]
        assert where.column[board] == before + 1
    fed = {n for n in range(9) if n in from_origin or any(reaches(drawn, start, n) for start in from_origin)}
    assert set(where.unfed) == {f"b{n}" for n in range(9)} - {f"b{n}" for n in fed}


def test_depths_take_the_nearest_origin():
    boards = (BoardNode("a", "A"), BoardNode("b", "B"), BoardNode("c", "C"))
    feeds = (FeedEdge("a", "o"), FeedEdge("b", None, "a"), FeedEdge("c", None, "b"), FeedEdge("c", "p"))
    where = depths(SupplyGraph((Origin("o", "1"), Origin("p", "2")), boards, feeds))
    assert (where.column["c"], where.feeder["c"]) == (1, "p")


# --- phases -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("feeder", "child", "missing"),
    [
        (THREE, {"L2"}, None),
        ({"L1"}, {"L1"}, None),
        ({"L1"}, {"L2"}, ("L2",)),
        ({"L1"}, THREE, ("L2", "L3")),
        ((), THREE, None),  # the feeder's phases aren't recorded
        ({"L1"}, (), None),
    ],
)
def test_phases_lacking(feeder, child, missing):
    boards = (BoardNode("a", "A", phases=frozenset(feeder)), BoardNode("b", "B", phases=frozenset(child)))
    found = phases_lacking(SupplyGraph((), boards, (FeedEdge("b", None, "a"),)))
    assert found == ((Lacking("b", "a", missing),) if missing else ())


def test_phases_lacking_looks_at_the_origin_too():
    supply = Origin("o", "Supply", 80, frozenset({"L1"}))
    board = BoardNode("a", "A", phases=THREE)
    assert phases_lacking(SupplyGraph((supply,), (board,), (FeedEdge("a", "o"),))) == (Lacking("a", "o", ("L2", "L3")),)


# --- words ------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("board", "name"),
    [
        (BoardNode("a", "Kiln shed"), "Kiln shed"),
        (BoardNode("a", "Kiln shed", name_verified=False), "“Kiln shed”"),
        (BoardNode("a", "", label_found="DB 3"), "“DB 3”"),
        (BoardNode("a", ""), "board without a name"),
    ],
)
def test_board_name_puts_what_nobody_verified_in_quotes(board, name):
    assert board_name(board) == name


@pytest.mark.parametrize(
    ("phases", "words"), [(THREE, "3-ph"), ({"L2"}, "L2"), ({"L3", "L1"}, "L1 L3"), (frozenset(), "")]
)
def test_phase_words(phases, words):
    assert phase_words(frozenset(phases)) == words


@pytest.mark.parametrize(
    ("edge", "words"),
    [
        (feed("m", "a"), "fed from Intake"),
        (feed("m", "a", way="way 2 · C63"), "fed from Intake, way 2 · C63"),
        (feed("m", "a", way="way 2", verified=False), "fed from Intake, way 2 (believed, not verified)"),
        (feed("m", "a", kind="alternative"), "alternative feed from Intake"),
    ],
)
def test_feed_words(edge, words):
    assert feed_words(edge, "Intake") == words


def test_list_says_what_the_drawing_shows():
    boards = (
        BoardNode("m", "Intake", place="store", phases=THREE, href="/m/"),
        BoardNode("h", "Hoist", name_verified=False, label_found="old crane", phases=frozenset({"L1"}), href="/h/"),
        BoardNode("x", "Shed", retired=True),
    )
    feeds = (FeedEdge("m", "o"), FeedEdge("h", None, "m", "way 2 · C63", verified=False))
    sources = (SourceNode("s", "pv", "Inverter", "m", "way 9", "8 kW", "beside the intake", 15),)
    links = (BorrowedLink("h", "3L2", "m", "4L2"),)
    supply = (Origin("o", "Supply", 100, THREE, "TN-S", "Ze 0.18 Ω"),)
    marks = {"h": [Mark("C3", 2), Mark("C1", 1, made_safe=True)]}
    assert as_list(SupplyGraph(supply, boards, feeds, sources, links), marks) == (
        Item(
            "Supply",
            "",
            ("100 A × 3", "TN-S", "Ze 0.18 Ω"),
            (
                Item(
                    "Intake",
                    "/m/",
                    ("store", "three-phase", "fed from Supply", "4L2 shares a neutral with “Hoist” 3L2"),
                    (
                        Item(
                            "“Hoist”",
                            "/h/",
                            (
                                "name not verified",
                                "labelled “old crane”",
                                "phase L1",
                                "open: C1 ×1 made safe, C3 ×2",
                                "fed from Intake, way 2 · C63 (believed, not verified)",
                                "3L2 shares a neutral with Intake 4L2",
                            ),
                        ),
                        Item(
                            "Inverter",
                            "",
                            (
                                "way 9",
                                "second source: solar · 8 kW",
                                "DC side live in daylight",
                                "isolate: beside the intake · wait 15 min",
                            ),
                        ),
                    ),
                ),
            ),
        ),
        Item("No feed recorded that joins these boards to a supply", "", (), (Item("Shed", "", ("retired",)),)),
    )


def test_list_keeps_the_order_of_the_feeds():
    (supply,) = as_list(graph("abcd", feed("o", "a"), feed("a", "d"), feed("a", "b"), feed("a", "c")))
    assert [item.name for item in supply.below[0].below] == ["Board d", "Board b", "Board c"]


def test_list_calls_out_rings_and_missing_phases():
    boards = (BoardNode("a", "A", phases=frozenset({"L1"})), BoardNode("b", "B", phases=frozenset({"L2"})))
    (unfed,) = as_list(SupplyGraph((), boards, (FeedEdge("b", None, "a"), FeedEdge("a", None, "b"))))
    assert unfed.below[0].facts == (
        "phase L1",
        "fed from B",
        "has L1, which B lacks",
        "its feeds run in a ring: put that right",
    )


def test_list_of_a_chain_of_three_thousand_boards():
    boards = tuple(BoardNode(f"b{n}", f"Board {n}") for n in range(3000))
    feeds = tuple(FeedEdge(f"b{n}", None, f"b{n - 1}") for n in range(1, 3000))
    (unfed,) = as_list(SupplyGraph((), boards, feeds))
    depth, item = 0, unfed
    while item.below:
        (item,) = item.below
        depth += 1
    assert (depth, item.name) == (3000, "Board 2999")


@pytest.mark.parametrize(
    ("boards", "sources", "words"),
    [
        ("a", (), "1 supply, 1 board"),
        ("ab", (SourceNode("s", "battery", "Battery", "a"),), "1 supply, 2 boards, 1 second source"),
    ],
)
def test_summary_counts(boards, sources, words):
    assert summary(graph(boards, sources=sources)) == f"{words}. The same facts stand in a list beside the drawing."


def test_key_explains_only_the_signs_that_are_shown():
    assert key(graph("a", feed("o", "a"))) == ()
    assert key(graph("ab", feed("o", "a"), feed("a", "b", kind="alternative", verified=False))) == (
        "Dashed line: feed believed, not verified.",
        "Open contact on a line: alternative feed.",
    )
