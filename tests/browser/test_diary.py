"""The diary by pointer, by keyboard, by form, on a phone and on paper."""

import os
import re
from datetime import UTC, date, datetime, time, timedelta
from pathlib import Path

import pytest
from django.urls import reverse
from playwright.sync_api import Locator, Page, expect

from jobsite import clock
from jobsite.messages.models import Message
from jobsite.people.models import Leave
from jobsite.words import LONDON
from remedials.visits.models import Visit, VisitMove
from remedials.visits.rules.days import bank_holidays
from remedials.works.models import Waiting
from tests import factories as make
from tests.browser.conftest import look
from tests.remedials.weeks import full_week
from tests.remedials.work import on_the_way

pytestmark = pytest.mark.django_db(transaction=True)


def monday() -> date:
    """Of the first week from the one after next that has no bank holiday: nothing in it is over."""
    today = clock.local_day(clock.now())
    found = today + timedelta(days=14 - today.weekday())
    while bank_holidays("england", found, found + timedelta(days=6)):
        found += timedelta(days=7)
    return found


def at(day: int, hour: float) -> datetime:
    """London's clock on the `day` of that week."""
    begin = datetime.combine(monday() + timedelta(days=day), time(), tzinfo=LONDON)
    return (begin + timedelta(hours=hour)).astimezone(UTC)


@pytest.fixture
def visit(db, engineer, other_engineer):
    """A visit of Edwin on Tuesday, 09:00 to 11:00, beside Otto, who is free."""
    site = make.make_site("Old Pottery")
    remedial = on_the_way("C2", site=site, stage="booked")
    return make.make_visit(site, remedial, engineers=[engineer], start=at(1, 9), outage="The kiln room")


def open_week(page: Page) -> Locator:
    page.goto(f"{reverse('visits:diary')}?day={monday()}")
    return page.locator("a[data-move]").first


def spot(page: Page, engineer, day: int, hour: float) -> tuple[float, float]:
    """The point of the screen where `hour` of that day of `engineer` is drawn."""
    on = (monday() + timedelta(days=day)).isoformat()
    cell = page.locator(f'[data-cell][data-engineer="{engineer.pk}"][data-day="{on}"]')
    box = cell.locator(".cell").bounding_box()
    svg = page.locator("[data-diary]").first
    first, last = (int(svg.get_attribute(f"data-{name}")) for name in ("first", "last"))
    return box["x"] + 30, box["y"] + 4 + (hour * 60 - first) / (last - first) * (box["height"] - 8)


def drag(page: Page, block: Locator, to: tuple[float, float]) -> None:
    """Take `block` 8 pixels below its beginning and let it go at `to`, as much below."""
    box = block.locator(".block").bounding_box()
    page.mouse.move(box["x"] + 30, box["y"] + 8)
    page.mouse.down()
    page.mouse.move(box["x"] + 40, box["y"] + 20, steps=3)
    page.mouse.move(to[0], to[1] + 8, steps=6)


def stands(visit: Visit) -> tuple[datetime, list[str]]:
    visit.refresh_from_db()
    return visit.start, list(visit.attendances.filter(cancelled=False).values_list("engineer__name", flat=True))


def test_a_visit_is_dragged_to_somebody_elses_day_and_back(page_for, axe, office, visit, other_engineer) -> None:
    page = page_for(office, height=1000)
    block = open_week(page)
    drag(page, block, spot(page, other_engineer, 3, 13))
    expect(page.locator(".ghost-words")).to_have_text("13:00")
    look(page, "diary-dragged")
    page.mouse.up()
    expect(page.get_by_text("Visit 1 to Old Pottery moved from")).to_be_visible()
    assert stands(visit) == (at(3, 13), ["Otto Ampleby"])
    axe(page)
    look(page, "diary-moved")
    page.get_by_role("button", name="Move back").click()
    expect(page.locator(".said-here")).to_contain_text("09:00.")
    assert stands(visit) == (at(1, 9), ["Edwin Wireman"])


def test_escape_and_letting_go_elsewhere_leave_it(page_for, office, visit, other_engineer) -> None:
    page = page_for(office, height=1000)
    block = open_week(page)
    drag(page, block, spot(page, other_engineer, 3, 13))
    page.keyboard.press("Escape")
    expect(page.locator(".ghost")).to_have_count(0)
    page.mouse.up()
    expect(page.locator("[data-told]")).to_have_text("It stays where it was.")
    drag(page, block, (600, 90))
    page.mouse.up()
    expect(page.locator("[data-told]")).to_have_text("It stays where it was.")
    assert page.url.endswith(f"day={monday()}")
    assert (stands(visit), VisitMove.objects.count()) == ((at(1, 9), ["Edwin Wireman"]), 0)


def test_the_very_same_by_keyboard(page_for, office, visit) -> None:
    page = page_for(office)
    block = open_week(page)
    block.focus()
    told = page.locator("[data-told]")
    page.keyboard.press("m")
    expect(told).to_contain_text("Taken: Visit 1, Old Pottery: Edwin Wireman, Tue")
    for key in ("ArrowRight", "ArrowDown", "ArrowDown", "PageDown"):
        page.keyboard.press(key)
    expect(told).to_contain_text("Otto Ampleby, Wed")
    expect(told).to_contain_text("09:30. Enter puts it there, Escape leaves it.")
    page.keyboard.press("PageDown")
    expect(told).to_have_text("There is nothing further that way.")
    page.keyboard.press("Escape")
    expect(told).to_have_text("It stays where it was.")
    expect(block).to_be_focused()
    for key in ("m", "ArrowRight", "PageDown", "ArrowUp", "Enter"):
        page.keyboard.press(key)
    expect(page.get_by_text("Visit 1 to Old Pottery moved from")).to_be_visible()
    assert stands(visit) == (at(2, 8.75), ["Otto Ampleby"])


def test_a_clash_is_refused_in_place_and_the_block_stays(page_for, axe, office, visit, other_engineer) -> None:
    make.make_visit(make.make_site("Mill"), engineers=[other_engineer], start=at(3, 13))
    page = page_for(office, height=1000)
    block = open_week(page)
    drag(page, block, spot(page, other_engineer, 3, 13))
    page.mouse.up()
    expect(page.locator("[data-ask]")).to_contain_text("Not moved: Visit 1, Old Pottery")
    expect(page.locator("[data-ask]")).to_contain_text("Otto Ampleby")
    axe(page)
    look(page, "diary-refused")
    page.get_by_role("button", name="Leave it where it was").click()
    expect(page.locator("[data-ask]")).to_be_hidden()
    assert stands(visit) == (at(1, 9), ["Edwin Wireman"])


def test_a_warning_is_overruled_in_place(page_for, office, visit, engineer) -> None:
    page = page_for(office, height=1000)
    block = open_week(page)
    drag(page, block, spot(page, engineer, 5, 10))  # a Saturday
    page.mouse.up()
    ask = page.locator("[data-ask]")
    expect(ask).to_contain_text("To be moved")
    ask.get_by_label("Why it is moved there all the same").fill("They are there on Saturdays only")
    look(page, "diary-warned")
    ask.get_by_role("button", name="Move it there").click()
    expect(page.get_by_text("Visit 1 to Old Pottery moved from")).to_be_visible()
    assert stands(visit) == (at(5, 10), ["Edwin Wireman"])
    assert visit.despite == "They are there on Saturdays only"


def test_a_confirmed_visit_asks_why(page_for, office, visit, engineer) -> None:
    Visit.objects.filter(pk=visit.pk).update(answered="confirmed")
    page = page_for(office, height=1000)
    block = open_week(page)
    drag(page, block, spot(page, engineer, 2, 10))
    page.mouse.up()
    ask = page.locator("[data-ask]")
    expect(ask).to_contain_text("The customer has agreed to the present time")
    ask.get_by_label("Why it is moved").fill("Its parts are late")
    ask.get_by_role("button", name="Move it there").click()
    expect(page.get_by_text("Visit 1 to Old Pottery moved from")).to_be_visible()
    assert stands(visit) == (at(2, 10), ["Edwin Wireman"])
    assert VisitMove.objects.get().reason == "Its parts are late"


def test_by_form_from_the_list(page_for, axe, office, visit, other_engineer) -> None:
    page = page_for(office, width=390)
    page.goto(f"{reverse('visits:diary')}?day={monday()}")
    axe(page)
    page.get_by_role("link", name="Move visit 1").click()
    expect(page.get_by_role("heading", name="Move visit 1 to Old Pottery")).to_be_visible()
    axe(page)
    look(page, "diary-move-390")
    page.get_by_label("Edwin Wireman").uncheck()
    page.get_by_label("Otto Ampleby").check()
    page.get_by_label("From").fill(f"{monday() + timedelta(days=2)}T10:15")
    page.get_by_role("button", name="Move the visit").click()
    expect(page.get_by_text("Visit 1 to Old Pottery moved from")).to_be_visible()
    assert stands(visit) == (at(2, 10.25), ["Otto Ampleby"])


def test_a_gap_by_click_and_by_enter(page_for, axe, office, visit, engineer) -> None:
    other = make.make_site("Mill", latitude="52.0", longitude="-1.0")
    make.make_remedial(make.make_observation(other, code="C1"), stage="approved", minutes=60, work="Cut off the lamp")
    page = page_for(office, height=1000)
    open_week(page)
    page.mouse.click(*spot(page, engineer, 1, 14))
    expect(page.get_by_role("heading", name="What fits a gap")).to_be_visible()
    expect(page.get_by_text("Cut off the lamp")).to_be_visible()
    axe(page)
    look(page, "diary-gap")
    page.go_back()
    page.locator("a.free").first.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", name="What fits a gap")).to_be_visible()
    page.get_by_role("link", name="Book it here").click()
    expect(page.get_by_role("heading", name="Book a visit")).to_be_visible()


@pytest.fixture
def week(db, engineer, other_engineer, office):
    """150 visits of 12 engineers."""
    people = [engineer, other_engineer, *(make.make_user(f"Number{n} Sparks", "engineer") for n in range(10))]
    away = monday() + timedelta(days=2)
    Leave.objects.create(user=people[3], first=away, last=away + timedelta(days=1), recorded_by=office)
    return full_week(people, monday=monday())


@pytest.mark.parametrize("show", ["week", "day", "fortnight"])
def test_a_full_diary_at_both_widths_and_on_paper(page_for, axe, office, week, show) -> None:
    page = page_for(office)
    page.goto(f"{reverse('visits:diary')}?day={monday()}&show={show}")
    look(page, f"diary-{show}")
    axe(page)
    wide = page.evaluate("document.documentElement.scrollWidth")
    assert wide <= 1280
    if folder := os.environ.get("PICTURES"):
        page.pdf(path=Path(folder) / f"diary-{show}.pdf", prefer_css_page_size=True)
    page.set_viewport_size({"width": 390, "height": 800})
    expect(page.locator("#list section").first).to_be_visible()
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    look(page, f"diary-{show}-390")
    axe(page)


def test_whom_work_waits_on_and_a_chase(page_for, axe, office) -> None:
    site = make.make_site("Old Pottery")
    today = clock.local_day(clock.now())
    for n, (who, what) in enumerate(
        [("The Network", "a new cut-out"), ("The Shop", "an isolator"), ("the shop", "a key")]
    ):
        remedial = on_the_way("C2", site=site, stage="approved")
        days = {"asked_on": today - timedelta(days=20), "chase_on": today + timedelta(days=n - 1)}
        Waiting.objects.create(site=site, remedial=remedial, on_whom=who, for_what=what, recorded_by=office, **days)
    page = page_for(office)
    page.goto(reverse("visits:diary"))
    page.get_by_role("link", name="Whom work waits on").click()
    expect(page.get_by_role("heading", name="The Network")).to_be_visible()
    axe(page)
    look(page, "waits")
    page.set_viewport_size({"width": 390, "height": 800})
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    axe(page)
    look(page, "waits-390")
    page.get_by_role("link", name=re.compile("Chase The Shop")).click()
    expect(page.get_by_label("Message")).to_have_value(re.compile("- an isolator .*\n- a key"))
    axe(page)
    look(page, "chase-390")
    page.get_by_label("E-mail address").fill("counter@example.com")
    page.get_by_role("button", name="Send the chase").click()
    expect(page.get_by_text("Chased: a message to The Shop is on its way.")).to_be_visible()
    assert Message.objects.get().address == "counter@example.com"
