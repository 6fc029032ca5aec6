"""A quote built in a browser: begun, a line changed in its place while the totals follow, by keyboard and on a phone."""

from decimal import Decimal

import pytest
from playwright.sync_api import expect

from remedials.quotes.models import Line, Offer, Quote
from tests import factories as make
from tests.browser.conftest import look

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def house():
    """A house with works of several codes, one priced, one not, one declined; an agent who approves."""
    site = make.make_site("Mill Cottage")
    make.make_terms()
    agent = make.make_party("Amber Agent")
    make.unit_of(site).parties.create(party=agent, role="approver", limit_pounds=500, since=make.TODAY)
    live = make.make_observation(site, "Live parts within reach at the consumer unit", code="C1", place="Hall")
    make.make_costing(make.make_remedial(live, work="Fit a cover and blanks"), "120.00", cost="70.00")
    make.make_remedial(make.make_observation(site, "No RCD for the sockets", code="C2"), work="Fit an RCD")
    make.make_remedial(make.make_observation(site, "Labels missing", code="C3"), work="Label it", stage="declined")
    return site


def test_quote_is_begun_and_a_line_changed_in_its_place(page_for, axe, house, office):
    page = page_for(office)
    page.goto(f"/quotes/new/?site={house.pk}")
    look(page, "quote-new")
    axe(page)
    page.get_by_role("button", name="Begin the quote").click()
    page.wait_for_url("**/build/")
    look(page, "quote-build")
    axe(page)
    page.get_by_role("link", name="Change line 1").click()
    price = page.get_by_label("Price without VAT")
    price.wait_for()
    expect(page.locator(".htmx-added")).to_have_count(0)  # what htmx brings listens from then on, 20 ms after it shows
    price.fill("200")
    price.press("Tab")
    page.get_by_text("£294.00").wait_for()  # 200 and the call-out of 45, with VAT, before anything is kept
    look(page, "quote-line")
    axe(page)
    price.press("Control+Enter")
    page.get_by_role("link", name="Change line 1").wait_for()
    assert Line.objects.get(code="C1").price == Decimal(200)
    page.get_by_role("link", name="Add lines").first.click()
    look(page, "quote-add")
    axe(page)


def test_builder_and_page_of_a_quote_on_a_phone(page_for, axe, house, office):
    offer = make.make_sent_offer(house.remedials.get(stage="to-price", work="Fit an RCD"), by=office)
    page = page_for(office, width=390)
    page.goto(f"/quotes/{offer.quote_id}/")
    look(page, "quote-page-phone")
    axe(page)
    page.get_by_role("button", name="Make the next version").click()
    page.wait_for_url("**/build/")
    look(page, "quote-build-phone")
    axe(page)
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.get_by_role("link", name="Change line 1").click()
    page.get_by_label("Price without VAT").fill("95.00")
    page.get_by_role("button", name="Keep the line").click()
    page.get_by_role("link", name="Change line 1").wait_for()
    page.goto(f"/quotes/{offer.quote_id}/difference/")
    look(page, "quote-difference-phone")
    axe(page)


def test_without_javascript_a_quote_is_built_all_the_same(page_for, house, office):
    page = page_for(office, java_script_enabled=False)
    page.goto(f"/quotes/new/?site={house.pk}")
    page.get_by_role("button", name="Begin the quote").click()
    page.get_by_role("link", name="Change line 2").click()
    page.get_by_label("Price without VAT").fill("80")
    page.get_by_role("button", name="Keep the line").click()
    page.get_by_role("button", name="Down line 1").click()
    page.get_by_role("button", name="Order by danger").click()
    page.get_by_role("link", name="Particulars", exact=True).click()
    look(page, "quote-describe")
    page.get_by_label("What it is about").fill("Make the kitchen safe")
    page.get_by_role("button", name="Keep the particulars").click()
    assert Quote.objects.get().name == "Make the kitchen safe"
    assert [line.price for line in Offer.objects.get().lines.all()] == [Decimal(120), Decimal(80), Decimal(45)]
