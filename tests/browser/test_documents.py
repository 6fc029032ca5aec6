"""Printing a chart and labels, leaving a danger notice, and the list of locks: at the desk and on a phone."""

import os

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspections.models import MadeSafe
from tests import factories as make
from tests.factories import NOON, TODAY

SHOTS = os.environ.get("SHOTS", "")  # a folder to keep pictures of each page in, for whoever looks at them
SEEN = {"verified_how": "traced", "verified_on": TODAY}


def look(page, axe, name: str) -> None:
    """No complaint of axe, nothing wider than the window."""
    axe(page)
    if SHOTS:
        page.screenshot(path=f"{SHOTS}/{name}-{page.viewport_size['width']}.png", full_page=True, caret="initial")
    width = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
    assert width[0] <= width[1], page.url


def fetched(page, link: str) -> bytes:
    """The file that a link leads to, as this person gets it."""
    response = page.request.get(page.get_by_role("link", name=link).first.get_attribute("href"))
    assert response.headers["content-type"] == "application/pdf"
    return response.body()


@pytest.fixture
def danger(db):
    """A C1 on a board with PV, one like it that is locked off."""
    site = make.make_site("Sample Yard", phases=("L1", "L2", "L3"))
    board = make.make_board(site, "Workshop board")
    for way in range(1, 7):
        make.make_circuit(board, way, designation=f"Sockets, bay {way}", **(SEEN if way % 3 else {}))
    make.make_second_source(board, isolate_supply_side="the switch beside it")
    held = make.make_observation(site, "Terminals can be touched", code="C1", board=board, made_safe=True)
    MadeSafe.objects.create(
        observation=held, how="locked", what="way 3 off", agreed_with="P", lock="14", key_holder="Dirk Achterberg",
        at=NOON, by=make.anybody(), look_again_on=TODAY,
    )  # fmt: skip
    return make.make_observation(site, "Cover of the hoist isolator missing", code="C1", board=board)


@pytest.mark.parametrize("width", [1280, 390])
def test_documents_of_a_board(page_for, engineer, danger, axe, width):
    page = page_for("engineer", width=width)
    page.goto(reverse("premises:board", args=[danger.board_id]))
    page.get_by_role("link", name="Chart and labels").click()
    look(page, axe, "documents-empty")
    page.get_by_role("link", name="Make a circuit chart").click()
    look(page, axe, "chart")
    page.get_by_label("A5, half of it").check()
    page.get_by_role("button", name="Make the chart").click()
    page.get_by_role("link", name="Labels for circuits").click()
    look(page, axe, "labels")
    page.get_by_role("button", name="Make the labels").click()
    page.get_by_role("link", name="Warning: more than one source").click()
    look(page, axe, "two-sources")
    page.get_by_role("button", name="Make the labels").click()
    look(page, axe, "documents")
    for link in ("PDF of the Circuit chart", "PDF of the Labels for circuits", "PDF of the Warning"):
        assert fetched(page, link).startswith(b"%PDF")


@pytest.mark.parametrize("width", [1280, 390])
def test_danger_notice_is_left_and_answered(page_for, engineer, danger, axe, width):
    page = page_for("engineer", width=width)
    page.goto(reverse("inspections:notice", args=[danger.pk]))
    page.get_by_label("Why it is dangerous").fill("Live terminals can be touched.")
    page.get_by_label("What was advised").fill("Leave it off.")
    page.get_by_label("Given to").fill("Petra Landlady")
    page.get_by_role("button", name="Notice given").click()
    page.get_by_role("heading", name="Answer to danger notice").wait_for()
    look(page, axe, "notice-given")
    assert fetched(page, "PDF to hand over").startswith(b"%PDF")
    page.get_by_label("refused").check()
    page.get_by_label("What they said").fill("Needs the hoist.")
    page.get_by_role("button", name="Save").click()
    page.get_by_text("Refused,").wait_for()
    look(page, axe, "observation")
    page.goto(reverse("inspections:locks_at", args=[danger.site_id]))
    expect(page.get_by_role("cell", name="Dirk Achterberg")).to_be_visible()
    look(page, axe, "locks")
