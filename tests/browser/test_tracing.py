"""Finding what feeds two boards by switching off, with a phone in front of them and at the desk afterwards."""

import os

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from jobsite.premises.models import SwitchingTest
from tests import factories as make
from tests.browser.kept_pages import until_typed

SHOTS = os.environ.get("SHOTS", "")  # a folder to keep pictures of each page in, for whoever looks at them


def look(page, axe, name: str) -> None:
    """No complaint of axe, nothing wider than the window."""
    axe(page)
    if SHOTS:
        page.screenshot(path=f"{SHOTS}/{name}-{page.viewport_size['width']}.png", full_page=True, caret="initial")
    width = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
    assert width[0] <= width[1], page.url


@pytest.fixture
def mill(db):
    """An intake board that is verified, and four boards of which nobody knows what feeds them."""
    site = make.make_site("Lower Mill", phases=("L1", "L2", "L3"))
    intake = make.make_board(site, "Intake board", place="Under the stairs")
    for number in range(1, 7):
        make.make_circuit(intake, number, phase="3", arrangement="distribution")
    boards = {name: make.make_board(site, name, fed=False, place=place) for name, place in PLACES.items()}
    for board in boards.values():
        make.make_circuit(board, 1, phase="L1", designation="Lights")
        make.make_circuit(board, 2, phase="3", designation="Onward")
    make.make_circuit(boards["Cold store"], 3, phase="L1", designation="Freezer", must_not_lose_power="freezer")
    return site


PLACES = {"Cold store": "Yard", "Loft": "", "Paint shop": "Old wing", "Workshop": "Ground floor"}


def name_candidates(page, site, board: str, *ways: tuple[str, str]) -> None:
    page.goto(reverse("premises:candidates", args=[site.boards.get(designation=board).pk]))
    for head, label in ways:
        group = page.locator("details", has=page.locator("summary", has_text=head))
        if group.get_attribute("open") is None:
            group.locator("summary").click()
        group.get_by_label(label).check()
    page.get_by_role("button", name="Name these").click()
    page.get_by_role("heading", name="What feeds each board").wait_for()


def test_find_what_feeds_the_boards(page_for, engineer, mill, axe):
    desk = page_for("engineer")
    desk.goto(reverse("premises:tracing", args=[mill.pk]))
    look(desk, axe, "tracing-unknown")
    desk.goto(reverse("premises:candidates", args=[mill.boards.get(designation="Loft").pk]))
    look(desk, axe, "candidates")
    name_candidates(desk, mill, "Workshop", ("Intake board", "any of these 6 ways"))
    name_candidates(desk, mill, "Paint shop", ("Intake board", "any of these 6 ways"), ("Workshop", "2 · "))
    name_candidates(desk, mill, "Cold store", ("Intake board", "1 · "), ("Intake board", "2 · "))
    look(desk, axe, "tracing-open")

    phone = page_for("engineer", width=390)
    phone.goto(reverse("premises:tracing", args=[mill.pk]))
    look(phone, axe, "tracing-open")
    phone.get_by_role("link", name="Note a switching test").click()
    look(phone, axe, "switching-device")
    phone.get_by_label("Device").select_option(label="Intake board, way 3 · B32")
    phone.get_by_role("button", name="Go on").click()
    phone.get_by_role("button", name="Note what was seen").click()
    expect(phone.get_by_text("Say of one board at least whether it was dead or alive.")).to_be_visible()
    phone.get_by_role("group", name="Workshop, Ground floor").get_by_text("Dead").click()
    phone.get_by_role("group", name="Paint shop, Old wing").get_by_text("Dead").click()
    phone.get_by_role("group", name="Cold store, Yard").get_by_text("Alive").click()
    look(phone, axe, "switching")
    until_typed(phone, "alive")
    phone.reload()  # typed on the way, not sent yet: it is still there
    expect(phone.get_by_role("group", name="Paint shop, Old wing").get_by_label("Dead")).to_be_checked()
    phone.get_by_role("button", name="Note what was seen").click()
    phone.get_by_role("heading", name="Certain and seen · 1").wait_for()
    look(phone, axe, "tracing-certain")
    phone.get_by_role("button", name="Record as verified").click()
    phone.get_by_text("Recorded as verified: switched off and seen.").wait_for()
    assert mill.boards.get(designation="Workshop").feeds.get().verified

    make.make_switching_test(
        mill.circuits.get(board__designation="Intake board", way=3), alive=mill.boards.filter(designation="Workshop")
    )
    desk.goto(reverse("premises:tracing", args=[mill.pk]))
    look(desk, axe, "tracing-clash")
    phone.goto(reverse("premises:tracing", args=[mill.pk]))
    look(phone, axe, "tracing-clash")


def test_dead_with_the_only_feed_named(page_for, engineer, mill, axe):
    loft, way = mill.boards.get(designation="Loft"), mill.circuits.get(board__designation="Intake board", way=5)
    make.make_feed(loft, way, verified=False)
    make.make_switching_test(way, dead=[loft])
    for width in (1280, 390):
        page = page_for("engineer", width=width)
        page.goto(reverse("premises:tracing", args=[mill.pk]))
        page.get_by_role("heading", name="Went dead with the only feed named · 1").wait_for()
        look(page, axe, "tracing-alone")
    page.get_by_role("button", name="Record as verified").click()
    page.get_by_text("Recorded as verified: switched off and seen.").wait_for()
    assert loft.feeds.get().proven


def test_a_second_test_of_the_same_device_on_the_same_day_is_kept_too(page_for, engineer, mill):
    phone = page_for("engineer", width=390)
    device = mill.circuits.get(board__designation="Intake board", way=3)
    for board, place in (("Workshop", "Ground floor"), ("Paint shop", "Old wing")):
        phone.goto(reverse("premises:switching_new", args=[mill.pk]))
        phone.get_by_label("Device").select_option(label="Intake board, way 3 · B32")
        phone.get_by_role("button", name="Go on").click()
        assert not phone.get_by_role("group", name="Workshop, Ground floor").get_by_label("Dead").is_checked()
        phone.get_by_role("group", name=f"{board}, {place}").get_by_text("Dead").click()
        phone.get_by_role("button", name="Note what was seen").click()
        phone.get_by_role("heading", name="What feeds each board").wait_for()
    assert SwitchingTest.objects.filter(off_circuit=device).count() == 2
