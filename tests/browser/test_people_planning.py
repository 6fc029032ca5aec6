"""Skills, hours, days away and the terms of the diary in a browser: wide, on a phone, with what was typed wrongly."""

from datetime import date

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from jobsite.people.models import WorkingWeek
from tests import factories as make
from tests.browser.conftest import look

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.mark.parametrize("width", [1280, 390])
def test_what_planning_needs_of_people_is_kept(page_for, axe, width) -> None:
    boss, ada = make.anybody("manager", "office"), make.make_user("Ada Wireman", "engineer")
    page = page_for(boss, width=width)

    def seen(name: str) -> None:
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        look(page, f"{name} {width}")

    at = reverse("people:person", args=[ada.pk])
    page.goto(at)
    page.get_by_role("link", name="Record a skill").click()
    page.get_by_label("Skill").fill("Fire alarms")
    seen("skill")
    page.get_by_label("Skill").press("Enter")
    expect(page.get_by_text("Fire alarms", exact=True)).to_be_visible()
    page.get_by_role("link", name="Set the hours of the week").click()
    page.get_by_label("Monday, from").fill("07:30")
    page.get_by_label("Monday, from").press("Enter")
    expect(page.get_by_text("Monday has both times, or neither.").first).to_be_visible()
    seen("week refused")
    page.get_by_label("Monday, until").fill("15:00")
    page.get_by_label("Monday, until").press("Enter")
    expect(page.get_by_text("Mon 07:30–15:00")).to_be_visible()
    assert WorkingWeek.objects.get().shifts.count() == 1
    seen("person")
    page.goto(reverse("people:person_edit", args=[ada.pk]))
    seen("person edit")


@pytest.mark.parametrize("width", [1280, 390])
def test_days_away_and_the_terms_of_the_diary(page_for, axe, width) -> None:
    boss, ada = make.anybody("manager", "office"), make.make_user("Ada Wireman", "engineer")
    page = page_for(boss, width=width)

    def seen(name: str) -> None:
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= width, name
        look(page, f"{name} {width}")

    page.goto(reverse("people:away"))
    seen("away empty")
    page.get_by_role("link", name=ada.name).click()
    for label in ("First day", "Last day"):
        page.get_by_label(label).fill(date(2099, 1, 5).isoformat())
    seen("leave")
    page.get_by_label("Last day").press("Enter")
    expect(page.get_by_text("5 Jan 2099")).to_be_visible()
    seen("away")
    page.get_by_role("button", name="There after all").click()
    expect(page.get_by_text("Nobody is away")).to_be_visible()
    page.goto(reverse("visits:terms"))
    seen("terms")
    page.get_by_label("Nobody who goes has the skill").select_option("warn")
    page.get_by_label("Address of a routing").fill("ftp://maps.example")
    page.get_by_role("button", name="Set the terms").click()
    expect(page.get_by_text("begins with https://").first).to_be_visible()
    seen("terms refused")
    page.get_by_label("Address of a routing").fill("")
    page.get_by_role("button", name="Set the terms").click()
    expect(page.get_by_text("These terms hold from").first).to_be_visible()
    expect(page.get_by_label("Nobody who goes has the skill")).to_have_value("warn")
