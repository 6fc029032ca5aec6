"""A day on the phone: put there beforehand, opened without signal, in a slow network, and behind somebody's guest network."""

import pytest
from playwright.sync_api import expect

from remedials.visits.models import Visit
from tests.browser.phones import a_day, ask_anew, from_us, kept_pages, packed

pytestmark = pytest.mark.django_db(transaction=True)


def test_a_packed_day_opens_without_a_network(page_for, between, engineer) -> None:
    visits = a_day(engineer)
    visit, remedial = visits[0], visits[0].remedials.get()
    board = remedial.observations.get().board_id
    page = page_for(engineer, width=390, phone=True, through=between)
    packed(page)
    expect(page.locator("#on-this-phone")).to_contain_text("2 visits until")
    between.cut()
    page.context.set_offline(True)
    page.close()
    page = page.context.new_page()
    before = len(between.asked)
    for where, words in (
        ("/my-day/", "Kiln Cottage"),
        (f"/visits/{visit.pk}/", "Fit a lid at Kiln Cottage"),
        (f"/remedials/{remedial.pk}/close/", "Close with proof"),
        (f"/boards/{board}/", "Board 1"),
        (f"/boards/{board}/readings/", "Board 1"),
    ):
        page.goto(where)
        expect(page.locator("#main")).to_contain_text(words)
        expect(page.locator(".packed")).to_contain_text("From this phone, as it was at ")
        assert page.evaluate("document.body.dataset.packed")
        assert page.evaluate("getComputedStyle(document.body).fontSize") == "15px"  # its style sheet is there too
    assert len(between.asked) == before


def test_a_guest_network_counts_as_none(page_for, between, engineer) -> None:
    visit = a_day(engineer, 1)[0]
    page = page_for(engineer, width=390, phone=True, through=between)
    packed(page)
    between.portal()
    page.goto(f"/visits/{visit.pk}/")
    expect(page.locator("#main")).to_contain_text("Fit a lid at Kiln Cottage")
    expect(page.locator(".packed")).to_be_visible()
    page.goto("/remedials/")  # a list for the office, never on a phone
    expect(page.get_by_role("heading", name="This page is not on the phone")).to_be_visible()
    page.get_by_role("link", name="My day").click()
    expect(page.locator("#main")).to_contain_text("Kiln Cottage")
    between.mend()
    page.goto("/remedials/")
    expect(page.get_by_role("heading", name="Remedials")).to_be_visible()


def test_a_slow_network_is_not_waited_for_where_the_page_is_here(page_for, between, engineer) -> None:
    visit = a_day(engineer, 1)[0]
    page = page_for(engineer, width=390, phone=True, through=between)
    packed(page)
    with between.held(path=f"/visits/{visit.pk}/") as held:
        page.goto(f"/visits/{visit.pk}/")  # answered while the network still holds the page back
        expect(page.locator(".packed")).to_be_visible()
        assert held.met.is_set()
    from_us(page, f"/visits/{visit.pk}/")
    expect(page.locator("#main")).to_contain_text("Fit a lid at Kiln Cottage")
    expect(page.locator(".packed")).to_have_count(0)


def test_what_breaks_off_half_way_is_not_kept_and_fetched_again(page_for, between, engineer) -> None:
    visit = a_day(engineer, 1)[0]
    page = page_for(engineer, width=390, phone=True, through=between)
    # As long as it is looked at: the worker packs when it begins and again when a page asks, and may succeed then.
    broken = between.fail("half down", path=f"/visits/{visit.pk}/", times=None)
    packed(page, "Not all of it could be fetched")
    assert broken.met.is_set()
    assert f"/visits/{visit.pk}/" not in kept_pages(page)
    between.mend()
    packed(page, "as of")
    expect(page.locator("#on-this-phone")).not_to_contain_text("Not all", timeout=60_000)
    assert f"/visits/{visit.pk}/" in kept_pages(page)


def test_what_a_gateway_answers_is_not_kept(page_for, between, engineer) -> None:
    visit = a_day(engineer, 1)[0]
    page = page_for(engineer, width=390, phone=True, through=between)
    between.fail(503, path=f"/visits/{visit.pk}/", times=None)
    packed(page, "Not all of it could be fetched")
    assert f"/visits/{visit.pk}/" not in kept_pages(page)


def test_only_what_changed_is_fetched_again_and_what_is_no_longer_listed_goes(page_for, between, engineer) -> None:
    first, second = a_day(engineer)
    page = page_for(engineer, width=390, phone=True, through=between)
    packed(page)
    asked = between.count("GET", f"/visits/{first.pk}/"), between.count("GET", f"/visits/{second.pk}/")
    type(first).objects.filter(pk=first.pk).update(version=2, access="Ring twice")
    second.attendances.all().delete()
    ask_anew(page)
    expect(page.locator("#on-this-phone")).to_contain_text("1 visit until", timeout=60_000)
    assert between.count("GET", f"/visits/{first.pk}/") > asked[0]
    assert [where for where in kept_pages(page) if str(second.pk) in where] == []
    assert f"/visits/{first.pk}/" in kept_pages(page)
    between.cut()
    page.goto(f"/visits/{first.pk}/")
    expect(page.locator("#main")).to_contain_text("Ring twice")


def test_pictures_are_there_without_a_network_small_where_the_whole_is_asked_for(page_for, between, engineer) -> None:
    visit = a_day(engineer, 1)[0]
    photo = visit.remedials.get().observations.get().photos.get()
    page = page_for(engineer, width=390, phone=True, through=between)
    packed(page)
    assert kept_pages(page, "pictures") == [f"/photos/{photo.pk}/?small"]
    between.cut()
    page.goto("/my-day/")
    size = """(src) => new Promise((done) => { const img = new Image(); img.onload = () => done([img.naturalWidth, img.naturalHeight]); img.onerror = () => done(null); img.src = src; })"""
    assert page.evaluate(size, f"/photos/{photo.pk}/?small") == [800, 600]
    assert page.evaluate(size, f"/photos/{photo.pk}/") == [800, 600]


def test_storage_that_is_full_keeps_pages_first_and_says_so(page_for, between, engineer) -> None:
    a_day(engineer, 2, pictures=6)
    page = page_for(engineer, width=390, phone=True, through=between)
    page.goto("/accounts/login/")
    session = page.context.new_cdp_session(page)
    session.send("Storage.overrideQuotaForOrigin", {"origin": between.address, "quotaSize": 1_000_000})
    packed(page, "This phone is full:")
    said = page.locator("#on-this-phone").inner_text()
    assert "pictures are not on it. The pages are." in said
    between.cut()
    for visit in Visit.objects.all():
        page.goto(f"/visits/{visit.pk}/")
        expect(page.locator(".packed")).to_be_visible()


def test_a_long_day_fits(page_for, between, engineer) -> None:
    a_day(engineer, 8, pictures=5, ways=8)
    page = page_for(engineer, width=390, phone=True, through=between)
    packed(page, "8 visits")
    assert len(kept_pages(page, "pictures")) == 40
    used = page.evaluate("navigator.storage.estimate().then((one) => one.usage)")
    assert used <= 5_000_000
