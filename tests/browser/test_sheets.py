"""Calendar addresses, what to bring and parts to come, on a desk and on a phone, looked over by axe."""

from datetime import timedelta

import pytest
from playwright.sync_api import expect

from jobsite import clock
from remedials.visits.models import Feed
from tests import factories as make
from tests.browser.conftest import look
from tests.remedials.test_visits_feeds import book
from tests.remedials.work import on_the_way

pytestmark = pytest.mark.django_db(transaction=True)


def booked(engineer, office):
    """A visit today with something to bring."""
    now = clock.now()
    remedial = on_the_way("C2", site=make.make_site("Old Pottery with a rather long name, at the far end of the yard"))
    make.make_item(remedial, "Consumer unit, 10 ways, with surge protection", supplier="Able Wires", reference="CU-10")
    make.make_item(remedial, "Step ladder", kind="access")
    span = {"start": now + timedelta(minutes=1), "end": now + timedelta(minutes=3)}
    return book(remedial, engineer, by=office, now=now, **span)


def fits(page) -> bool:
    return page.evaluate("document.documentElement.scrollWidth") <= page.viewport_size["width"]


def test_an_engineer_puts_visits_on_the_phone(page_for, axe, engineer) -> None:
    page = page_for(engineer, width=390, height=844)
    page.goto("/my-day/")
    page.get_by_role("link", name="On your phone").click()
    expect(page.get_by_text("You have no calendar address yet")).to_be_visible()
    axe(page)
    page.get_by_role("button", name="Make your address").press("Enter")
    expect(page.locator("code")).to_contain_text("/calendar/")
    axe(page)
    assert fits(page)
    look(page, "calendar-made-390")
    page.get_by_role("link", name="Go on").click()
    expect(page.get_by_text("You have an address")).to_be_visible()
    look(page, "my-calendar-390")
    axe(page)
    page.get_by_role("button", name="Withdraw it").click()
    expect(page.get_by_text("it opens nothing any more")).to_be_visible()
    assert Feed.objects.filter(withdrawn_at=None).count() == 0


@pytest.mark.parametrize("width", [1280, 390])
def test_the_office_looks_over_addresses_and_parts(page_for, axe, office, engineer, width) -> None:
    remedial = on_the_way("C1", parts_ready_on=clock.local_day(clock.now()) + timedelta(days=9))
    make.make_item(remedial, "Surge protection", supplier="Able Wires", reference="SPD-2")
    page = page_for(office, width=width)
    for address, words in (("/calendar-addresses/", engineer.name), ("/remedials/parts/", "Surge protection")):
        page.goto(address)
        expect(page.get_by_role("main")).to_contain_text(words)
        axe(page)
        assert fits(page)
        look(page, f"{address.strip('/').replace('/', '-')}-{width}")


@pytest.mark.parametrize("width", [1280, 390])
def test_what_to_bring(page_for, axe, office, engineer, width) -> None:
    visit = booked(engineer, office)
    page = page_for(engineer, width=width)
    page.goto(f"/visits/{visit.pk}/")
    expect(page.get_by_role("link", name="Job sheet")).to_be_visible()
    look(page, f"visit-{width}")
    page.get_by_role("link", name="What to bring").click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("What to bring to visit")
    axe(page)
    assert fits(page)
    look(page, f"bring-{width}")
    page.goto("/my-day/bring/")
    expect(page.get_by_role("main")).to_contain_text("Consumer unit")
    axe(page)
    assert fits(page)
    look(page, f"bring-day-{width}")
