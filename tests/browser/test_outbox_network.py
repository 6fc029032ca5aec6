"""What is typed on the phone is neither lost nor doubled, whatever the network does with it on the way."""

import re

import pytest
from django.contrib.sessions.models import Session
from playwright.sync_api import Page, expect

from inspections import operations
from inspections.models import Inspection, Observation, ObservationPhoto
from jobsite import clock
from jobsite.ids import new_id
from tests import factories as make
from tests.browser.between import Between
from tests.browser.conftest import look, session_cookie, until
from tests.browser.kept_pages import wait_until_kept

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def draft(transactional_db, qualified) -> Inspection:
    site, now = make.make_site("Kiln Cottage"), clock.now()
    return operations.start_inspection(
        site, id=new_id(), units=[make.unit_of(site)], boards=[make.make_board(site, "Hall")], kind="periodic",
        other_firm=False, inspected_on=clock.local_day(now), edition="2018+A2:2022", by=qualified, now=now,
    )  # fmt: skip


def type_one(page: Page, text: str, *, photos: int = 0) -> None:
    expect(page.get_by_label("What was observed")).to_have_value("")  # the one before has left the form
    page.get_by_label("What was observed").fill(text)
    page.get_by_label("C3 improvement recommended").check()
    if photos:
        colours = ["red", "blue", "green"][:photos]
        files = [{"name": f"{c}.png", "mimeType": "image/png", "buffer": make.picture(c)} for c in colours]
        page.locator("input[type=file]").last.set_input_files(files)
        expect(page.get_by_role("img", name=f"Photo {photos}, not saved yet")).to_be_visible()


def save(page: Page) -> None:
    page.get_by_role("button", name="Save and next").click()


def count(page: Page):
    return page.locator("[data-waits]")


def texts() -> list[str]:
    return [o.text for o in Observation.objects.order_by("number")]


def test_an_answer_that_got_lost_doubles_nothing(page_for, between: Between, draft, qualified) -> None:
    page = page_for(qualified, width=390, through=between)
    page.goto(f"/inspections/{draft.pk}/")
    between.fail("lost", method="POST", path=f"/inspections/{draft.pk}/", times=None)
    type_one(page, "Cracked lid", photos=2)
    save(page)
    expect(page.locator(".kept-note")).to_contain_text("kept on this device and goes out by itself")
    expect(count(page)).to_have_text("1 waiting")
    assert texts() == ["Cracked lid"]  # done there, not known here
    expect(page.locator("#not-sent")).to_contain_text("Cracked lid")
    between.mend()
    count(page).click()
    page.get_by_role("button", name="Send now").click()
    wait_until_kept(page, [])
    expect(count(page)).to_be_hidden()
    assert (texts(), ObservationPhoto.objects.count()) == (["Cracked lid"], 2)


@pytest.mark.parametrize("kind", ["half up", "half down", "cut"])
def test_a_connection_that_breaks_half_way_is_taken_up_again(page_for, between, draft, qualified, kind) -> None:
    page = page_for(qualified, width=390, through=between)
    page.goto(f"/inspections/{draft.pk}/")
    between.fail(kind, method="POST", path=f"/inspections/{draft.pk}/", times=None)
    type_one(page, "Cracked lid", photos=1)
    save(page)
    expect(count(page)).to_have_text("1 waiting")
    expect(page.locator(".kept-note")).to_contain_text("kept on this device and goes out by itself")
    between.mend()
    page.evaluate("dispatchEvent(new Event('online'))")
    wait_until_kept(page, [])
    expect(count(page)).to_be_hidden()
    assert (texts(), ObservationPhoto.objects.count()) == (["Cracked lid"], 1)


def test_a_guest_networks_own_page_is_no_yes(page_for, axe, between, draft, qualified) -> None:
    page = page_for(qualified, width=390, through=between)
    page.goto(f"/inspections/{draft.pk}/")
    between.portal()
    type_one(page, "Cracked lid")
    save(page)
    asks = "The network here asks for something first (a sign-in page of the place?)"
    expect(page.locator(".kept-note")).to_contain_text(asks)
    expect(count(page)).to_have_text("1 waiting")
    count(page).click()
    expect(page.locator("#not-sent .caution")).to_contain_text(asks)
    axe(page)
    look(page, "outbox-portal-390")
    between.mend()
    page.get_by_role("button", name="Send now").click()
    expect(count(page)).to_be_hidden()
    assert texts() == ["Cracked lid"]


def test_an_ended_session_keeps_all_and_says_so(page_for, axe, between, draft, qualified) -> None:
    page = page_for(qualified, width=390, through=between, answered=(403,))
    page.goto(f"/inspections/{draft.pk}/")
    Session.objects.all().delete()
    type_one(page, "Cracked lid")
    save(page)
    expect(count(page)).to_have_text("1 waiting")
    count(page).click()
    link = page.get_by_role("link", name="Sign in again: it is sent then.")
    expect(link).to_have_attribute("href", f"/accounts/login/?next=%2Finspections%2F{draft.pk}%2F")
    axe(page)
    look(page, "outbox-signed-out-390")
    link.click()
    expect(page).to_have_url(re.compile("/accounts/login/"))
    assert texts() == []
    page.context.add_cookies([session_cookie(qualified, between.address)])
    page.goto(f"/inspections/{draft.pk}/")
    expect(page.get_by_role("cell", name="Cracked lid")).to_be_visible()
    expect(count(page)).to_be_hidden()
    assert texts() == ["Cracked lid"]


def test_without_any_cookie_left_nothing_is_taken_for_refused(page_for, between, draft, qualified) -> None:
    page = page_for(qualified, through=between)
    page.goto(f"/inspections/{draft.pk}/")
    page.context.clear_cookies()
    type_one(page, "Cracked lid")
    save(page)
    expect(count(page)).to_have_text("1 waiting")
    page.context.add_cookies([session_cookie(qualified, between.address)])
    page.goto(f"/inspections/{draft.pk}/")
    wait_until_kept(page, [])
    expect(count(page)).to_be_hidden()
    assert texts() == ["Cracked lid"]


def test_a_tab_killed_while_it_sends_is_taken_up_by_the_next(page_for, between, draft, qualified) -> None:
    page = page_for(qualified, width=390, through=between)
    page.goto(f"/inspections/{draft.pk}/")
    with between.held(method="POST", path=f"/inspections/{draft.pk}/") as held:
        type_one(page, "Cracked lid", photos=1)
        save(page)
        held.met.wait(20)
        context = page.context
        page.close(run_before_unload=False)
    page = context.new_page()
    page.goto(f"/inspections/{draft.pk}/")
    expect(page.get_by_role("cell", name="Cracked lid")).to_be_visible()
    expect(count(page)).to_be_hidden()
    assert (texts(), ObservationPhoto.objects.count()) == (["Cracked lid"], 1)


def test_a_double_tap_a_refresh_and_the_back_button_double_nothing(page_for, between, draft, qualified) -> None:
    page = page_for(qualified, width=390, through=between)
    page.goto(f"/inspections/{draft.pk}/")
    type_one(page, "Cracked lid")
    page.get_by_role("button", name="Save and next").dblclick()
    expect(page.get_by_role("cell", name="Cracked lid")).to_be_visible()
    page.goto(f"/sites/{draft.site_id}/")
    page.go_back()
    expect(page.get_by_role("cell", name="Cracked lid")).to_be_visible()
    page.reload()
    expect(page.get_by_label("What was observed")).to_have_value("")
    between.cut()
    type_one(page, "No label")
    page.get_by_role("button", name="Save and next").dblclick()
    expect(count(page)).to_have_text("1 waiting")
    between.mend()
    page.reload()
    expect(page.get_by_role("cell", name="No label")).to_be_visible()
    page.reload()
    assert texts() == ["Cracked lid", "No label"]


def test_the_clock_of_the_phone_is_told_once(page_for, between, draft, qualified) -> None:
    page = page_for(qualified, through=between)
    page.add_init_script("const wait = Date.now; Date.now = () => wait() - 7 * 60000;")
    page.add_init_script(
        "const Real = Date; Date = class extends Real { constructor(...a) { super(...(a.length ? a : [Real.now()])); } };"
    )
    page.goto(f"/inspections/{draft.pk}/")
    type_one(page, "Cracked lid")
    save(page)
    said = page.get_by_text("The clock of this phone is 7 minutes slow; both times are kept.")
    expect(said).to_be_visible()
    type_one(page, "No label")
    save(page)
    expect(page.get_by_role("cell", name="No label")).to_be_visible()
    page.reload()
    expect(page.get_by_role("cell", name="No label")).to_be_visible()
    expect(said).to_have_count(0)


def test_two_tabs_show_one_list_and_send_each_once(page_for, between, draft, qualified) -> None:
    one = page_for(qualified, through=between)
    one.goto(f"/inspections/{draft.pk}/")
    other = one.context.new_page()
    other.goto(f"/sites/{draft.site_id}/")
    between.cut()
    one.bring_to_front()
    for number, text in enumerate(("Cracked lid", "No label", "Loose gland"), start=1):
        type_one(one, text)
        save(one)
        expect(count(one)).to_have_text(f"{number} waiting")
    expect(count(other)).to_have_text("3 waiting")
    before = between.count("POST", f"/inspections/{draft.pk}/")
    between.mend()
    for tab in (one, other):
        tab.evaluate("dispatchEvent(new Event('online'))")
    for tab in (one, other):
        expect(count(tab)).to_be_hidden()
    assert texts() == ["Cracked lid", "No label", "Loose gland"]
    assert between.count("POST", f"/inspections/{draft.pk}/") - before == 3


def test_the_worker_sends_what_waits_when_no_page_of_ours_is_open(page_for, between, draft, qualified) -> None:
    page = page_for(qualified, width=390, through=between, phone=True)
    found = []
    devtools = page.context.new_cdp_session(page)
    devtools.on("ServiceWorker.workerRegistrationUpdated", lambda told: found.extend(told["registrations"]))
    devtools.send("ServiceWorker.enable")
    page.goto(f"/inspections/{draft.pk}/")
    page.evaluate("async () => { await navigator.serviceWorker.ready; }")
    between.cut()
    type_one(page, "Cracked lid", photos=1)
    save(page)
    expect(page.locator(".kept-note")).to_contain_text("kept on this device")
    page.goto("about:blank")
    between.mend()
    ours = next(one for one in found if one["scopeURL"].startswith(between.address))
    sent = {"origin": between.address, "registrationId": ours["registrationId"], "tag": "outbox", "lastChance": False}
    devtools.send("ServiceWorker.dispatchSyncEvent", sent)
    until(page, ObservationPhoto.objects.exists, "sent by the worker")
    assert (texts(), ObservationPhoto.objects.count()) == (["Cracked lid"], 1)
