"""The supply drawing as it is written: well formed, escaped, legible without colour, and the same in words."""

import re
import string
from collections import Counter
from itertools import pairwise

import pytest
from defusedxml.ElementTree import fromstring
from django.template.loader import render_to_string
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont

from jobsite.premises.drawing import draw, drawing_list, drawing_parts
from jobsite.premises.drawing.paper import parts, tallest
from jobsite.premises.drawing.svg import _Drawing
from jobsite.premises.drawing.text import fold, safe, shorten, width, wrap
from jobsite.premises.graph import BoardNode, BorrowedLink, FeedEdge, Mark, Origin, SourceNode, SupplyGraph
from tests.jobsite.supply_cases import WORDS, boatyard, edge, marked

SVG = "{http://www.w3.org/2000/svg}"
ANY_TEXT = st.text(st.characters(codec=None), max_size=30)


def texts(element) -> list[str]:
    """The words shown in an element, titles left out, as they follow each other."""
    return [text.text for text in element.iter(f"{SVG}text")]


def board(svg: str, board_id: str):
    """The element of one board."""
    return next(e for e in fromstring(svg).iter() if e.get("id") == f"supply-{board_id}")


def drawn_with(*marks: Mark):
    """The panels on a board with these open items."""
    graph = SupplyGraph((), (BoardNode("b1", "Hall"),))
    return [g for g in board(draw(graph, {"b1": marks}), "b1") if (g.get("class") or "").startswith("mark")]


# --- well formed ------------------------------------------------------------------------------------------------------


@given(marked(), ANY_TEXT, ANY_TEXT)
def test_any_words_make_well_formed_svg_with_every_id_once(case, title, description):
    graph, marks = case
    root = fromstring(draw(graph, marks, title, description))
    ids = Counter(element.get("id") for element in root.iter() if element.get("id"))
    expected = {"supply-title", "supply-desc", *(f"supply-feed-{n}" for n in range(1, len(graph.feeds) + 1))}
    expected |= {f"supply-{thing.id}" for thing in (*graph.origins, *graph.boards, *graph.sources)}
    expected |= {f"supply-tail-{source.id}" for source in graph.sources}
    expected |= {"supply-all"} if drawing_parts(graph, marks)["paper"] else set()
    assert ids == Counter(expected)


@given(marked())
def test_any_words_make_a_well_formed_list(case):
    graph, marks = case
    root = fromstring(drawing_list(graph, marks))
    assert len(list(root.iter("a"))) == len(graph.boards)
    assert len(list(root.iter("li"))) >= len(graph.origins) + len(graph.boards) + len(graph.sources)


@given(ANY_TEXT)
def test_safe_words_are_read_back_as_they_were_but_for_what_xml_forbids(text):
    kept = re.sub("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]", "\ufffd", text)
    assert (fromstring(f'<a b="{safe(text)}">{safe(text)}</a>').text or "") == " ".join(kept.split())


def test_markup_in_names_stays_words():
    graph = SupplyGraph(
        (Origin("o1", "<script>alert(1)</script>"),),
        (BoardNode("b1", '"><b>&amp;', href='/x?a=1&b="2"'),),
        (edge("o1", "b1", "<i>way</i>"),),
    )
    for written in (draw(graph), drawing_list(graph)):
        assert not re.search(r"<(script|b|i)>", written)
    link = board(draw(graph), "b1")
    assert (link.get("href"), texts(link)) == ('/x?a=1&b="2"', ['"><b>&amp;'])


def test_no_style_or_colour_is_written_into_the_drawing():
    """The content policy forbids the one, the dark scheme the other."""
    svg = draw(boatyard(), {"b1": [Mark("C1"), Mark("C2", 1, made_safe=True)]})
    assert set(re.findall(r' (style|stroke|on\w+|fill)="([^"]*)"', svg)) == {("fill", "none")}


def test_same_graph_gives_the_same_bytes():
    assert draw(boatyard()) == draw(boatyard())


def test_prefix_keeps_two_drawings_on_a_page_apart():
    ids = [set(re.findall(r' id="([^"]+)"', draw(boatyard(), prefix=prefix))) for prefix in ("now", "then")]
    assert ids[0] & ids[1] == set()


def test_drawing_names_and_describes_itself():
    root = fromstring(draw(boatyard(), title="How it is supplied", description="Seven boards"))
    words = {element.get("id"): element.text for element in root if element.get("id")}
    assert (words[root.get("aria-labelledby")], words[root.get("aria-describedby")]) == (
        "How it is supplied",
        "Seven boards",
    )


def test_nothing_recorded_says_so():
    assert texts(fromstring(draw(SupplyGraph()))) == ["No board recorded yet"]


# --- what it says -----------------------------------------------------------------------------------------------------


def test_board_says_name_phases_place_label_and_borrowed_neutral():
    assert texts(board(draw(boatyard()), "b3")) == [
        "Slip hoist",
        "3-ph",
        "labelled “old crane”",
        "3L2 shares a neutral with",
        "Chandlery 2L2",
    ]


def test_unverified_name_stands_in_quotes():
    assert texts(board(draw(boatyard()), "b5")) == ["“Café”", "L3"]


def test_boards_link_to_their_pages_and_give_all_their_words_as_title():
    link = board(draw(boatyard(), {"b2": [Mark("C2", 3)]}), "b2")
    assert (link.tag, link.get("href")) == (f"{SVG}a", "/boards/2/")
    assert link.find(f"{SVG}title").text == "Workshop, 3-ph, by the roller door, open: C2 ×3"


def test_lines_are_dashed_only_where_the_feed_is_believed():
    root = fromstring(draw(boatyard()))
    lines = {g.get("id"): [p.get("class") for p in g.iter(f"{SVG}path")] for g in root.iter(f"{SVG}g") if g.get("id")}
    assert lines["supply-feed-6"] == ["feed"]
    assert lines["supply-feed-7"] == ["feed believed"]
    assert lines["supply-feed-8"] == ["contact", "feed"]


def test_line_says_way_and_title_says_all():
    root = fromstring(draw(boatyard()))
    line = next(g for g in root.iter(f"{SVG}g") if g.get("id") == "supply-feed-8")
    assert texts(line) == ["alternative · way 9 · B32"]
    assert line.find(f"{SVG}title").text == "Pontoon B: alternative feed from Chandlery, way 9 · B32"


def test_long_words_are_shortened_and_whole_in_the_title():
    name = "Distribution board of the former boiler house behind the lower yard, second door"
    svg = draw(SupplyGraph((), (BoardNode("b1", name),)))
    shown = texts(board(svg, "b1"))
    assert shown[-1].endswith("…")
    assert name.startswith(" ".join(shown).removesuffix("…"))
    assert board(svg, "b1").find(f"{SVG}title").text == name


@pytest.mark.parametrize("kind", ["pv", "battery", "generator", "wind"])
def test_second_source_stands_in_a_double_border_and_says_what_it_is(kind):
    graph = SupplyGraph((), (BoardNode("b1", "Hall"),), sources=(SourceNode("s1", kind, "Unit 1", "b1"),))
    source = board(draw(graph), "s1")
    assert [rect.get("class") for rect in source.iter(f"{SVG}rect")] == ["source", "source"]
    words = {"pv": "solar"}.get(kind, kind)
    assert f"second source: {words}" in texts(source)


def test_symbols_of_second_sources_differ():
    def symbol(kind):
        graph = SupplyGraph((), (BoardNode("b1", "Hall"),), sources=(SourceNode("s1", kind, "Unit 1", "b1"),))
        return [path.get("d") for path in board(draw(graph), "s1").iter(f"{SVG}path")]

    assert len({tuple(symbol(kind)) for kind in ("pv", "battery", "generator")}) == 3


def wide_and_tall(count: int) -> SupplyGraph:
    """Boards of which each feeds four others."""
    boards = tuple(BoardNode(f"b{n}", f"Board {n}", place=f"riser {n}") for n in range(count))
    feeds = tuple(FeedEdge(f"b{n}", None, f"b{(n - 1) // 4}", f"way {n}") for n in range(1, count))
    return SupplyGraph((Origin("o", "Supply"),), boards, (FeedEdge("b0", "o"), *feeds))


def test_a_tall_drawing_is_printed_in_parts_that_cut_no_board():
    parts_of = drawing_parts(wide_and_tall(60))
    drawing = _Drawing(wide_and_tall(60), {}, "supply")
    cuts = [bottom for _, bottom in drawing.parts[:-1]]
    assert (len(cuts) > 1, drawing.parts[0][0], drawing.parts[-1][1]) == (True, drawing.top, drawing.bottom)
    assert [box.id for box in drawing.boxes for cut in cuts if box.top < cut < box.bottom] == []
    assert parts_of["svg"].count('id="supply-all"') == 1
    assert parts_of["paper"].count('<use href="#supply-all"/>') == len(drawing.parts)
    assert f"Drawing, part 1 of {len(drawing.parts)}" in parts_of["paper"]


@pytest.mark.parametrize("count", [1, 8])
def test_a_drawing_that_goes_on_one_sheet_is_printed_as_it_is(count):
    parts_of = drawing_parts(wide_and_tall(count))
    assert (parts_of["paper"], "supply-all" in parts_of["svg"]) == ("", False)


@given(
    st.lists(st.tuples(st.integers(0, 300), st.integers(2, 12)), max_size=60),
    st.integers(100, 3000),
    st.integers(0, 9000),
)
def test_parts_follow_each_other_and_go_on_a_sheet(boxes, wide, bottom):
    found = parts([(20 * at, 20 * (at + tall)) for at, tall in boxes], -16, bottom, wide)
    assert (found[0][0], found[-1][1]) == (-16, bottom)
    assert all(one[1] == other[0] for one, other in pairwise(found))
    assert all(0 < lower - upper <= tallest(wide) for upper, lower in found)


def test_retired_board_says_so():
    svg = draw(SupplyGraph((), (BoardNode("b1", "Hall", place="loft", retired=True),)))
    assert texts(board(svg, "b1")) == ["Hall", "retired · loft"]


# --- open items -------------------------------------------------------------------------------------------------------

# Letters always; colour by class; and a sign that a black-and-white print keeps (ISO 3864's idea, LOOK of this house).
SIGNS = {"C1": ("path", "sign"), "C2": ("path", "sign-line"), "FI": ("circle", "sign")}


@pytest.mark.parametrize("code", ["C1", "C2", "FI"])
def test_code_has_letters_class_and_sign(code):
    (panel,) = drawn_with(Mark(code, 4))
    assert (panel.get("class"), texts(panel)) == (f"mark {code.lower()}", [f"{code} ×4"])
    (sign,) = panel.find(f"{SVG}g")
    assert (sign.tag.removeprefix(SVG), sign.get("class")) == SIGNS[code]


def test_c3_has_no_sign():
    (panel,) = drawn_with(Mark("C3", 2))
    assert (panel.get("class"), texts(panel), len(panel.find(f"{SVG}g"))) == ("mark c3", ["C3 ×2"], 0)


@pytest.mark.parametrize("code", ["C1", "C2", "FI"])
def test_made_safe_is_held_with_a_padlock_and_the_words(code):
    (panel,) = drawn_with(Mark(code, 1, made_safe=True))
    assert (panel.get("class"), texts(panel)) == (f"mark {code.lower()} held", [f"{code} ×1 made safe"])
    assert [path.get("class") for path in panel.find(f"{SVG}g")] == ["sign", "sign-line"]


def test_worst_code_first_made_safe_after_open():
    marks = [Mark("C3"), Mark("FI"), Mark("C2"), Mark("C1", 1, made_safe=True), Mark("C1", 2)]
    shown = [texts(panel)[0] for panel in drawn_with(*marks)]
    assert shown == ["C1 ×2", "C1 ×1 made safe", "C2 ×1", "FI ×1", "C3 ×1"]


def test_unknown_code_is_shown_as_it_is():
    (panel,) = drawn_with(Mark("uncoded", 1))
    assert (panel.get("class"), texts(panel)) == ("mark other", ["uncoded ×1"])


# --- widths -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("character", [c for c in string.printable + "éÄñßΩµ°–—“”‘’…·×±½" if not c.isspace()])
def test_no_character_is_wider_than_estimated(character):
    """Against the advance widths of a real sans serif: the one that Pillow carries (tests/browser has the system's)."""
    font = ImageFont.load_default(100)
    assert font.getlength(character) <= width(character, 100)


@given(WORDS, st.integers(20, 400), st.sampled_from([11, 13]), st.booleans())
def test_shortened_words_fit_and_begin_as_the_whole_does(text, room, size, bold):
    short = shorten(text, room, size, bold=bold)
    assert width(short, size, bold=bold) <= room
    assert short == text or text.startswith(short.removesuffix("…"))


@given(WORDS, st.integers(15, 400))
def test_wrapped_words_fit_on_two_rows(text, room):
    rows = wrap(text, room, 11)
    assert len(rows) <= 2
    assert all(width(row, 11) <= room for row in rows)


def test_wrap_breaks_between_words():
    assert wrap("3L2 shares a neutral with Chandlery 2L2", 170, 11) == ["3L2 shares a neutral with", "Chandlery 2L2"]
    assert wrap("short", 170, 11) == ["short"]
    assert wrap("", 170, 11) == []


# --- list and page ----------------------------------------------------------------------------------------------------


def test_list_is_nested_as_the_boards_are_fed():
    graph = SupplyGraph(
        (Origin("o1", "Supply"),),
        (BoardNode("b1", "Intake", href="/b/1/"), BoardNode("b2", "Hall")),
        (edge("o1", "b1"), edge("b1", "b2", "way 2")),
    )
    assert drawing_list(graph) == (
        '<ul class="supply-list"><li><strong>Supply</strong><ul><li><a href="/b/1/">Intake</a>; fed from Supply'
        "<ul><li><strong>Hall</strong>; fed from Intake, way 2</li></ul></li></ul></li></ul>"
    )


def test_three_thousand_boards_in_a_chain_are_drawn_and_listed():
    boards = tuple(BoardNode(f"b{n}", "B") for n in range(3000))
    graph = SupplyGraph((), boards, tuple(FeedEdge(b.id, None, a.id) for a, b in pairwise(boards)))
    assert draw(graph).count('class="board"') == 3000
    assert drawing_list(graph).count("<li>") == 3001


def test_page_shows_drawing_list_key_and_caution():
    page = render_to_string("premises/_drawing.html", {"drawing": drawing_parts(boatyard())})
    root = fromstring(f"<page>{page}</page>")
    assert [link.get("href") for link in root.iter("a")] == [f"/boards/{n}/" for n in (1, 2, 3, 6, 7, 4, 5)]
    words = re.sub(r"\s+", " ", " ".join(text for p in root.findall("p") for text in p.itertext()))
    assert "Dashed line: feed believed, not verified." in words
    assert "prove dead with an approved tester proved before and after" in words


# --- what matters for isolation is never cut --------------------------------------------------------------------------


LONG = "DC isolator behind the battery cabinet on the landing, " * 3 + "M" * 60


def test_where_a_source_is_isolated_is_drawn_in_full():
    source = SourceNode("s1", "pv", "Solar", "b1", isolate=LONG, wait_minutes=15)
    svg = draw(SupplyGraph((), (BoardNode("b1", "Hall"),), (), (source,)))
    drawn = "".join(texts(board(svg, "s1"))).replace(" ", "")
    assert f"isolate: {LONG} · wait 15 min".replace(" ", "") in drawn


def test_a_shared_neutral_is_drawn_in_full():
    boards = (BoardNode("b1", "Hall"), BoardNode("b2", "Upper landing, east wing, riser cupboard beside the lift"))
    links = (BorrowedLink("b1", "3L2", "b2", "2L2"), BorrowedLink("b1", "4L1", "b2", "5L1"))
    drawn = "".join(texts(board(draw(SupplyGraph((), boards, (), (), links)), "b1"))).replace(" ", "")
    for here, there in (("3L2", "2L2"), ("4L1", "5L1")):
        assert f"{here} shares a neutral with {boards[1].name} {there}".replace(" ", "") in drawn


@given(ANY_TEXT, st.integers(8, 300))
def test_folded_text_loses_nothing_and_fits(text, room):
    lines = fold(text, room, 11)
    assert "".join(lines).replace(" ", "") == "".join(text.split())
    assert all(width(line, 11) <= room or len(line) == 1 for line in lines)
