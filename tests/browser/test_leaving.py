"""Our part at a site ends, and a customer stops reminders: walked at 1280 and 390 px, with axe."""

import os
from datetime import timedelta
from pathlib import Path

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from inspections.models import DangerNotice, InspectionDue, MadeSafe
from jobsite import clock
from jobsite.firm.models import Firm
from remedials.due.models import Leaving, NoReminders
from remedials.due.operations.stopping import token_of
from remedials.works.models import WayOut
from tests.factories import (
    anybody,
    make_inspection,
    make_observation,
    make_paper,
    make_remedial,
    make_reminder,
    make_sent_offer,
    make_terms,
    make_visit,
    unit_of,
)

PICTURES = os.environ.get("LEAVING_PICTURES", "")


def kept(page, name: str) -> None:
    """A picture of the page, where somebody wants to look at it."""
    if PICTURES:
        page.screenshot(path=Path(PICTURES) / f"{name}.png", full_page=True)


@pytest.fixture
def open_site(site):
    """A site with dangers made safe and not, work refused and quoted, papers and a next inspection."""
    now = clock.now()
    today, by = clock.local_day(now), anybody("office")
    Firm.objects.create(
        name="Sample Sparks", address="3 Works Lane\nSampleton", phone="01632 960123", email="office@example.com"
    )
    make_terms()
    worst = make_observation(site, "Bare ends behind the cover of the shower board", code="C1", made_safe=True, by=by)
    MadeSafe.objects.create(
        observation=worst, how="locked", what="way 3 locked off", agreed_with="Petra Landlady", lock="12",
        key_holder="Edwin Wireman", at=now, by=by, look_again_on=today + timedelta(days=5),
    )  # fmt: skip
    notice = DangerNotice.objects.create(
        number=77, site=site, why="Live parts", advised="Leave way 3 locked off until the board is made good.",
        given_to="Petra Landlady", how="hand", given_at=now, given_by=by,
    )  # fmt: skip
    notice.observations.add(worst)
    make_sent_offer(
        make_remedial(make_observation(site, "No RCD on the sockets", code="C2", by=by), work="Fit an RCD"), by=by
    )
    make_observation(site, "Signs of heat at the neutral bar", code="FI", by=by)
    refused = make_remedial(make_observation(site, "Old labels", code="C3", by=by), stage="declined", work="New labels")
    WayOut.objects.create(
        remedial=refused, stage="declined", who="Petra Landlady", on=today, recorded_by=by, recorded_at=now
    )
    make_inspection(site).limitations.create(what="the loft", why="no ladder")
    due_on = today + timedelta(days=200)
    InspectionDue.objects.create(
        unit=unit_of(site), due_on=due_on, basis="A sample rule.", by_law=True, shows_from=today
    )
    make_paper(site, due_on=today, by=by)
    return site


@pytest.mark.parametrize("width", [1280, 390])
def test_our_part_ends_and_they_come_back(page_for, axe, open_site, width) -> None:
    site = open_site
    visit = make_visit(site, start=clock.now() + timedelta(days=1))
    page = page_for("office", width=width)
    page.goto(reverse("desk:site", args=[site.pk]))
    page.get_by_role("link", name="End our part here").click()
    expect(page.get_by_role("heading", name="To be settled first")).to_be_visible()
    kept(page, f"blocked-{width}")
    axe(page)
    type(visit).objects.filter(pk=visit.pk).update(state="cancelled", cancelled_reason="they leave")
    page.reload()
    page.get_by_label("the customer goes elsewhere").check()
    page.get_by_label("How we know").fill("She rang on Monday")
    kept(page, f"writing-{width}")
    axe(page)
    page.get_by_role("button", name="Write the letter").click()
    expect(page.get_by_role("link", name="It was delivered")).to_be_visible()
    kept(page, f"written-{width}")
    axe(page)
    page.get_by_role("link", name="It was delivered").click()
    page.get_by_label("handed over").check()
    kept(page, f"delivering-{width}")
    axe(page)
    page.get_by_role("button", name="End our part here").click()
    expect(page.get_by_role("heading", name="has ended")).to_be_visible()
    kept(page, f"ended-{width}")
    axe(page)
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    page.get_by_role("button", name="They came back").click()
    page.wait_for_load_state()
    expect(page.get_by_text("On the lists again.")).to_be_visible()
    assert Leaving.objects.get().taken_back_at is not None


@pytest.mark.parametrize("width", [1280, 390])
def test_a_customer_stops_reminders_and_the_office_sees_it(page_for, axe, open_site, live_server, width) -> None:
    site = open_site
    page = page_for("office", width=width)
    page.goto(reverse("due:stop", args=[token_of(make_reminder(site))]))
    expect(page.get_by_role("heading", name="Stop reminders?")).to_be_visible()
    kept(page, f"stop-{width}")
    axe(page)
    page.get_by_role("button", name="Stop reminders to me").click()
    expect(page.get_by_role("heading", name="You get no more reminders")).to_be_visible()
    kept(page, f"stopped-{width}")
    axe(page)
    assert NoReminders.objects.filter(party=site.customer, lifted_at=None).exists()
    page.goto(reverse("premises:party", args=[site.customer_id]))
    expect(page.get_by_text("Gets no reminders since")).to_be_visible()
    kept(page, f"party-{width}")
    page.get_by_role("link").filter(has_text="Gets no reminders").click()
    expect(page.get_by_role("button", name="Let them have reminders again")).to_be_visible()
    kept(page, f"reminders-{width}")
    axe(page)
    page.get_by_role("button", name="Let them have reminders again").click()
    expect(page.get_by_text("gets reminders again.")).to_be_visible()
