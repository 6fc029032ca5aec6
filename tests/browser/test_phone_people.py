"""Whose pages are on a phone: two people who share one, signing out, and a session that ended by itself."""

import re

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import Page, expect

from tests.browser.conftest import session_cookie
from tests.browser.phones import a_day, a_visit, from_us, kept_pages, packed, wait_until

pytestmark = pytest.mark.django_db(transaction=True)


def sign_in_as(page: Page, person, address: str) -> None:
    """The session of somebody else takes the place of this one, as after they signed in here."""
    page.context.clear_cookies(name="sessionid")
    page.context.add_cookies([session_cookie(person, address)])


def test_pages_of_one_go_when_another_is_signed_in(page_for, between, engineer, other_engineer, now) -> None:
    mine = a_day(engineer, 1)[0]
    from jobsite import clock

    theirs = a_visit(other_engineer, "Ferry Lodge", start=clock.now())
    page = page_for(engineer, width=390, phone=True, through=between)
    packed(page)
    assert f"/visits/{mine.pk}/" in kept_pages(page)
    sign_in_as(page, other_engineer, between.address)
    packed(page)
    expect(page.locator("#main")).to_contain_text("Ferry Lodge")
    assert [where for where in kept_pages(page) if str(mine.pk) in where] == []
    assert f"/visits/{theirs.pk}/" in kept_pages(page)
    between.cut()
    page.goto(f"/visits/{mine.pk}/")
    expect(page.get_by_role("heading", name="This page is not on the phone")).to_be_visible()
    page.goto("/my-day/")
    expect(page.locator("#main")).to_contain_text("Ferry Lodge")
    expect(page.locator("#main")).not_to_contain_text("Kiln Cottage")


def test_pages_of_an_engineer_go_when_the_office_is_signed_in(page_for, between, engineer, office) -> None:
    a_day(engineer, 1)
    page = page_for(engineer, width=390, phone=True, through=between)
    packed(page)
    sign_in_as(page, office, between.address)
    page.goto("/sites/")
    expect(page.get_by_role("heading", name="Sites")).to_be_visible()
    wait_until(page, "caches.keys().then((all) => all.filter((name) => name.startsWith('pages:')))", [])
    between.cut()
    page.goto("/my-day/")
    expect(page.get_by_role("heading", name="This page is not on the phone")).to_be_visible()


def test_signing_out_leaves_no_page_behind(page_for, between, engineer) -> None:
    visit = a_day(engineer, 1)[0]
    page = page_for(engineer, width=390, phone=True, through=between)
    packed(page)
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("button", name="Sign in", exact=True)).to_be_visible()
    assert kept_pages(page) == kept_pages(page, "pictures") == []
    between.cut()
    page.goto(f"/visits/{visit.pk}/")
    expect(page.get_by_role("heading", name="This page is not on the phone")).to_be_visible()


def test_who_could_not_sign_out_for_want_of_a_network_keeps_the_day(page_for, between, engineer) -> None:
    visit = a_day(engineer, 1)[0]
    page = page_for(engineer, width=390, phone=True, through=between)
    packed(page)
    between.cut()
    page.get_by_role("button", name="Sign out").click()
    expect(page.get_by_role("heading", name="This page is not on the phone")).to_be_visible()
    page.goto(f"/visits/{visit.pk}/")
    expect(page.locator("#main")).to_contain_text("Fit a lid at Kiln Cottage")


def test_an_ended_session_keeps_the_pages_and_is_told_where_we_are_reached(page_for, between, engineer) -> None:
    visit = a_day(engineer, 1)[0]
    page = page_for(engineer, width=390, phone=True, through=between)
    packed(page)
    Session.objects.all().delete()
    from_us(page, f"/visits/{visit.pk}/")
    expect(page).to_have_url(re.compile(r"/accounts/login/\?next=/visits/"))
    between.cut()
    page.goto(f"/visits/{visit.pk}/")
    expect(page.locator("#main")).to_contain_text("Fit a lid at Kiln Cottage")
    between.mend()
    between.portal()  # a guest network that sends on would not be us either
    page.goto("/my-day/")
    expect(page.locator("#main")).to_contain_text("Kiln Cottage")


def test_pages_stay_shut_between_signing_in_and_the_first_page(page_for, between, engineer, other_engineer) -> None:
    """Somebody signs in where another's session ended, and the network goes before a page says who it is."""
    visit = a_day(engineer, 1)[0]
    other_engineer.set_password("copper and brass 48")
    other_engineer.save()
    page = page_for(engineer, width=390, phone=True, through=between)
    packed(page)
    Session.objects.all().delete()
    from_us(page, "/my-day/")
    page.get_by_label("E-mail").fill(other_engineer.email)
    page.get_by_label("Password").fill("copper and brass 48")
    between.fail("cut", method="GET", path="/my-day/", times=None)
    page.get_by_role("button", name="Sign in", exact=True).click()
    expect(page.get_by_role("heading", name="This page is not on the phone")).to_be_visible()
    page.goto(f"/visits/{visit.pk}/")
    between.mend()
    packed(page)
    assert [where for where in kept_pages(page) if str(visit.pk) in where] == []
