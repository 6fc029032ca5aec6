"""The page of a visit, what is said of its time and what came of it, on a desk, on a phone, and by the customer."""

from datetime import timedelta

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from jobsite import clock
from jobsite.ids import new_id
from remedials.visits.operations import book_visit
from tests import factories as make
from tests.remedials.work import on_the_way

pytestmark = pytest.mark.django_db(transaction=True)


def booked(engineer, **more):
    """A visit of today to a house, for a remedial and its inspection."""
    site, now = make.make_site("Old Pottery"), clock.now()
    usual = {"start": now + timedelta(minutes=1), "end": now + timedelta(minutes=30), "despite": "It is urgent"}
    return book_visit(
        site, id=new_id(), remedials=[on_the_way("C2", site=site)], units=[make.unit_of(site)], engineers=[engineer],
        by=make.anybody("office"), now=now, outage="Board 1, the kitchen", **usual | more,
    )  # fmt: skip


@pytest.mark.parametrize("width", [1280, 390])
def test_the_office_asks_and_records(page_for, axe, office, engineer, width) -> None:
    visit = booked(engineer)
    page = page_for(office, width=width, height=844)
    for name in ("visit", "ask", "answered", "no_access", "settle", "diary_move"):
        page.goto(reverse(f"visits:{name}", args=[visit.pk]))
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= width
    page.goto(reverse("visits:visit", args=[visit.pk]))
    page.get_by_role("link", name="Record their answer").click()
    page.get_by_label("It suits").check()
    page.get_by_label("Who answered").fill("Petra Landlady")
    page.keyboard.press("Control+Enter")
    expect(page.get_by_text("Petra Landlady said it suits, by telephone")).to_be_visible()


@pytest.mark.parametrize("width", [1280, 390])
def test_the_customer_answers_without_javascript(page_for, axe, browser, live_server, engineer, width) -> None:
    start = clock.now() + timedelta(days=3)
    visit = booked(engineer, start=start, end=start + timedelta(hours=1))
    _, token = make.make_visit_link(visit, made_at=clock.now(), expires_at=start + timedelta(days=30))
    plain = browser.new_context(java_script_enabled=False, viewport={"width": width, "height": 844})
    page = plain.new_page()
    page.goto(f"{live_server.url}/v/{token}/")
    page.get_by_label("It does not").check()
    page.get_by_label("Your name").fill("Petra Landlady")
    page.get_by_role("button", name="Send the answer").click()
    expect(page.get_by_text("Say why, or which times would suit.")).to_be_visible()
    expect(page.get_by_label("Your name")).to_have_value("Petra Landlady")
    page.get_by_label("If not, why").fill("Not before ten")
    page.get_by_role("button", name="Send the answer").click()
    expect(page.get_by_text("this time does not suit")).to_be_visible()
    plain.close()
    seen = page_for(engineer, width=width, height=844)
    seen.goto(reverse("visits:asked", args=[token]))
    axe(seen)
    assert seen.evaluate("document.documentElement.scrollWidth") <= width
