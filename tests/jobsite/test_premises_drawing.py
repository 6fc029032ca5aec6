"""The supply drawing's geometry: nothing overlaps, every feed has its line, words fit into what is kept for them."""

import re
from itertools import combinations

from defusedxml.ElementTree import fromstring
from hypothesis import given

from jobsite.premises.drawing import draw
from jobsite.premises.drawing.boxes import GRID, PAD
from jobsite.premises.drawing.columns import CONTACT
from jobsite.premises.drawing.lines import line
from jobsite.premises.drawing.svg import _Drawing
from jobsite.premises.drawing.text import shorten, width
from jobsite.premises.graph import BoardNode, Origin, SupplyGraph
from tests.jobsite.supply_cases import boatyard, edge, graphs, marked

SVG = "{http://www.w3.org/2000/svg}"


def rectangles(drawing: _Drawing) -> list[tuple[int, int, int, int]]:
    """Left, top, right, bottom of every box."""
    left = drawing.columns.left
    return [(left[b.column], b.top, left[b.column] + b.width, b.bottom) for b in drawing.boxes]


def stretches(drawing: _Drawing, number: int) -> list[tuple[float, float, float, float]]:
    """The straight pieces of one line, read from what is written, as left, top, right, bottom."""
    written = "".join(line(drawing.edges[number], drawing.columns, "x"))
    pieces = []
    for path in re.findall(r'class="feed[^"]*" d="([^"]+)"', written):
        x = y = 0.0
        for command, numbers in re.findall(r"([MHV])([-\d. ]+)", path):
            before, values = (x, y), [float(n) for n in numbers.split()]
            x, y = {"M": lambda v: (v[0], v[1]), "H": lambda v, y=y: (v[0], y), "V": lambda v, x=x: (x, v[0])}[command](
                values
            )
            if command != "M":
                pieces.append((min(before[0], x), min(before[1], y), max(before[0], x), max(before[1], y)))
    return pieces


def share_ground(one, other) -> bool:
    """Whether two upright rectangles, either of which may be a line, share more than an edge."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def lie_on_each_other(one, other) -> bool:
    """Whether two level or two upright pieces run along each other."""
    level = one[1] == one[3] == other[1] == other[3] and one[0] < other[2] and other[0] < one[2]
    upright = one[0] == one[2] == other[0] == other[2] and one[1] < other[3] and other[1] < one[3]
    return level or upright


@given(marked())
def test_no_two_boxes_overlap(case):
    boxes = rectangles(_Drawing(*case, "x"))
    assert [pair for pair in combinations(boxes, 2) if share_ground(*pair)] == []


@given(graphs())
def test_every_feed_has_a_line_from_its_feeder_to_its_board(graph):
    drawing = _Drawing(graph, {}, "x")
    boxes = {box.id: box for box in drawing.boxes}
    left = drawing.columns.left
    assert len(drawing.edges) == len(graph.feeds) + len(graph.sources)
    for number, feed in enumerate(graph.feeds):
        pieces, child, feeder = stretches(drawing, number), boxes[feed.child], boxes[feed.feeder]
        contact = CONTACT if feed.kind == "alternative" else 0
        assert pieces[-1][2] == left[child.column] - contact
        assert child.top < pieces[-1][1] < child.bottom
        assert left[feeder.column] < pieces[0][0] <= left[feeder.column] + feeder.width
        assert feeder.top < pieces[0][1] < feeder.bottom


@given(graphs())
def test_lines_run_past_boxes_never_through_them(graph):
    drawing = _Drawing(graph, {}, "x")
    boxes = [(box.id, box.kind, area) for box, area in zip(drawing.boxes, rectangles(drawing), strict=True)]
    for number, drawn in enumerate(drawing.edges):
        own_origin = drawn.src.id if drawn.src.kind == "origin" else None  # its line passes above its words
        through = [
            (name, piece)
            for piece in stretches(drawing, number)
            for name, _, area in boxes
            if name != own_origin and share_ground(piece, area)
        ]
        assert through == []


@given(graphs())
def test_lines_of_different_feeders_never_lie_on_each_other(graph):
    drawing = _Drawing(graph, {}, "x")
    pieces = [(e.src.id, p) for n, e in enumerate(drawing.edges) for p in stretches(drawing, n)]
    on_one_another = [
        (one, other)
        for (feeder, one), (another, other) in combinations(pieces, 2)
        if feeder != another and lie_on_each_other(one, other)
    ]
    assert on_one_another == []


@given(marked())
def test_words_fit_into_what_is_reserved(case):
    drawing = _Drawing(*case, "x")
    for box in drawing.boxes:
        for row in box.lines:
            written = row.shortened(box.room)
            assert box.indent + width(written, row.size, bold=row.bold) <= box.width - PAD
    for drawn in drawing.edges:
        channel = drawn.dst.column - 1
        written = shorten(drawn.label, drawing.columns.label_room[channel], 11)
        end = drawing.columns.first_label[channel] + width(written, 11)
        contact = CONTACT if drawn.alternative else 0
        assert end <= drawing.columns.left[channel + 1] - contact


@given(marked())
def test_panels_stand_inside_their_board_below_its_words(case):
    graph, marks = case
    root = fromstring(draw(graph, marks))
    for box in root.iter(f"{SVG}a"):
        board = box.find(f"{SVG}rect")
        last_words = max(int(text.get("y")) for text in box.findall(f"{SVG}text"))
        for panel in box.findall(f"{SVG}g"):
            x, y = map(int, re.findall(r"-?\d+", panel.get("transform")))
            rect = panel.find(f"{SVG}rect")
            assert x + int(rect.get("width")) <= int(board.get("width"))
            assert last_words < y + 2
            assert y + int(rect.get("height")) <= int(board.get("height"))


def test_boards_stand_in_columns_by_distance():
    drawing = _Drawing(boatyard(), {}, "x")
    columns = {box.id: box.column for box in drawing.boxes}
    assert columns == {"o1": 0, "b1": 1, "b2": 2, "b3": 2, "b4": 2, "b5": 2, "b6": 3, "b7": 3, "s1": 3}
    edges = [drawing.columns.left[n] for n in range(4)]
    assert edges == sorted(edges)


def test_first_board_of_every_feeder_is_level_with_it():
    tops = {box.id: box.top for box in _Drawing(boatyard(), {}, "x").boxes}
    assert tops["o1"] == tops["b1"] == tops["b2"] == tops["s1"] == 0
    assert tops["b3"] == tops["b6"]


def test_boards_nothing_feeds_stand_apart_under_a_heading():
    graph = SupplyGraph(
        (Origin("o1", "Supply"),),
        tuple(BoardNode(f"b{n}", f"Board {n}") for n in range(7)),
        (edge("o1", "b0"), edge("b1", "b2")),
    )
    drawing = _Drawing(graph, {}, "x")
    heading = drawing.layout.heading
    assert "No feed recorded that joins these boards to a supply: 6" in draw(graph)
    tops = {box.id: box.top for box in drawing.boxes}
    assert tops["b0"] + 2 * GRID <= heading
    assert all(tops[f"b{n}"] > heading for n in range(1, 7))
    assert tops["b3"] == tops["b4"] == tops["b5"] == tops["b6"] > tops["b1"]


def test_branches_have_dots_and_crossings_none():
    assert draw(boatyard()).count('class="dot"') == 4  # three of the intake's four, one of the hoist's two
