"""The planner in a browser: asked for, waited for, decided on by mouse and by keyboard, on a phone and on paper."""

from datetime import timedelta

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from jobsite import clock
from jobsite.firm.models import Progress
from remedials.visits import tasks
from remedials.visits.driving.table import HEADS
from remedials.visits.models import Plan, Visit
from tests import factories as make
from tests.browser.conftest import look
from tests.remedials.planned import engineer_at_home, site_at, work_at

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def firm(office):
    """Three engineers and a dozen pieces of work, one of which nobody has the skill for, one nobody knows where."""
    people = [engineer_at_home(name) for name in ("Edwin Wireman", "Ona Cableson", "Percy Fuse")]
    codes = ("C1", "C2", "C2", "FI", "C3", "C3", "C2", "C3", "C1", "C3")
    for n, code in enumerate(codes):
        work_at(site_at(f"Sample Wharf {n + 1}", 5 * n % 17, 3 * n % 11), code, "C3", minutes=60 + 15 * n)
    work_at(site_at("Alarm Hall", 4), "C2", skill="fire alarms", work="Replace the panel of the fire alarm")
    work_at(make.make_site("Nowhere Lodge"), "C2", work="Fit a cover")
    return people


def ask(page) -> Plan:
    """A plan asked for on the page, quick, for the days that it names at first."""
    page.goto(reverse("visits:plan_new"))
    page.get_by_label("Quick").check()
    page.get_by_role("button", name="Work it out").click()
    expect(page.get_by_text("Waiting for the worker to begin.")).to_be_visible()
    return Plan.objects.get()


def test_from_asking_to_a_booked_visit(page_for, axe, office, firm) -> None:
    page = page_for(office)
    page.goto(reverse("visits:plans"))
    expect(page.get_by_text("No plan yet")).to_be_visible()
    axe(page)
    page.goto(reverse("visits:plan_new"))
    expect(page.get_by_role("link", name="Nowhere Lodge")).to_be_visible()
    axe(page)
    look(page, "plan new 1280")
    plan = ask(page)
    axe(page)
    look(page, "plan waiting 1280")
    tasks.work_out(str(plan.pk))
    expect(
        page.get_by_role("heading", name="Compared with taking the earliest date first and the nearest engineer")
    ).to_be_visible()  # the page looked again by itself
    axe(page)
    look(page, "plan 1280")
    expect(
        page.get_by_text("Nobody who works in these days").or_(page.get_by_text("fire alarms")).first
    ).to_be_visible()
    first = page.get_by_role("button", name="Accept Sample Wharf").first
    first.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_text("booked.")).to_be_visible()
    assert Visit.objects.count() == 1
    page.get_by_role("link", name="Refuse Sample Wharf").first.click()
    page.get_by_label("Why it is refused").fill("The tenant is away.")
    axe(page)
    page.get_by_role("button", name="Refuse it").click()
    expect(page.get_by_text("The tenant is away.")).to_be_visible()
    page.get_by_role("button", name="Accept all that are open").click()
    expect(page.get_by_text("visits booked.")).to_be_visible()
    expect(page.get_by_role("button", name="Accept all that are open")).to_have_count(0)
    axe(page)
    look(page, "plan decided 1280")


def test_on_a_phone_and_on_paper(page_for, axe, office, firm) -> None:
    page = page_for(office, width=390, height=844)
    plan = ask(page)
    look(page, "plan waiting 390")
    tasks.work_out(str(plan.pk))
    make.make_plan(state="failed", sentence="It took too long.", figures={"faults": ["One visit overlaps another."]})
    failed = Plan.objects.get(state="failed")
    addresses = [reverse(f"visits:{name}") for name in ("plans", "plan_new", "driving")]
    addresses += [reverse("visits:plan", args=[row.pk]) for row in (plan, failed)]
    proposal = plan.proposals.order_by("start").first()
    addresses += [reverse(f"visits:proposal_{what}", args=[proposal.pk]) for what in ("accept", "refuse")]
    for n, address in enumerate(addresses):
        page.goto(address)
        axe(page)
        assert page.evaluate("document.documentElement.scrollWidth") <= 390, address
        look(page, f"plan page {n} 390")
    page.goto(reverse("visits:plan", args=[plan.pk]))
    page.emulate_media(media="print")
    expect(page.get_by_role("button", name="Accept all that are open")).to_be_hidden()
    expect(page.get_by_text("minutes from").first).to_be_visible()


def test_waiting_without_scripts(page_for, office, firm) -> None:
    page = page_for(office, java_script_enabled=False)
    plan = ask(page)
    Progress.objects.update(changed_at=clock.now() - timedelta(minutes=1))
    page.get_by_role("link", name="Look again").click()
    page.get_by_role("button", name="Work it out now").click()
    expect(
        page.get_by_role("heading", name="Compared with taking the earliest date first and the nearest engineer")
    ).to_be_visible()
    plan.refresh_from_db()
    assert plan.state == "ready"


def test_the_table_of_driving_times(page_for, axe, office) -> None:
    page = page_for(office)
    page.goto(reverse("visits:driving"))
    axe(page)
    for data in ("QX1,QX2,soon,3", "QX1,QX2,25,18.4"):
        file = {"name": "t.csv", "mimeType": "text/csv", "buffer": f"{','.join(HEADS)}\n{data}\n".encode()}
        page.get_by_label("The table").set_input_files(file)  # type: ignore[arg-type]
        page.get_by_role("button", name="Replace the table").click()
        expect(page.get_by_text("is no number" if "soon" in data else "holds 1 driving time")).to_be_visible()
        axe(page)
        look(page, f"driving {data[8:10]} 1280")
