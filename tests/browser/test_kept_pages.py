"""Pages that a phone kept hours ago: what is entered on one, opened again and again, is never taken for something entered
before, and its times are as of now. The clock is London's by the tz database, as Python's zoneinfo reads it.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.templatetags.static import static
from django.urls import reverse
from playwright.sync_api import Page, expect

from inspections import operations
from inspections.models import Inspection, Observation
from jobsite import clock
from jobsite.firm.queries import policy_on
from jobsite.ids import new_id
from tests import factories as make
from tests.browser.kept_pages import kept_on_the_phone, wait_until_kept

pytestmark = pytest.mark.django_db(transaction=True)
LONDON = ZoneInfo("Europe/London")


@pytest.fixture
def draft(transactional_db, qualified) -> Inspection:
    site, now = make.make_site("Kiln Cottage"), clock.now()
    return operations.start_inspection(
        site, id=new_id(), units=[make.unit_of(site)], boards=[make.make_board(site, "Hall")], kind="periodic",
        other_firm=False, inspected_on=clock.local_day(now), edition="2018+A2:2022", by=qualified, now=now,
    )  # fmt: skip


def enter(page: Page, text: str) -> None:
    page.get_by_label("What was observed").fill(text)
    page.get_by_label("C3 improvement recommended").check()
    page.get_by_role("button", name="Save and next").click()


def test_one_kept_page_opened_twice_makes_two_things(page_for, draft, qualified) -> None:
    page = page_for(qualified, width=390)
    address = reverse("inspections:inspection", args=[draft.pk])
    kept_on_the_phone(page, address, at=clock.now() - timedelta(hours=3))
    keys = set()
    for text in ("Cracked lid", "No label"):
        page.goto(address)
        keys.add(page.locator("form[data-hold] [name=id]").first.input_value())
        enter(page, text)
        wait_until_kept(page, [])
    assert len(keys) == 2
    assert sorted(Observation.objects.values_list("text", flat=True)) == ["Cracked lid", "No label"]


def test_what_was_typed_on_a_kept_page_comes_back_under_its_own_key(page_for, draft, qualified) -> None:
    page = page_for(qualified, width=390)
    address = reverse("inspections:inspection", args=[draft.pk])
    kept_on_the_phone(page, address, at=clock.now() - timedelta(hours=3))
    page.goto(address)
    page.get_by_label("What was observed").fill("Cracked l")
    wait_until_kept(page, ["Cracked l"])
    key = page.locator("form[data-hold] [name=id]").first.input_value()
    page.goto(address)
    expect(page.get_by_label("What was observed")).to_have_value("Cracked l")
    assert page.locator("form[data-hold] [name=id]").first.input_value() == key
    enter(page, "Cracked lid")
    wait_until_kept(page, [])
    assert [o.text for o in Observation.objects.all()] == ["Cracked lid"]
    assert str(Observation.objects.get().pk) == key


def test_times_of_a_kept_page_are_as_of_now_unless_somebody_changed_them(page_for, draft, qualified) -> None:
    observation = make.make_observation(draft.site)
    page = page_for(qualified, width=390)
    address = reverse("inspections:make_safe", args=[observation.pk])
    server = page.request.get(address).text()
    first = datetime.fromisoformat(server.split('name="done_at" value="')[1][:16])
    kept_on_the_phone(page, address, at=clock.now())
    page.clock.install(time=clock.now() + timedelta(days=2, hours=3))
    page.goto(address)
    said = datetime.fromisoformat(page.get_by_label("When").input_value())
    assert timedelta(0) <= said - first - timedelta(days=2, hours=3) <= timedelta(minutes=2)
    again = datetime.fromisoformat(page.get_by_label("Look again on").input_value()).date()
    assert again - said.date() == timedelta(days=policy_on(first.date()).look_again_days)
    page.get_by_label("When").fill("2026-01-05T10:00")
    page.clock.fast_forward("30:00")
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    assert page.get_by_label("When").input_value() == "2026-01-05T10:00"


@pytest.mark.parametrize(
    ("made", "now"),
    [
        (datetime(2026, 11, 26, 8, 12, tzinfo=UTC), datetime(2026, 11, 26, 15, 40, tzinfo=UTC)),
        (datetime(2026, 3, 28, 23, 30, tzinfo=UTC), datetime(2026, 3, 29, 6, 5, tzinfo=UTC)),  # clocks go forward
        (datetime(2026, 10, 24, 22, 30, tzinfo=UTC), datetime(2026, 10, 25, 9, 0, tzinfo=UTC)),  # and back
        (datetime(2026, 6, 30, 22, 59, tzinfo=UTC), datetime(2026, 6, 30, 23, 1, tzinfo=UTC)),  # past London's midnight
        (datetime(2024, 2, 28, 12, 0, tzinfo=UTC), datetime(2024, 2, 29, 12, 0, tzinfo=UTC)),
        (datetime(2026, 12, 31, 23, 59, tzinfo=UTC), datetime(2027, 1, 1, 0, 0, tzinfo=UTC)),
    ],
)
@pytest.mark.parametrize("ahead", [timedelta(0), timedelta(days=90)])
def test_days_and_times_move_with_londons_clock(page_for, made, now, ahead) -> None:
    page = page_for(None)
    page.goto(reverse("account_login"))
    mine, later = made.astimezone(LONDON), now.astimezone(LONDON)
    day, days = mine.date() + ahead, (later.date() - mine.date()).days
    sent = [
        static("jobsite/now.js"),
        mine.strftime("%Y-%m-%dT%H:%M"),
        day.isoformat(),
        int(made.timestamp() * 1000),
        int(now.timestamp() * 1000),
    ]
    moved = page.evaluate(
        """async ([now_js, moment, day, made, now]) => {
          const { moved } = await import(now_js);
          return [moved(moment, made, now), moved(day, made, now), moved(moment, now, made), moved("soon", made, now)];
        }""",
        sent,
    )
    unmoved = sent[1]  # a phone whose clock is behind the page's moves nothing back
    assert moved == [later.strftime("%Y-%m-%dT%H:%M"), (day + timedelta(days=days)).isoformat(), unmoved, "soon"]
