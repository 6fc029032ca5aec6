"""The supply drawing in a real browser: its words stay inside what the server kept for them, and axe is content."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from django.contrib.staticfiles import finders
from django.template.loader import render_to_string
from playwright.sync_api import Browser, Page, expect

from jobsite.premises.drawing import drawing_parts
from jobsite.premises.graph import BoardNode, FeedEdge, Mark, SupplyGraph
from tests.jobsite.supply_cases import boatyard

MARKS = {
    "b1": [Mark("C2", 1)],
    "b3": [Mark("C1", 1, made_safe=True), Mark("C2", 3)],
    "b5": [Mark("C3", 2)],
    "b7": [Mark("C1", 1), Mark("C2", 11), Mark("FI", 1), Mark("C3", 2), Mark("FI", 2, made_safe=True)],
}
PAGE = """<!doctype html><html lang="en-GB"><head><title>Boatyard</title>
<meta name="viewport" content="width=device-width"></head><body><main><h1>Boatyard</h1>{}</main></body></html>"""

# Words that end to the right of the box, or of the room for labels, that they stand in.
TOO_WIDE = """() => [...document.querySelectorAll('.drawing text')].filter(text => {
    const frame = text.parentElement.querySelector(':scope > rect.board, :scope > rect.panel');
    const line = text.parentElement.querySelector(':scope > path.feed');
    if (!frame && !line) return false;
    const end = (frame || line).getBoundingClientRect().right;
    return text.getBoundingClientRect().right > end - 2;
}).map(text => text.textContent)"""


def long_names() -> SupplyGraph:
    """Boards whose names are as wide as letters come, and long."""
    words = (
        "WMWMWMWM WMWMWMWM",
        "mmmmmmmm wwwwwwww mmmmm",
        "Switch room 2, east wing, upper floor",
        "ÄÖÜÉ 0123456789 ÅØ",
    )
    boards = tuple(
        BoardNode(f"b{n}", name, place=name, label_found=name[::-1], href="#") for n, name in enumerate(words)
    )
    feeds = tuple(FeedEdge(f"b{n}", None, "b0", f"way {name}") for n, name in enumerate(words) if n)
    return SupplyGraph((), boards, feeds)


@pytest.fixture
def shown(browser: Browser) -> Iterator[Callable[..., Page]]:
    """Show a graph's drawing as its fragment gives it, with the shell's sheet and its own."""
    contexts = []

    def show(graph: SupplyGraph, *, width: int = 1280, **more) -> Page:
        contexts.append(browser.new_context(viewport={"width": width, "height": 800}, **more))
        page = contexts[-1].new_page()
        page.set_content(
            PAGE.format(render_to_string("premises/_drawing.html", {"drawing": drawing_parts(graph, MARKS)}))
        )
        for sheet in ("shell", "drawing"):
            page.add_style_tag(content=Path(finders.find(f"jobsite/{sheet}.css")).read_text())
        return page

    yield show
    for context in contexts:
        context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [390, 1280])
def test_axe_finds_nothing(shown, axe, scheme, width):
    page = shown(boatyard(), width=width, color_scheme=scheme)
    assert page.locator(".drawing a").count() == 7
    axe(page)


@pytest.mark.parametrize("graph", [boatyard, long_names])
def test_words_stay_inside_what_is_kept_for_them(shown, graph):
    page = shown(graph())
    assert page.locator(".drawing text").count() > 10
    assert page.evaluate(TOO_WIDE) == []


def test_phone_shows_the_list_first_and_the_desk_on_asking(shown):
    phone = shown(boatyard(), width=390)
    expect(phone.locator(".supply-list a").first).to_be_visible()
    below = "() => document.querySelector('.drawing').getBoundingClientRect().top"
    assert phone.evaluate(below) > phone.locator(".supply-list").bounding_box()["y"]
    desk = shown(boatyard())
    expect(desk.locator(".supply-list a").first).to_be_hidden()
    desk.get_by_text("The same as a list").click()
    expect(desk.locator(".supply-list a").first).to_be_visible()


def test_drawing_keeps_its_scale_and_scrolls_in_its_own_box(shown):
    page = shown(boatyard(), width=390)
    assert page.evaluate("() => document.querySelector('.drawing').getBoundingClientRect().width") > 900
    assert page.evaluate("() => document.documentElement.scrollWidth") == 390


def tall() -> SupplyGraph:
    """Sixty boards of which each feeds four others."""
    boards = tuple(BoardNode(f"b{n}", f"Board {n}", place=f"riser {n}", href="#") for n in range(60))
    return SupplyGraph(
        (),
        boards,
        tuple(FeedEdge(f"b{n}", None, f"b{(n - 1) // 4}", f"way {n}L3 · BS 88-3 63 A") for n in range(1, 60)),
    )


def test_on_paper_a_tall_drawing_stands_in_parts_that_each_go_on_a_sheet(shown, axe):
    page = shown(tall())
    axe(page)
    expect(page.locator(".part").first).to_be_hidden()
    page.emulate_media(media="print")
    page.set_viewport_size({"width": 1047, "height": 718})  # A4 lying across, without its margins, at 96 pixels an inch
    parts = page.locator(".part").evaluate_all(
        "all => all.map(part => [part.getBoundingClientRect().height, part.querySelector('use').getBBox().height])"
    )
    assert len(parts) > 2
    assert all(height <= 718 and drawn > 1000 for height, drawn in parts)
    assert page.locator(".drawing-box").bounding_box()["height"] == 0
    assert page.locator(".part text").count() == 0  # nothing is said twice to whoever reads the page


def test_on_a_phone_a_tall_drawing_takes_no_more_than_a_screen(shown):
    page = shown(tall(), width=390)
    assert page.locator(".drawing-box").bounding_box()["height"] <= 0.86 * 800
    assert page.locator(".drawing-box").evaluate("box => box.scrollHeight > 2000")


def test_keyboard_reaches_a_board_and_shows_where_it_is(shown):
    page = shown(boatyard())
    page.locator(".drawing a").first.focus()
    page.keyboard.press("Tab")
    width = "() => getComputedStyle(document.activeElement.querySelector('.board')).strokeWidth"
    assert page.evaluate("() => document.activeElement.id") == "supply-b2"
    assert page.evaluate(width) == "4px"
