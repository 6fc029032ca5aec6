"""The list of quotes, their figures and the accounts in a browser: narrowed by htmx, looked over by axe, on paper."""

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from jobsite import clock
from tests import factories as make
from tests.browser.conftest import look
from tests.remedials.quoted import answered, remedial_at

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def quoted(site):
    """A quote with the customer, one answered in part, one accepted, one refused; sent now."""
    now = clock.now()
    until = clock.local_day(now).replace(year=clock.local_day(now).year + 1, day=1)
    for name, says in (("Waits", {}), ("In part", {"yes": 1}), ("Taken", {"yes": 2}), ("Refused", {"no": 2})):
        offer = make.make_sent_offer(remedial_at(site, "C1"), remedial_at(site), at=now, name=name, valid_until=until)
        for which, count in says.items():
            answered(offer, at=now, **{which: list(offer.lines.all()[:count])})
    return site


def test_the_list_the_figures_and_the_accounts_at_both_widths(page_for, axe, office, quoted) -> None:
    page = page_for(office, width=1280)
    for width in (1280, 390):
        page.set_viewport_size({"width": width, "height": 844})
        for name in ("quotes:quotes", "quotes:figures", "quotes:accepted"):
            page.goto(reverse(name))
            axe(page)
            assert page.evaluate("document.documentElement.scrollWidth") <= width
            look(page, f"{name.replace(':', '-')} {width}")


def test_the_list_narrows_in_place_and_the_address_keeps_it(page_for, office, quoted) -> None:
    page = page_for(office, width=1280)
    page.goto(reverse("quotes:quotes"))
    page.get_by_label("State").select_option("answered")
    page.get_by_role("link", name="Taken").wait_for()
    expect(page.get_by_role("link", name="Waits")).to_have_count(0)
    page.wait_for_url("**state=answered**")
    page.reload()
    assert page.get_by_role("link", name="Refused").is_visible()
    page.get_by_role("link", name="Show all").click()
    page.get_by_role("link", name="Waits").wait_for()


def test_the_figures_print_with_their_bars(page_for, office, quoted) -> None:
    page = page_for(office, width=1280)
    page.goto(reverse("quotes:figures"))
    page.emulate_media(media="print")
    assert page.locator(".figures .bar rect").first.is_visible()
    assert page.get_by_text("Half were answered within 0 days.").is_visible()
