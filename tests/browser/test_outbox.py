"""What is kept on the device goes out one after another, whatever the server, or what stands before it, answers to one."""

import re

import pytest
from playwright.sync_api import Page, Route, expect

from inspections import operations
from inspections.models import Inspection, Observation
from jobsite import clock
from jobsite.ids import new_id
from tests import factories as make

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def draft(transactional_db, qualified) -> Inspection:
    site, now = make.make_site("Kiln Cottage"), clock.now()
    return operations.start_inspection(
        site, id=new_id(), units=[make.unit_of(site)], boards=[make.make_board(site, "Hall")], kind="periodic",
        other_firm=False, inspected_on=clock.local_day(now), edition="2018+A2:2022", by=qualified, now=now,
    )  # fmt: skip


class Gateway:
    """Answers in the server's place, with `status`, whatever speaks of `about`; all else passes."""

    def __init__(self, page: Page, *, about: str, status: int) -> None:
        self.about, self.status, self.asked = about, status, 0
        page.route("**/inspections/**", self)

    def __call__(self, route: Route) -> None:
        if self.about and self.about.encode() in (route.request.post_data_buffer or b""):
            self.asked += 1
            route.fulfill(status=self.status, body="<h1>Not now</h1>", content_type="text/html")
        else:
            route.continue_()


def keep_without_network(page: Page, draft: Inspection, *texts: str) -> None:
    """Type these with no network: they wait on the device."""
    page.goto(f"/inspections/{draft.pk}/")
    page.context.set_offline(True)
    for number, text in enumerate(texts, start=1):
        expect(page.get_by_label("What was observed")).to_have_value("")  # the one before has left the form
        page.get_by_label("What was observed").fill(text)
        page.get_by_label("C3 improvement recommended").check()
        page.keyboard.press("Control+Enter")
        expect(page.locator("#not-sent li")).to_have_count(number)


@pytest.mark.parametrize("status", [500, 503, 429])
def test_one_that_the_server_fails_holds_up_no_other(page_for, axe, draft, qualified, status) -> None:
    page = page_for(qualified, answered=(status,))
    gateway = Gateway(page, about="Cracked lid", status=status)
    keep_without_network(page, draft, "Cracked lid", "No label")
    page.context.set_offline(False)
    expect(page.get_by_role("cell", name="No label")).to_be_visible()
    left = page.locator("#not-sent li")
    expect(left).to_have_count(1)
    said = "sent too much in a short time" if status == 429 else "Something went wrong on the server"
    expect(left).to_contain_text("Cracked lid")
    expect(left).to_contain_text(said)
    expect(left).to_contain_text("tried again by itself")
    axe(page)
    before, gateway.about = gateway.asked, ""
    assert before >= 1
    page.get_by_role("button", name="Send now").click()
    expect(page.get_by_role("cell", name="Cracked lid")).to_be_visible()
    expect(page.locator("#not-sent")).to_have_count(0)
    assert [o.text for o in Observation.objects.order_by("number")] == ["No label", "Cracked lid"]


def test_one_that_the_server_always_fails_can_be_put_right_or_thrown_away(page_for, draft, qualified) -> None:
    page = page_for(qualified, answered=(500,))
    Gateway(page, about="Cracked", status=500)
    keep_without_network(page, draft, "Cracked lid", "Cracked door")
    page.context.set_offline(False)
    left = page.locator("#not-sent li")
    expect(left.get_by_text("Something went wrong on the server")).to_have_count(2)
    away = left.first.get_by_role("button", name="Throw it away")
    away.click()
    left.first.get_by_role("button", name="Throw it away for good").click()
    expect(left).to_have_count(1)
    left.get_by_role("button", name="Put it right").click()
    expect(page.get_by_label("What was observed")).to_have_value("Cracked door")
    page.get_by_label("What was observed").fill("Door will not shut")
    page.get_by_role("button", name="Save and next").click()
    expect(page.get_by_role("cell", name="Door will not shut")).to_be_visible()
    assert [o.text for o in Observation.objects.all()] == ["Door will not shut"]


def test_what_the_server_fails_is_said_at_the_form_too(page_for, draft, qualified) -> None:
    page = page_for(qualified, width=390, answered=(500,))
    Gateway(page, about="Cracked lid", status=500)
    page.goto(f"/inspections/{draft.pk}/")
    page.get_by_label("What was observed").fill("Cracked lid")
    page.get_by_label("C3 improvement recommended").check()
    page.get_by_role("button", name="Save and next").click()
    expect(page.locator(".kept-note")).to_contain_text("Something went wrong on the server. It is kept on this device")
    expect(page.locator("#not-sent li")).to_contain_text("Cracked lid")
    expect(page.get_by_label("What was observed")).to_have_value("")


def test_too_large_is_said_as_such_and_kept_in_its_form(page_for, draft, qualified) -> None:
    page = page_for(qualified, answered=(413,))
    Gateway(page, about="Cracked lid", status=413)
    keep_without_network(page, draft, "Cracked lid", "No label")
    page.context.set_offline(False)
    expect(page.get_by_role("cell", name="No label")).to_be_visible()
    left = page.locator("#not-sent li")
    expect(left).to_have_count(1)
    expect(left).to_contain_text("Not saved: It is too large to be sent. Take a photo off, or put in a smaller one.")
    left.get_by_role("button", name="Put it right").click()
    expect(page.get_by_label("What was observed")).to_have_value("Cracked lid")


def test_what_came_after_the_issue_holds_up_no_other_and_is_put_right_in_the_reissue(
    page_for, axe, draft, qualified
) -> None:
    other = make.make_site("Malt House")
    second = operations.start_inspection(
        other, id=new_id(), units=[make.unit_of(other)], boards=[make.make_board(other, "Hall")], kind="periodic",
        other_firm=False, inspected_on=clock.local_day(clock.now()), edition="2018+A2:2022", by=qualified, now=clock.now(),
    )  # fmt: skip
    page = page_for(qualified, answered=(409,))
    page.goto(f"/inspections/{second.pk}/")
    first = page.context.new_page()  # another tab, on the draft that is issued meanwhile
    first.goto(f"/inspections/{draft.pk}/")
    page.context.set_offline(True)
    for tab, text in ((first, "Cracked lid"), (page, "No label")):
        tab.get_by_label("What was observed").fill(text)
        tab.get_by_label("C3 improvement recommended").check()
        tab.keyboard.press("Control+Enter")
        expect(tab.locator("#not-sent")).to_contain_text(text)
    operations.issue_inspection(draft, by=qualified, now=clock.now())
    first.close()
    page.bring_to_front()
    page.context.set_offline(False)
    # Of itself: when the network comes back, else with the next half minute.
    expect(page.get_by_role("cell", name="No label")).to_be_visible(timeout=60_000)
    left = page.locator("#not-sent li")
    expect(left).to_have_count(1)
    expect(left).to_contain_text("Cracked lid")
    expect(left).to_contain_text("Not saved: The report was issued meanwhile")
    axe(page)
    with page.expect_navigation():
        left.get_by_role("button", name="Put it right").click()
    expect(page).to_have_url(re.compile(f"/inspections/{draft.pk}/$"))
    expect(left).to_contain_text("Cracked lid")  # the report has no form: it is still told
    reissue = operations.reissue_inspection(
        draft, id=new_id(), reason="A lid was left out", by=qualified, now=clock.now()
    )
    page.goto(f"/inspections/{reissue.pk}/")
    expect(page.get_by_label("What was observed")).to_have_value("Cracked lid")
    page.get_by_role("button", name="Save and next").click()
    expect(page.get_by_role("cell", name="Cracked lid")).to_be_visible()
    expect(page.locator("#not-sent")).to_have_count(0)
    assert Observation.objects.get(text="Cracked lid").inspection == reissue
