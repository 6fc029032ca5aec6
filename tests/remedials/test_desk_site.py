"""The page of one site: supply, what is open, how it stands, what comes next, at a cost that does not grow."""

import re
from datetime import date, timedelta

import pytest
import time_machine
from django.urls import reverse

from inspections.models import InspectionDue, Limitation
from remedials.visits.models import Attendance, Visit, VisitLine
from tests.factories import (
    NOON,
    TODAY,
    grant_access,
    make_board,
    make_circuit,
    make_feed,
    make_inspection,
    make_observation,
    make_party,
    make_remedial,
    make_second_source,
    make_site,
    make_unit,
    unit_of,
)
from tests.remedials.desk import acts_of, hold, hrefs, read, statements, text_of, wait_on

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def at_noon():
    with time_machine.travel(NOON, tick=False):
        yield


@pytest.fixture
def at_desk(client, office):
    client.force_login(office)
    return client


def page(site) -> str:
    return reverse("desk:site", args=[site.pk])


def book(remedial, engineer, by, *, start=NOON + timedelta(days=2), number: int = 1, **more):
    end = start + timedelta(hours=2)
    visit = Visit.objects.create(
        number=number, site=remedial.site, start=start, end=end, booked_by=by, booked_at=NOON, **more
    )
    VisitLine.objects.create(visit=visit, remedial=remedial)
    Attendance.objects.create(visit=visit, engineer=engineer, start=start, end=end)
    return visit


# --- head and supply --------------------------------------------------------------------------------------------------


def test_the_head_says_where_whose_and_how_it_is_supplied(at_desk):
    site = make_site("Mill Cottage", phases=("L1", "L2", "L3"), earthing="TN-S", main_fuse_a=100, access_notes="Dog")
    words = read(at_desk, page(site))
    assert (
        "Mill Cottage 1 Sample Street, Sampleton, QX1 2AB · customer Petra Landlady · "
        "house or flat, owner-occupied, England · 100 A × 3, TN-S" in words
    )
    assert "Access: Dog" in words


def test_a_plain_house_shows_neither_unit_nor_supply_as_words(at_desk, office):
    site = make_site("Mill Cottage")
    make_inspection(site, by=office)
    make_observation(site, board=make_board(site), by=office)
    InspectionDue.objects.create(unit=unit_of(site), due_on=TODAY, basis="as recommended", shows_from=TODAY)
    words = read(at_desk, page(site)).replace("How it is supplied", "").lower()
    for word in (" unit", " supply", " supplies"):
        assert word not in words.replace("supply drawing", "").replace("1 supply, 1 board", "")


def test_flats_list_their_units(at_desk):
    site = make_site("Flats")
    make_unit(site, "Flat 2", tenure="private-rented")
    assert "Units · 2" in read(at_desk, page(site))
    assert "Flat 2 house or flat, rented from a private landlord" in read(at_desk, page(site))


def test_the_drawing_carries_the_open_items_of_each_board(at_desk, office):
    site = make_site("Boatyard")
    hoist = make_board(site, "Slip hoist")
    for code in ("C2", "C2", "C3"):
        make_observation(site, code=code, board=hoist, by=office)
    hold(make_observation(site, code="C1", board=hoist, by=office), by=office)
    response = at_desk.get(page(site))
    marks = {
        key: [(m.code, m.count, m.made_safe) for m in value] for key, value in response.context["drawing_marks"].items()
    }
    assert marks == {str(hoist.pk): [("C1", 1, True), ("C2", 2, False), ("C3", 1, False)]}
    words = text_of(response)
    assert "open: C1 ×1 made safe, C2 ×2, C3 ×1" in words
    assert "C1 made safe 1 C2 2 C3 1" in words
    assert reverse("premises:board", args=[hoist.pk]) in hrefs(response)
    assert "prove dead with an approved tester" in words


def test_a_site_without_boards_says_so(at_desk):
    assert "No board has been entered yet." in read(at_desk, page(make_site()))


# --- what is open -----------------------------------------------------------------------------------------------------


def test_an_open_item_says_where_what_is_done_and_who_has_it(at_desk, site, office, engineer):
    board = make_board(site, "Kitchen board")
    seen = make_observation(
        site, "Live parts", code="C1", board=board, circuit=make_circuit(board, 3), place="hob", by=office
    )
    hold(seen, by=engineer, look_again_on=TODAY + timedelta(days=1))
    remedial = make_remedial(seen, stage="approved", owner=office, step_by=TODAY + timedelta(days=2), by=office)
    response = at_desk.get(page(site))
    words = text_of(response)
    assert f"Live parts Kitchen board, way 3L1, hob · remedial {remedial.number} approved" in words
    assert "Made safe, still open: isolated and locked, key with Dirk, look again tomorrow" in words
    assert "Look again at what was made safe : Live parts" in words
    assert {f"/observations/{seen.pk}/", f"/remedials/{remedial.pk}/"} <= hrefs(response)


def test_a_loose_end_is_marked(at_desk, site, office):
    make_observation(site, "Nobody has it", owner=None, by=office)
    assert "Decide what it needs : Nobody has it nobody I have it : Nobody has it today loose end" in read(
        at_desk, page(site)
    )


def test_an_item_that_its_remedial_carries_shows_the_remedials_step(at_desk, site, office):
    grave, mild = (
        make_observation(site, "Grave", code="C2", by=office),
        make_observation(site, "Mild", code="C3", by=office),
    )
    remedial = make_remedial(grave, mild, stage="approved", by=office)
    response = at_desk.get(page(site))
    steps = [row["step"] for row in response.context["open"] + response.context["improvements"]]
    assert steps == ["Book the work", "Book the work"]
    assert f"/remedials/{remedial.pk}/" in hrefs(response)


def test_the_worst_stand_first_and_c3_folds_away(at_desk, site, office):
    for code in ("C3", "FI", "", "C2", "C1"):
        make_observation(site, f"code {code}", code=code, by=office)
    context = at_desk.get(page(site)).context
    assert [row["letters"] for row in context["open"]] == ["C1", "C2", "FI", ""]
    assert [row["letters"] for row in context["improvements"]] == ["C3"]


def test_nothing_open_claims_no_more_than_the_record(at_desk, site):
    words = read(at_desk, page(site))
    assert "No open item is recorded." in words
    assert "No C1, C2 or FI is recorded open." in words
    assert "No report is on record: how it stands is not known." in words


# --- how it stands ----------------------------------------------------------------------------------------------------


def test_the_assessment_stays_and_works_stand_beside_it(at_desk, site, office):
    report = make_inspection(site, inspected_on=date(2025, 2, 3), by=office, outcome_basis="C2 recorded")
    make_observation(site, inspection=report, ended="remedied", ended_on=TODAY, by=office)
    make_observation(site, inspection=report, code="FI", by=office)
    make_observation(site, inspection=report, code="C3", by=office)
    words = read(at_desk, page(site))
    assert (
        "Report of 3 Feb 2025: unsatisfactory. Confirmed complete: 1 of 2 that it requires put right. C2 recorded"
        in words
    )
    assert "An assessment never changes after the fact" in words


@pytest.mark.parametrize(
    ("later", "complete"),
    [
        (None, 1),
        ({"code": "C2"}, 0),
        ({"code": "C3"}, 1),
        ({"code": "C2", "ended": "remedied", "ended_on": TODAY}, 1),
    ],
)
def test_an_investigation_is_complete_once_nothing_it_found_is_open(at_desk, site, office, later, complete):
    report = make_inspection(site, by=office)
    asked = make_observation(site, inspection=report, code="FI", ended="finding", ended_on=TODAY, by=office)
    if later:
        make_observation(site, continues=asked, by=office, **later)
    assert f"Confirmed complete: {complete} of 1" in read(at_desk, page(site))


def test_what_the_report_says_and_what_its_rule_gives_are_both_shown(at_desk, site, office):
    make_inspection(
        site,
        inspected_on=date(2025, 2, 3),
        outcome_written="satisfactory",
        by=office,
        other_firm=True,
        firm_name="Somebody Else",
    )
    words = read(at_desk, page(site))
    assert "Report of 3 Feb 2025: satisfactory, as written. Somebody Else" in words
    assert "The report says satisfactory; by the rule of its edition it is unsatisfactory." in words


def test_each_unit_has_its_last_assessment(at_desk, office):
    site = make_site("Flats")
    flats = [make_unit(site, f"Flat {n}") for n in (2, 3)]
    for on, units in ((date(2024, 5, 1), flats), (date(2025, 5, 1), flats[:1])):
        make_inspection(site, units=units, inspected_on=on, by=office)
    heads = [row["head"] for row in at_desk.get(page(site)).context["assessments"]]
    assert heads == [
        "Report of 1 May 2025 (Flat 2): unsatisfactory.",
        "Report of 1 May 2024 (Flat 2, Flat 3): unsatisfactory.",
    ]


def test_a_draft_is_listed_but_assesses_nothing(at_desk, site, office):
    report = make_inspection(site, issued=False, by=office)
    words = read(at_desk, page(site))
    assert f"Periodic inspection {report.number} , 3 Feb 2026: being written" in words
    assert "No report is on record" in words


def test_action_required_names_the_first_date_and_its_rule(at_desk, site, office):
    law = {"remedy_by": date(2026, 2, 20), "remedy_basis": "SI 2020/312, 28 days.", "remedy_by_law": True}
    make_observation(site, code="C2", by=office, remedy_by=date(2026, 3, 1), remedy_basis="the firm's policy")
    make_observation(site, code="C2", by=office, **law)
    words = read(at_desk, page(site))
    assert (
        "C2 2 items open, the first to be remedied by 20 Feb 2026 (SI 2020/312, 28 days). Check the current law."
        in words
    )


def test_the_next_inspection_carries_its_rule(at_desk, site):
    basis = "SI 2020/312: at most 5 years."
    InspectionDue.objects.create(
        unit=unit_of(site), due_on=TODAY - timedelta(days=1), basis=basis, by_law=True, shows_from=TODAY
    )
    words = read(at_desk, page(site))
    assert "Next inspection by 2 Feb 2026 1 day late SI 2020/312: at most 5 years. Check the current law." in words


def test_limitations_stand_until_covered(at_desk, site, office):
    report = make_inspection(site, inspected_on=date(2025, 2, 3), by=office)
    standing = {"inspection": report, "what": "the loft", "why": "no ladder", "agreed_with": "Petra"}
    Limitation.objects.create(**standing)
    Limitation.objects.create(inspection=report, what="the shed", covered_by=make_inspection(site, by=office))
    Limitation.objects.create(inspection=make_inspection(site, issued=False, by=office), what="the drain")
    words = read(at_desk, page(site))
    assert "Not inspected yet the loft no ladder, agreed with Petra · Report of 3 Feb 2025" in words
    assert "the shed" not in words
    assert "the drain" not in words


# --- works, visits, waiting -------------------------------------------------------------------------------------------


def test_remedials_visits_and_waiting(at_desk, site, office, engineer):
    remedial = make_remedial(make_observation(site, by=office), stage="booked", work="Fit a cover", by=office)
    over = make_remedial(make_observation(site, by=office), stage="reviewed", work="Fit a blank", by=office)
    visit = book(remedial, engineer, office, outage="kitchen off")
    book(over, engineer, office, start=NOON - timedelta(days=9), number=2)
    wait_on(office, remedial=remedial, chase_on=TODAY + timedelta(days=1))
    response = at_desk.get(page(site))
    words = text_of(response)
    assert f"{remedial.number} Fit a cover booked" in words
    assert f"Finished, cancelled, done by others · 1 {over.number}: Fit a blank reviewed" in words
    assert "Visits to come 5 Feb 2026, 12:00–14:00 Edwin Wireman Power off: kitchen off" in words
    assert "network operator : new cut-out, reference NO-1 Olive Deskworth chases tomorrow" in words
    assert [row["href"] for row in response.context["visits"]] == [reverse("visits:visit", args=[visit.pk])]


def test_what_may_be_done_follows_rights_and_stages(client, site, office, engineer):
    approved = make_remedial(make_observation(site, by=office), stage="approved", by=office)
    client.force_login(office)
    response = client.get(page(site))
    assert acts_of(response) == [
        "Share status", "New inspection", "Take in a file", "Somebody rang", "New quote", "Edit", "Book a visit",
    ]  # fmt: skip
    assert f"{reverse('visits:book')}?remedial={approved.pk}" in hrefs(response)
    client.force_login(engineer)
    assert acts_of(client.get(page(site))) == ["New inspection", "Somebody rang"]


def test_an_archived_site_says_so(at_desk):
    words = read(at_desk, page(make_site(archived_at=NOON)))
    assert "This site is archived" in words
    assert "New inspection" not in words


def test_not_yours_is_not_there(client, site, subcontractor):
    client.force_login(subcontractor)
    assert client.get(page(site)).status_code == 404
    grant_access(site, subcontractor)
    assert client.get(page(site)).status_code == 200


@pytest.mark.parametrize("size", [1, 10])
def test_the_page_costs_fourteen_statements_at_any_size(at_desk, office, engineer, size):
    """Session, person, when the reminders ran, the site, five of its supply, two of its labels, what is open, what is due, quotes."""
    site = make_site("Boatyard", customer=make_party("Moorings"))
    intake = make_board(site, "Intake")
    for n in range(size):
        board = make_board(site, f"Board {n + 1}", fed=False)
        make_feed(board, make_circuit(intake))
        make_second_source(board, f"Panels {n}")
        report = make_inspection(site, by=office)
        Limitation.objects.create(inspection=report, what="the loft", board=board)
        seen = make_observation(
            site, code="C1", board=board, inspection=report, unit=make_unit(site, f"Shed {n}"), by=office
        )
        hold(seen, by=office)
        remedial = make_remedial(seen, stage="booked", by=office)
        book(remedial, engineer, office, start=NOON + timedelta(days=n + 1), number=n + 1)
        wait_on(office, remedial=remedial)
    with statements() as sql:
        at_desk.get(page(site))
    assert len(sql) == 14


def test_open_items_are_ticked_for_one_remedial(client, office, engineer):
    site = make_site()
    one, two = make_observation(site, "Cover missing"), make_observation(site, "Label gone", code="C3")
    uncoded = make_observation(site, "Smell of burning", code="")
    client.force_login(office)
    shown = client.get(page(site)).content.decode()
    ticks = re.findall(r'name="observation" value="([^"]+)" form="make-remedial"', shown)
    assert ticks == [str(one.pk), str(two.pk)]
    assert str(uncoded.pk) not in ticks
    make = re.search(r'<form id="make-remedial" method="get" action="([^"]+)"', shown)[1]
    asked = client.get(make, {"observation": ticks}).content.decode()
    assert ("Cover missing" in asked, "Label gone" in asked, "Smell of burning" in asked) == (True, True, False)
    client.force_login(engineer)
    assert "make-remedial" not in client.get(page(site)).content.decode()


def test_a_site_without_a_remedial_leads_to_making_one(client, office):
    site = make_site()
    client.force_login(office)
    assert f"/sites/{site.pk}/remedials/new/" not in hrefs(client.get(page(site)))
    make_observation(site)
    assert f"/sites/{site.pk}/remedials/new/" in hrefs(client.get(page(site)))
