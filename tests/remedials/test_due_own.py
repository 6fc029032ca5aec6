"""Rows of the due list that no site has: instruments, competence, insurance, recalls; and who has a row in hand."""

from datetime import UTC, date, datetime, timedelta
from itertools import product
from random import Random

import pytest
from django.db.models import Q

from jobsite.ids import new_id
from jobsite.people.models import Skill
from jobsite.people.operations import end_competence, end_skill
from remedials.due.models import DueRow, Leaving, ReminderRule, Undertaking
from remedials.due.queries import all_rows, as_dicts, leading_row, narrowed, page_of_rows, rows_due, rows_to_read
from remedials.due.queries import rows as of_rows
from remedials.works.models import RecallDecision
from remedials.works.queries.recalls import faults
from tests import factories as make
from tests.factories import NOON, TODAY
from tests.remedials.desk import hrefs, text_of, wait_on

pytestmark = pytest.mark.django_db
OWN = ("instrument", "competence", "insurance", "recall")
SOON = TODAY + timedelta(days=20)


@pytest.fixture
def manager(db):
    return make.make_user("Mira Owner", "manager")


def row(**only):
    return DueRow.objects.get(**only)


def shown(user, **only):
    """The rows as `user` reads them."""
    return as_dicts(rows_to_read(user, today=TODAY).filter(**only).order_by("kind", "ref"), today=TODAY, user=user)


# --- instruments ------------------------------------------------------------------------------------------------------


def test_an_instrument_shows_90_days_before_its_check_is_due_or_so_long_as_the_firm_set(db):
    instrument = make.make_instrument("T-7", check_due=SOON)
    found = row(kind="instrument")
    assert (found.ref, found.due, found.shows_from) == (instrument.pk, SOON, SOON - timedelta(days=90))
    assert (found.site, found.owner, found.loose, found.subject) == (None, None, False, "Loop tester, T-7")
    ReminderRule.objects.create(sort="own", before=120, every=7)
    assert row(kind="instrument").shows_from == SOON - timedelta(days=120)


def test_who_recorded_its_last_calibration_looks_after_an_instrument_while_they_work_here(manager, engineer):
    instrument = make.make_instrument(check_due=SOON)
    make.make_check(instrument, date(2025, 1, 1), recorded_by=engineer)
    make.make_check(instrument, date(2026, 1, 1), recorded_by=manager)
    make.make_check(instrument, date(2026, 2, 1), kind="comparison", due=None, recorded_by=engineer)
    assert row(kind="instrument").owner == manager
    manager.is_active = False
    manager.save()
    assert row(kind="instrument").owner == engineer


@pytest.mark.parametrize("gone", [{"archived_at": NOON}, {"check_due": None}])
def test_an_instrument_out_of_use_or_never_checked_is_not_asked_for(db, gone):
    make.make_instrument(**gone)
    assert not DueRow.objects.exists()


# --- people -----------------------------------------------------------------------------------------------------------


def test_a_competence_is_renewed_by_its_person_and_only_the_last_counts(engineer):
    make.make_competence(engineer, since=date(2020, 1, 1), until=date(2024, 12, 31))
    last = make.make_competence(engineer, since=date(2025, 1, 1), until=SOON)
    found = row(kind="competence")
    assert (found.ref, found.owner, found.due, found.person) == (last.pk, engineer, SOON, engineer.pk)
    make.make_competence(engineer, since=date(2026, 1, 1))
    assert not DueRow.objects.exists()


def test_a_skill_that_expires_is_renewed_too(engineer):
    make.make_skill(engineer, "Working at height", until=SOON)
    assert row(kind="competence").subject == f"{engineer.name}: Working at height"
    Skill.objects.update(until=None)
    assert not DueRow.objects.exists()


@pytest.mark.parametrize("last", [TODAY, TODAY - timedelta(days=300)])
def test_what_was_ended_knowingly_asks_nobody_to_renew_it(manager, engineer, last):
    """Also what had run out before somebody said so: its last day stays as it was."""
    competence = make.make_competence(engineer, since=date(2020, 1, 1), until=TODAY - timedelta(days=300))
    skill = make.make_skill(engineer)
    assert row(kind="competence").ref == competence.pk
    end_competence(competence, until=last, by=manager, now=NOON)
    end_skill(skill, until=last, by=manager, now=NOON)
    assert not DueRow.objects.exists()
    end_competence(competence, until=SOON, by=manager, now=NOON)
    end_skill(skill, until=SOON, by=manager, now=NOON)
    assert DueRow.objects.filter(kind="competence", due=SOON).count() == 2


def test_a_subcontractors_insurance_runs_out_and_nobody_elses(db):
    make.make_user("Olga Inside", "engineer", insured_until=SOON)
    sub = make.make_user("Sam Outside", "engineer", subcontractor=True, insured_until=SOON)
    assert (row().kind, row().ref, row().owner, row().due) == ("insurance", sub.pk, sub, SOON)
    sub.is_active = False
    sub.save()
    assert not DueRow.objects.exists()


# --- recalls ----------------------------------------------------------------------------------------------------------


def test_a_recall_stands_until_each_reading_is_decided(site, engineer):
    circuit, tester = make.make_circuit(make.make_board(site)), make.make_instrument("T-9", check_due=None)
    readings = [make.make_reading(circuit, instrument=tester, taken_at=NOON - timedelta(days=n)) for n in (1, 2)]
    fault = make.make_fault(tester, recorded_by=engineer)
    found = row()
    assert (found.kind, found.ref, found.owner) == ("recall", fault.pk, engineer)
    assert found.due == TODAY + timedelta(days=7)
    for reading in readings:
        assert DueRow.objects.filter(kind="recall").exists()
        RecallDecision.objects.create(
            fault=fault, reading=reading, decision="kept", reason="Compared", by=engineer, at=NOON
        )
    assert not DueRow.objects.exists()


def test_a_recall_stands_exactly_while_its_page_has_something_to_decide(site, manager):
    """The view's condition is the page's, said in SQL: any order of reading, finding, recording and checks."""
    circuit = make.make_circuit(make.make_board(site))
    days = [date(2026, 1, n + 1) for n in range(6)]
    orders = list(product(range(5), (1, 3), (None, 1, 2, 3, 4), ("passed", "adjusted", "failed"), (None, 1, 2, 3, 4)))
    for n, (taken, recorded, checked, result, own) in enumerate(Random(7).sample(orders, 150)):
        tester = make.make_instrument(f"T{n}", check_due=None)
        type(tester).objects.filter(pk=tester.pk).update(checked_on=None if own is None else days[own])
        if checked is not None:
            due = None if result == "failed" else SOON
            make.make_check(tester, days[checked], result=result, due=due, recorded_by=manager)
        at = datetime(2026, 1, recorded + 1, 9, tzinfo=UTC)
        make.make_fault(tester, days[2], last_good_on=days[1], recorded_at=at, recorded_by=manager)
        when = datetime(2026, 1, taken + 1, 12, tzinfo=UTC)
        make.make_reading(circuit, instrument=tester, by=manager, taken_at=when, instrument_in_check=n % 2 == 0)
    listed = set(DueRow.objects.filter(kind="recall").values_list("subject", flat=True))
    to_decide = {f"{fault['instrument']}: {fault['what']}" for fault in faults(manager) if fault["undecided"]}
    assert listed == to_decide
    assert 20 < len(listed) < 130


# --- closing letters --------------------------------------------------------------------------------------------------


def leave(site, by, **fields):
    usual = {"why": "left", "to_name": "Petra Landlady", "reason": "Moves away", "open_items": [], "owner": by}
    usual |= {"deliver_by": SOON, "written_by": by, "written_at": NOON, "number": 1}
    return Leaving.objects.create(site=site, **usual | fields)


def test_a_closing_letter_stands_until_it_was_delivered_or_taken_back(site, office):
    letter = leave(site, office)
    assert (row().kind, row().ref, row().owner, row().due) == ("letter", letter.pk, office, SOON)
    letter.taken_back_at = NOON
    letter.save()
    assert not DueRow.objects.exists()
    leave(site, office, number=2, delivered_on=TODAY, delivered_how="Recorded post", delivered_to="Petra")
    assert not DueRow.objects.exists()


# --- who sees them ----------------------------------------------------------------------------------------------------


@pytest.fixture
def firm(site, manager, office, engineer):
    """A row of each kind without a site: the engineer's competence, a subcontractor's insurance, nobody's instrument."""
    sub = make.make_user("Sam Outside", "engineer", subcontractor=True, insured_until=SOON)
    make.make_competence(engineer, until=SOON)
    make.make_instrument("T-1", check_due=SOON)
    tester = make.make_instrument("T-2", check_due=None)
    make.make_reading(make.make_circuit(make.make_board(site)), instrument=tester)
    make.make_fault(tester, recorded_by=manager)
    return {"manager": manager, "office": office, "engineer": engineer, "subcontractor": sub}


@pytest.mark.parametrize(
    ("who", "kinds"),
    [
        ("manager", {*OWN}),
        ("office", {*OWN}),
        ("engineer", {"competence"}),
        ("subcontractor", {"insurance"}),
    ],
)
def test_the_office_sees_what_no_site_has_and_others_their_own(firm, who, kinds):
    assert {found.kind for found in rows_due(firm[who], today=TODAY)} == kinds


@pytest.mark.parametrize("who", ["manager", "office", "engineer", "subcontractor"])
def test_every_list_copes_with_rows_without_a_site_and_leads_nowhere_forbidden(firm, client, at_noon, who):
    client.force_login(firm[who])
    response = client.get("/", {"owner": "all"})
    assert response.status_code == 200
    assert "the firm" in text_of(response)
    for one in shown(firm[who], kind__in=OWN):
        assert one["site"] == one["site_href"] == ""
        for link in filter(None, {one["href"], one["about"]}):
            assert link in hrefs(response) or link == one["about"]
            assert client.get(link).status_code == 200
    assert client.get("/", {"as": "csv", "owner": "all"}).status_code == 200
    assert client.get("/", {"q": "words of a site", "owner": "all"}).status_code == 200


def test_the_engineer_reads_what_to_renew_without_a_link_and_the_manager_with(firm):
    (own,) = shown(firm["engineer"])
    assert (own["next_step"], own["href"]) == ("Renew it, and record what shows it", "")
    (seen,) = shown(firm["manager"], kind="competence")
    assert seen["href"] == f"/people/{firm['engineer'].pk}/"


def test_pages_hold_every_row_once_with_and_without_a_site(firm, site):
    for n in range(4):
        make.make_observation(site, f"Item {n}", code="C2", step_by=SOON, by=firm["office"])
    rows, seen, after = rows_due(firm["office"], today=TODAY), [], ""
    while True:
        found = page_of_rows(rows, today=TODAY, after=after, size=1)
        seen += [(one["kind"], one["subject"]) for one in found.rows]
        after = found.next
        if not after:
            break
    assert len(seen) == len(set(seen)) == rows.count() == 8


@pytest.mark.parametrize("near", [1, 4, 1000])
@pytest.mark.parametrize("owner", [False, True])
def test_pages_are_the_same_however_far_their_rows_are_sought(site, office, engineer, monkeypatch, near, owner):
    """Steps of all days, one without a day that is in hand until one, one without any, an inspection, a remedial."""
    monkeypatch.setattr(of_rows, "NEAR", near)
    monkeypatch.setattr(of_rows, "FAR", near * 2)
    monkeypatch.setattr(of_rows, "COUNT_STOPS_AT", 0)
    for n in range(8):
        make.make_observation(site, f"Item {n}", step_by=TODAY + timedelta(days=n % 3), by=(office, engineer)[n % 2])
    make.make_remedial(make.make_observation(site, "Cover", by=office), step_by=TODAY + timedelta(days=1), by=engineer)
    make.make_observation(site, "No day", step_by=None, by=office)
    held = make.make_observation(site, "In hand", step_by=None, by=office)
    undertake(row(observation=held.pk), engineer, until=TODAY + timedelta(days=1))
    rows, after, seen = narrowed(rows_due(office, today=TODAY), owner=str(engineer.pk) if owner else ""), "", []
    while True:
        found = page_of_rows(rows, today=TODAY, after=after, size=2, owner=engineer.pk if owner else None)
        seen += [one["subject"] for one in found.rows]
        after = found.next
        if not after:
            break
    assert seen == [one["subject"] for one in all_rows(rows, today=TODAY)]
    assert len(seen) == (6 if owner else 11)


# --- in hand ----------------------------------------------------------------------------------------------------------


def undertake(found, by, *, until=SOON, **fields):
    """`by` has the row in hand, as the operation leaves it."""
    usual = {
        "site": found.site,
        "instead_of": found.owner,
        "due_was": found.due,
        "reason": "Part on its way",
        "at": NOON,
    }
    return Undertaking.objects.create(kind=found.kind, ref=found.ref, by=by, until=until, **usual | fields)


def test_who_has_a_row_in_hand_owns_it_and_it_says_until_when_and_why(site, office, engineer, at_desk, at_noon):
    make.make_observation(site, "Cover missing", step_by=TODAY - timedelta(days=1), by=office)
    undertake(row(), engineer)
    found = row()
    assert (found.owner, found.due, found.in_hand_until) == (engineer, TODAY - timedelta(days=1), SOON)
    said = f"{engineer.name} has it until 23 Feb 2026: Part on its way"
    (one,) = shown(office)
    assert one["in_hand"] == said
    assert said in text_of(at_desk.get("/"))
    assert said in text_of(at_desk.get(f"/sites/{site.pk}/"))
    assert said in text_of(at_desk.get(f"/observations/{found.observation}/"))
    assert one == shown(office, owner=engineer)[0]


def test_a_day_that_has_passed_is_said_as_past(site, office, engineer):
    make.make_observation(site, by=office)
    undertake(row(), engineer, until=TODAY - timedelta(days=1))
    assert shown(office)[0]["in_hand"] == f"{engineer.name} had it in hand until yesterday: Part on its way"


def test_a_loose_end_in_hand_is_none_while_its_person_works_here(site, office, engineer):
    make.make_observation(site, code="C1", owner=None, step_by=None, by=office)
    assert row().loose
    undertake(row(), engineer)
    found = row()
    assert (found.loose, found.owner, found.due) == (False, engineer, SOON)
    engineer.is_active = False
    engineer.save()
    assert row().loose


@pytest.mark.parametrize("acted", ["owner", "step_by", "ended"])
def test_whoever_acts_since_ends_what_was_in_hand(site, office, engineer, acted):
    seen = make.make_observation(site, by=office)
    word = undertake(row(), engineer)
    if acted == "ended":
        word.ended_at = NOON
        word.save()
    else:
        setattr(seen, acted, {"owner": make.make_user("Nora New", "engineer"), "step_by": SOON}[acted])
        seen.save()
    assert (row().in_hand_until, row().owner) == (None, seen.owner)


def test_six_alike_fold_only_where_the_same_is_in_hand(site, office, engineer):
    for _ in range(6):
        make.make_observation(site, code="C3", by=office)
    undertake(DueRow.objects.order_by("ref")[0], engineer)
    assert not [one for one in page_of_rows(rows_due(office, today=TODAY), today=TODAY).rows if "folded" in one]


# --- which leads ------------------------------------------------------------------------------------------------------


def test_the_soonest_leads_and_a_loose_end_before_it(site, office):
    seen = make.make_observation(site, code="C1", step_by=SOON, by=office)
    remedial = make.make_remedial(seen, step_by=SOON, by=office)
    wait_on(office, remedial=remedial, chase_on=TODAY)
    assert leading_row(DueRow.objects.filter(remedial=remedial.pk)).kind == "chase"
    remedial.owner = None
    remedial.save()
    assert leading_row(DueRow.objects.filter(Q(remedial=remedial.pk))).kind == "price"
    assert leading_row([]) is None


def test_rows_of_the_firm_have_one_key_each(firm):
    keys = list(DueRow.objects.values_list("kind", "ref"))
    assert len(keys) == len(set(keys)) == 4
    assert new_id() not in dict(keys).values()
