"""How people are reminded: looked at before it is saved, by keyboard and by thumb, at 1280 and 390 px, with axe."""

from datetime import timedelta

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from jobsite import clock
from remedials.due.queries.settings import rules_in_force
from remedials.due.rules.sorts import SHIPPED, Days, Sort
from tests.browser.targets import must_be_large_enough
from tests.factories import make_observation

SAVE, SHOW = "Save these figures", "Show what they would send"


@pytest.fixture
def at_risk(site, manager):
    """A C2 that the manager is late with, and a C1 that nobody made safe."""
    today = clock.local_day(clock.now())
    make_observation(site, "Cover missing", code="C2", owner=manager, step_by=today - timedelta(days=3), on=today)
    make_observation(site, "Bare ends", code="C1", owner=manager, step_by=today, on=today)


@pytest.mark.parametrize("width", [1280, 390])
def test_figures_are_looked_at_and_then_saved(page_for, live_server, axe, at_risk, manager, width):
    page = page_for(manager, width=width)
    page.goto(f"{live_server.url}{reverse('people:firm')}")
    page.get_by_role("link", name="How people are reminded").click()
    expect(page.get_by_role("heading", name="Who hears of what")).to_be_visible()
    axe(page)
    page.get_by_label("C2, potentially dangerous: once late, again every, days").fill("3")
    page.get_by_role("button", name=SHOW).click()
    expect(page.get_by_role("heading", name="What these figures would send")).to_be_visible()
    expect(page.get_by_text("These figures make danger quieter than shipped.")).to_be_visible()
    axe(page)
    if width == 390:
        must_be_large_enough(page)
    ahead = page.locator("table.days").last
    ahead.locator("summary").first.press("Enter")
    ahead.locator("details[open]").get_by_role("button", name=manager.name).press("Enter")
    opened = page.locator("#lines .opened")
    expect(opened.get_by_role("heading", name=manager.name)).to_be_visible()
    axe(page)
    page.keyboard.press("Control+Enter")
    assert rules_in_force() == SHIPPED  # outside the form nothing is saved by a key


def test_danger_made_quieter_asks_why_and_is_saved_by_keyboard(page_for, live_server, axe, at_risk, manager):
    page = page_for(manager)
    page.goto(f"{live_server.url}{reverse('due:settings')}")
    every = page.get_by_label("C2, potentially dangerous: once late, again every, days")
    every.fill("3")
    every.press("Control+Enter")
    expect(page.locator("#wrongs")).to_contain_text("This makes danger quieter than shipped, so say why.")
    expect(every).to_have_value("3")
    axe(page)
    page.get_by_label("Why").fill("We look at them together on Mondays")
    page.get_by_label("Why").press("Enter")
    expect(page.get_by_text("People are reminded by these figures from now on.")).to_be_visible()
    expect(page.get_by_text("“We look at them together on Mondays”")).to_be_visible()
    assert rules_in_force()[Sort.C2] == Days(7, 3, 2, 5)
    page.get_by_role("button", name="Put back the shipped figures").click()
    expect(page.get_by_text("The shipped figures stand below and are not saved yet")).to_be_visible()
    expect(every).to_have_value("1")
    page.get_by_role("button", name=SAVE).click()
    expect(page.get_by_text("People are reminded by these figures from now on.")).to_be_visible()
    assert rules_in_force() == SHIPPED
