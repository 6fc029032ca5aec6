"""Private links, by the office and by the customer: made, sent, opened, withdrawn; readable on a phone, in the dark, printed."""

import re
from datetime import timedelta

import pytest
from django.core import mail
from playwright.sync_api import expect

from jobsite import clock
from jobsite.firm.models import Firm
from jobsite.people.models import PrivateLink
from remedials.due.operations import send
from tests.browser.conftest import look, until
from tests.factories import make_link, make_observation, make_party, make_unit, unit_of

WIDTHS = [1280, 390]


@pytest.fixture(autouse=True)
def firm(db):
    return Firm.objects.create(name="Sample Sparks", phone="01632 960123", email="office@example.com")


@pytest.fixture
def house(site):
    """A site of two flats whose customer can be written to, with a link of each sort."""
    now = clock.now()
    site.customer.name, site.customer.email = "Ada Owner", "ada@example.com"
    site.customer.save()
    site.units.update(whole_site=False)
    make_observation(site, "Loose socket", unit=make_unit(site, "Flat 2"))
    ends = {"made_at": now, "expires_at": now + timedelta(days=30)}
    make_link(site, party=site.customer_id, sent_to="Ada, on paper", uses=2, last_used_at=now, **ends)
    make_link(site, unit=unit_of(site), party=make_party("Tom Tenant").pk, sent_to="tom@example.com", **ends)
    make_link(site, sent_to="the broker", withdrawn_at=now, **ends)
    return site


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS)
def test_the_offices_pages(page_for, office, house, axe, width, scheme):
    page = page_for(office, width=width, color_scheme=scheme)
    for name, path in (
        ("every", "/private-links/?which=all"),
        ("party", f"/customers/{house.customer_id}/"),
        ("site", f"/sites/{house.pk}/links/"),
        ("new", f"/sites/{house.pk}/links/new/"),
        ("portfolio", f"/customers/{house.customer_id}/private-link/"),
    ):
        page.goto(path)
        axe(page)
        look(page, f"links-{name}-{width}-{scheme}")
        assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("width", WIDTHS)
def test_sent_by_e_mail_opened_without_an_account_and_withdrawn(page_for, office, house, axe, width):
    desk = page_for(office, width=width)
    desk.goto(f"/sites/{house.pk}/links/")
    desk.get_by_role("link", name="New private link").click()
    desk.get_by_label("For", exact=True).select_option("Flat 2")
    desk.get_by_label("By e-mail, straight to them").check()
    desk.get_by_role("button", name="Make the link").click()
    # Nothing typed is lost: what is missing is said where it is missing.
    expect(desk.get_by_text("Choose whom the e-mail is for").first).to_be_visible()
    expect(desk.get_by_label("By e-mail, straight to them")).to_be_checked()
    desk.get_by_label("Customer or party").select_option("Ada Owner")
    desk.get_by_label("A word of your own").fill("As we said on the telephone.")
    desk.get_by_role("button", name="Make the link").click()
    expect(desk.get_by_text("The link goes to ada@example.com within a few minutes.")).to_be_visible()
    until(desk, lambda: PrivateLink.objects.filter(sent_to="ada@example.com").exists(), "a link to Ada")
    send(now=clock.now())
    letter = mail.outbox[-1]
    assert letter.to == ["ada@example.com"]
    path = "/s/" + re.search(r"/s/([\w-]{43}/)", letter.body).group(1)

    phone = page_for(None, width=width, answered=(404,))
    phone.goto(path)
    expect(phone.get_by_text("Loose socket").first).to_be_visible()
    assert phone.context.cookies() == []
    assert phone.evaluate("document.referrer") == ""

    desk.goto(f"/customers/{house.customer_id}/")
    row = desk.get_by_role("row").filter(has_text="ada@example.com")
    expect(row).to_contain_text("e-mail sent")
    expect(row).to_contain_text("1 time, last")
    row.get_by_role("link", name="Withdraw").click()
    desk.get_by_role("button", name="Withdraw the link").click()
    expect(desk.get_by_text("Withdrawn: it opens nothing any more.")).to_be_visible()
    expect(desk.get_by_role("heading", name="Ada Owner", level=1)).to_be_visible()

    phone.reload()
    expect(phone.get_by_role("heading", name="This link does not open")).to_be_visible()
    expect(phone.get_by_role("link", name="01632 960123")).to_have_attribute("href", "tel:01632960123")
    axe(phone)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", WIDTHS)
def test_the_plain_page_and_what_is_printed_of_it(page_for, axe, width, scheme):
    page = page_for(None, width=width, color_scheme=scheme, answered=(404,))
    page.goto("/s/copied-only-in-part/")
    axe(page)
    look(page, f"links-plain-{width}-{scheme}")
    page.emulate_media(media="print")
    expect(page.get_by_text("Ask Sample Sparks")).to_be_visible()
    axe(page)


def test_who_prints_a_private_page_is_told_what_its_edge_may_give_away(page_for, house):
    page = page_for(None)
    _, token = make_link(house, made_at=clock.now(), expires_at=clock.now() + timedelta(days=1))
    page.goto(f"/s/{token}/")
    told = page.get_by_text("A browser may print the private address of this page at its edge")
    expect(told).to_be_hidden()
    page.emulate_media(media="print")
    expect(told).to_be_visible()
    page.goto("/check/")
    expect(page.get_by_text("A browser may print")).to_have_count(0)


def test_an_address_is_shown_once_and_leads_to_no_other_page(page_for, office, house):
    desk = page_for(office)
    desk.goto(f"/customers/{house.customer_id}/private-link/")
    desk.get_by_label("Given to").fill("Ada, read out")
    desk.get_by_role("button", name="Make the link").click()
    address = desk.locator("code").inner_text()
    path = "/p/" + re.search(r"/p/([\w-]{43}/)$", address).group(1)
    look(desk, "links-made")
    phone = page_for(None, width=390)
    phone.goto(path)
    expect(phone.get_by_text("Flat 2").first).to_be_visible()
    desk.reload()  # the form is sent again: the same link, and its address is not shown a second time
    expect(desk.get_by_text("its address was shown then")).to_be_visible()
    assert PrivateLink.objects.filter(purpose="portfolio").count() == 1
