"""An inspection from its beginning to its issue, and another firm's report under review, as people do it."""

import pytest
from playwright.sync_api import expect

from inspections import operations
from inspections.models import Inspection, Observation, Review
from jobsite import clock
from jobsite.ids import new_id
from tests import factories as make
from tests.browser.conftest import look

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def site(transactional_db):
    return make.make_site("Kiln Cottage", tenure="private-rented", earthing="TN-S")


@pytest.fixture
def board(site):
    board = make.make_board(site, "Hall")
    make.make_circuit(board, 5)
    return board


def test_an_inspection_is_entered_with_the_keyboard_and_issued(page_for, axe, site, board, qualified) -> None:
    page = page_for(qualified)
    page.goto(f"/sites/{site.pk}/inspections/new/")
    axe(page)
    look(page, "new")
    page.get_by_label("Edition of BS 7671").select_option("2018+A2:2022")
    page.get_by_label("Hall").check()
    page.get_by_role("button", name="Begin").click()
    for way, text, code in (("5", "Burnt neutral at the terminal", "C1"), ("", "No label at the main switch", "C3")):
        expect(page.get_by_label("Board", exact=True)).to_be_focused()
        page.keyboard.type("Hall")
        page.keyboard.press("Tab")
        page.keyboard.type(way)
        for _ in range(2):
            page.keyboard.press("Tab")
        page.keyboard.type(text)
        page.keyboard.press("Tab")
        page.keyboard.press(code[1])
        page.keyboard.press("Control+Enter")
        expect(page.get_by_role("cell", name=text)).to_be_visible()
    axe(page)
    look(page, "draft")
    assert [(o.code, str(o.board)) for o in Observation.objects.order_by("number")] == [("C1", "Hall"), ("C3", "Hall")]
    page.get_by_role("link", name="Made safe").click()
    axe(page)
    look(page, "make-safe")
    page.get_by_label("How").select_option("locked")
    page.get_by_label("What exactly, and where").fill("Way 5 off and locked")
    page.get_by_label("Agreed with").fill("the owner")
    page.get_by_role("button", name="Made safe").click()
    expect(page.get_by_text("Say who holds the key of the lock.").first).to_be_visible()
    axe(page)
    page.get_by_label("Who holds the key").fill("Edwin")
    page.get_by_label("Why there can be no photo").fill("No light at the board")
    page.get_by_role("button", name="Made safe").click()
    expect(page.get_by_label("Who holds the key")).to_have_count(0)
    page.get_by_role("link", name="Danger notice").click()
    axe(page)
    look(page, "notice")
    page.get_by_label("Why it is dangerous").fill("The terminal burns")
    page.get_by_label("What was advised").fill("Leave it off")
    page.get_by_label("Given to").fill("the owner")
    page.get_by_role("button", name="Notice given").click()
    expect(page.get_by_role("heading", name="Answer to danger notice")).to_be_visible()
    page.goto(f"/inspections/{Inspection.objects.get().pk}/")
    expect(page.get_by_text("is a C1:")).to_have_count(0)
    page.get_by_role("button", name="Issue report").click()
    expect(page.get_by_text("Overall assessment: unsatisfactory.")).to_be_visible()
    axe(page)
    look(page, "report")
    assert Inspection.objects.get().state == "issued"


def taken_in(site, board, office) -> Inspection:
    now = clock.now()
    unit = make.unit_of(site)
    report = operations.start_inspection(
        site,
        id=new_id(),
        units=[unit],
        boards=[board],
        kind="periodic",
        other_firm=True,
        inspected_on=clock.local_day(now),
        edition="2018+A2:2022",
        firm_name="Invented Sparks",
        outcome_written="satisfactory",
        by=office,
        now=now,
    )
    for code, text in (("C2", "No RCD on the sockets"), ("C3", "Old colours"), ("FI", "Neutral not traced")):
        operations.note_observation(
            report, id=new_id(), unit=unit, board=board, text=text, code=code, by=office, now=now
        )
    return operations.issue_inspection(report, by=office, now=now)


@pytest.mark.parametrize("width", [1280, 390])
def test_codes_are_reviewed_one_by_one(page_for, axe, site, board, office, qualified, width) -> None:
    report = taken_in(site, board, office)
    page = page_for(qualified, width=width)
    page.goto(f"/inspections/{report.pk}/")
    axe(page)
    look(page, f"other-firm-{width}")
    page.get_by_role("link", name="Review its codes").click()
    axe(page)
    look(page, f"codes-{width}")
    first, second = page.locator("section[data-card]").nth(0), page.locator("section[data-card]").nth(1)
    first.get_by_text("Examples in published guidance").click()
    expect(first.get_by_text("General socket-outlets indoors have no RCD")).to_be_visible()
    axe(page)
    look(page, f"codes-examples-{width}")
    first.get_by_role("button", name="Decide").click()
    expect(first.get_by_text("Decision: Choose one.")).to_be_visible()
    first.get_by_label("recode to C1").check()
    first.get_by_role("button", name="Decide").click()
    expect(first.get_by_text("Say why")).to_be_visible()
    expect(first.get_by_label("recode to C1")).to_be_checked()
    first.get_by_label("Reason").fill("Live parts within reach")
    first.get_by_role("button", name="Decide").click()
    expect(page.get_by_text("1 of 3 decided").first).to_be_visible()
    expect(first.get_by_text("recodes: C1 – Live parts within reach")).to_be_visible()
    expect(second).to_be_focused()
    second.get_by_label("Reason").fill("half a sentence")
    second.get_by_label("Reason").press("Enter")
    expect(second.get_by_text("Decision: Choose one.")).to_be_visible()
    expect(second.get_by_label("Reason")).to_have_value("half a sentence")
    axe(page)
    look(page, f"codes-decided-{width}")
    assert Review.objects.get().code == "C1"


def test_codes_are_reviewed_by_keyboard_alone(page_for, axe, site, board, office, qualified) -> None:
    report = taken_in(site, board, office)
    seen = report.observations.order_by("number")[0]
    operations.add_photo(seen, data=make.picture(), by=qualified, now=clock.now(), caption="the sockets")
    page = page_for(qualified)
    page.goto(f"/inspections/{report.pk}/codes/")
    cards = page.locator("section[data-card]")
    page.keyboard.press("a")  # no card has the focus: no key does anything
    page.keyboard.press("ArrowDown")
    expect(cards.nth(0)).to_be_focused()
    page.keyboard.press("r")
    page.keyboard.type("an 1FaN in words")  # while somebody types no key fires
    expect(cards.nth(0).get_by_label("Reason")).to_have_value("an 1FaN in words")
    assert not Review.objects.exists()
    page.keyboard.press("Escape")
    page.keyboard.press("ArrowDown")
    expect(cards.nth(1)).to_be_focused()
    page.keyboard.press("ArrowUp")
    page.keyboard.press("a")
    expect(page.get_by_text("1 of 3 decided").first).to_be_visible()
    expect(cards.nth(1)).to_be_focused()
    page.keyboard.press("2")
    page.keyboard.type("Sockets outdoors")
    page.keyboard.press("Enter")
    expect(cards.nth(2)).to_be_focused()
    page.keyboard.press("u")
    expect(cards.nth(1)).to_be_focused()
    page.keyboard.press("3")
    page.keyboard.type("As they wrote after all")
    page.keyboard.press("Enter")
    expect(cards.nth(2)).to_be_focused()
    look(page, "codes-keyboard")
    page.keyboard.press("n")
    page.keyboard.type("Traced by us")
    page.keyboard.press("Enter")
    expect(page.get_by_text("How the two assessments differ")).to_be_visible()
    expect(page.locator("#left")).to_be_focused()
    assert [(r.decision, r.code) for r in Review.objects.order_by("at")] == [
        ("agree", "C2"), ("recode", "C2"), ("recode", "C3"), ("no-code", ""),
    ]  # fmt: skip
    axe(page)
    look(page, "codes-compared")
    page.emulate_media(media="print")
    look(page, "codes-printed")


@pytest.mark.parametrize("width", [1280, 390])
def test_somebody_rang(page_for, axe, site, board, office, width) -> None:
    page = page_for(office, width=width)
    page.goto("/rang/")
    axe(page)
    page.get_by_label("Which site").press_sequentially("kiln")
    page.get_by_role("link", name="Kiln Cottage").click()
    axe(page)
    look(page, f"rang-{width}")
    page.get_by_label("Who reported it").fill("the tenant, 01632 960123")
    page.get_by_label("What is wrong").fill("The cooker socket sparks")
    page.get_by_role("button", name="Take it in").click()
    expect(page.get_by_text("stands above the due list")).to_be_visible()
    assert Observation.objects.get().code == ""


def test_other_forms_have_no_violation(page_for, axe, site, board, office, qualified) -> None:
    report = taken_in(site, board, office)
    seen = report.observations.get(code="FI")
    page = page_for(qualified, width=390)
    for act in ("review", "finding", "take-on", "make-safe", "notice", "photos/new"):
        page.goto(f"/observations/{seen.pk}/{act}/")
        axe(page)
        look(page, act.replace("/", "-"))
    page.goto(f"/circuits/{board.circuits.get().pk}/readings/new/")
    axe(page)
    look(page, "reading")
    for path in ("/inspections/", f"/inspections/{report.pk}/limitations/new/"):
        page.goto(path)
        axe(page)
        look(page, path.strip("/").replace("/", "-")[-20:])
