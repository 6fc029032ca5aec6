"""A switching test without signal: which device, who loses power by it and what was seen, all on the page that the phone has."""

from datetime import timedelta

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from jobsite import clock
from jobsite.premises.models import SwitchingTest
from tests import factories as make
from tests.browser.kept_pages import kept_on_the_phone, wait_until_kept
from tests.browser.targets import must_be_large_enough

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def mill(transactional_db):
    site = make.make_site("Lower Mill", phases=("L1", "L2", "L3"))
    intake = make.make_board(site, "Intake board")
    ways = [make.make_circuit(intake, number, phase="3", arrangement="distribution") for number in (1, 2, 3)]
    shop = make.make_board(site, "Workshop", fed=False)
    make.make_circuit(shop, 1, phase="L1", designation="Freezer", must_not_lose_power="freezer")
    for way in ways[:2]:
        make.make_feed(shop, way, verified=False, kind="may-be")
    return site


def test_two_tests_are_noted_on_one_kept_page_and_both_arrive(page_for, engineer, mill, between, axe) -> None:
    page = page_for(engineer, width=390, through=between)
    for name in ("switching_new", "tracing"):
        kept_on_the_phone(page, reverse(f"premises:{name}", args=[mill.pk]), at=clock.now())
    between.fail("cut", method="POST", times=None)
    for way, seen in (("1", "Dead"), ("2", "Alive")):
        page.goto(reverse("premises:switching_new", args=[mill.pk]))
        expect(page.get_by_role("button", name="Go on")).to_be_hidden()
        page.get_by_label("What was switched off").select_option(label=f"Intake board, way {way} · B32")
        expect(page.locator("[data-off]:not([hidden]) .live", has_text="freezer")).to_be_visible()
        page.get_by_role("group", name="Workshop").get_by_text(seen).click()
        axe(page)
        must_be_large_enough(page)
        page.get_by_role("button", name="Note what was seen").click()
        expect(page.get_by_text(f"Noted on this phone: Switching test: Intake board, way {way} · B32")).to_be_visible()
    expect(page.get_by_label("What was switched off")).to_have_value("")  # the form is empty again once it is noted
    page.get_by_label("What was switched off").select_option(label="Intake board, way 3 · B32")
    expect(page.get_by_text("Who loses power by this one is not on this phone.")).to_be_visible()
    page.goto(reverse("premises:tracing", args=[mill.pk]))
    expect(page.get_by_text("tests that wait here are not in it yet")).to_be_visible()
    expect(page.locator("#on-phone p")).to_have_count(2)
    axe(page)
    assert SwitchingTest.objects.count() == 0
    between.mend()
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_until_kept(page, [])
    tests = SwitchingTest.objects.order_by("noted_at")
    assert [(test.off.way, test.seen.get().state) for test in tests] == [(1, "dead"), (2, "alive")]
    assert all(clock.now() - test.at < timedelta(minutes=5) for test in tests)
