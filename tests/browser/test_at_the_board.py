"""In front of a board with a phone: way after way by tapping, a slip taken back; the labels of the site at the desk."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from tests import factories as make
from tests.browser.test_premises import look


@pytest.fixture
def board(db):
    site = make.make_site("Kiln Row")
    hall = make.make_board(site, "Hall", place="under the stairs", label_found="Kitchen")
    unseen = {"designation": "", "verified_how": "", "verified_on": None}
    for way, label in ((1, "Cooker"), (2, "Sockets"), (4, "sockets"), (5, "")):
        make.make_circuit(hall, way, label_found=label, **unseen)
    make.make_circuit(hall, 6, label_found="", spare=True, **unseen)
    make.make_feed(make.make_board(site, "Shed", fed=False), hall.circuits.get(way=2), verified=False)
    return hall


def known_by(page, how: str) -> None:
    page.get_by_label("How do you know what a way is?").select_option(how)


def test_ways_are_verified_by_tapping(page_for, engineer, board, axe) -> None:
    page = page_for("engineer", width=390)
    page.goto(reverse("premises:at_the_board", args=[board.pk]))
    look(page, axe, "at-the-board")
    known_by(page, "switched off and seen")
    page.get_by_role("button", name="It is what the label says on way 1L1").click()
    page.get_by_text("1 of 4 ways verified").wait_for()
    page.get_by_text("verified by Edwin Wireman").first.wait_for()
    page.locator("#rows > li").nth(1).locator("summary", has_text="Say what it is").click()
    look(page, axe, "at-the-board-saying")
    page.locator("#rows > li").nth(1).get_by_label("What it is").fill("Feed to the shed")
    page.locator("#rows > li").nth(1).get_by_role("button", name="Verified", exact=True).click()
    page.get_by_text("2 of 4 ways verified").wait_for()
    look(page, axe, "at-the-board-verified")
    page.get_by_role("button", name="Take this back on way 2L1").click()
    page.get_by_text("1 of 4 ways verified").wait_for()
    known_by(page, "told, not seen: believed only")
    expect(page.get_by_text("What you were told is no proof")).to_be_visible()
    page.get_by_role("button", name="It is what the label says on way 4L1").click()
    page.get_by_text("told, not seen: believed, noted by Edwin Wireman").wait_for()
    expect(page.get_by_text("1 of 4 ways verified")).to_be_visible()
    look(page, axe, "at-the-board-told")


def test_labels_that_disagree(page_for, office, board, axe) -> None:
    for width in (1280, 390):
        page = page_for("office", width=width)
        page.goto(reverse("desk:site", args=[board.site_id]))
        page.get_by_role("link", name="labels that disagree: 4").click()
        page.get_by_role("heading", name="Labels that disagree").wait_for()
        look(page, axe, "labels")
