"""Two people at once, on two real connections: one wins, the other hears of it, nothing is made twice."""

from datetime import date

import pytest
from django.db import transaction

from inspections import operations
from inspections.models import InspectionDue, MadeSafe, Observation, Paper, Review
from jobsite.ids import new_id
from jobsite.ledger.models import Entry
from tests import factories as make
from tests.at_once import at_once, behind

pytestmark = pytest.mark.django_db(transaction=True)


@pytest.fixture
def site(transactional_db):
    return make.make_site("Kiln Cottage")


def entries(verb: str) -> int:
    return Entry.objects.filter(verb=verb).count()


def test_the_same_form_twice_at_once_makes_one_observation(site, now) -> None:
    office, unit, key = make.anybody("office"), make.unit_of(site), new_id()

    def send():
        return operations.report_defect(
            site, id=key, unit=unit, text="Sparks", reported_by="the tenant", by=office, now=now
        )

    one, other = at_once(send, send)
    assert (one, other) == (Observation.objects.get(), Observation.objects.get())
    assert entries("observation.reported") == 1


def test_two_reviews_of_what_both_saw(site, now) -> None:
    reviewers = [make.make_qualified("Quentin Prover"), make.make_qualified("Quilla Tester")]
    seen = make.make_observation(site, code="C2")
    answers = at_once(
        *(
            lambda by=by, code=code: operations.review(
                seen, decision="recode", code=code, reason="seen", by=by, now=now, version=1
            )
            for by, code in zip(reviewers, ("C1", "C3"), strict=True)
        )
    )
    made = Review.objects.get()
    assert sorted(type(a).__name__ for a in answers) == ["ChangedMeanwhile", "Review"]
    seen.refresh_from_db()
    assert (seen.code, entries("observation.reviewed")) == (made.code, 1)


def test_two_locks_on_one_danger(site, now) -> None:
    people = [make.make_user("Edwin Wireman", "engineer"), make.make_user("Otto Ampleby", "engineer")]
    seen = make.make_observation(site, code="C1")
    safe = {
        "how": "covered",
        "what": "Taped",
        "agreed_with": "the owner",
        "no_photo": "too dark",
        "look_again_on": date(2026, 2, 10),
        "now": now,
    }
    answers = at_once(*(lambda by=by: operations.make_safe(seen, id=new_id(), by=by, **safe) for by in people))
    assert sorted(type(a).__name__ for a in answers) == ["MadeSafe", "Refused"]
    assert (MadeSafe.objects.count(), entries("made-safe.done")) == (1, 1)


def test_a_report_is_issued_once(site, now) -> None:
    by, unit = make.make_qualified(), make.unit_of(site)
    draft = operations.start_inspection(
        site, id=new_id(), units=[unit], kind="periodic", other_firm=False, inspected_on=date(2026, 1, 20),
        edition="2018+A2:2022", by=by, now=now,
    )  # fmt: skip
    operations.note_observation(draft, id=new_id(), unit=unit, text="Old colours", code="C3", by=by, now=now)

    def issue():
        return operations.issue_inspection(draft, by=by, now=now)

    def note_more():
        return operations.note_observation(draft, id=new_id(), unit=unit, text="Lid off", code="C2", by=by, now=now)

    at_once(issue, issue, note_more)
    assert entries("inspection.issued") == 1
    assert not Observation.objects.filter(draft=True).exists()


def test_the_first_two_reports_of_a_unit_issued_at_once_leave_the_date_of_the_later(site, now) -> None:
    office, unit = make.anybody("office"), make.unit_of(site)
    early, late = (
        operations.start_inspection(
            site, id=new_id(), units=[unit], kind="periodic", other_firm=True, inspected_on=date(2026, 1, day),
            edition="2018+A2:2022", firm_name="Others", next_due_on=date(2030, 1, day), by=office, now=now,
        )
        for day in (2, 3)
    )  # fmt: skip
    with transaction.atomic():
        operations.issue_inspection(early, by=office, now=now)
        second = behind(lambda: operations.issue_inspection(late, by=office, now=now))
    assert second.result() == late
    assert InspectionDue.objects.get().after == late


def our_report(site, by, now, **fields):
    """An issued report of ours with one C2."""
    unit = make.unit_of(site)
    usual = {"inspected_on": date(2026, 1, 20), "edition": "2018+A2:2022", "kind": "periodic", "other_firm": False}
    draft = operations.start_inspection(site, id=new_id(), units=[unit], by=by, now=now, **usual | fields)
    operations.note_observation(draft, id=new_id(), unit=unit, text="Lid off", code="C2", by=by, now=now)
    return operations.issue_inspection(draft, by=by, now=now)


def test_two_people_begin_a_reissue_at_once(site, now) -> None:
    people = [make.make_qualified("Quentin Prover"), make.make_qualified("Quilla Tester")]
    report = our_report(site, people[0], now)
    answers = at_once(
        *(
            lambda by=by: operations.reissue_inspection(report, id=new_id(), reason="A slip", by=by, now=now)
            for by in people
        )
    )
    assert sorted(type(a).__name__ for a in answers) == ["Inspection", "Refused"]
    assert (report.__class__.objects.filter(replaces=report).count(), entries("inspection.reissue-begun")) == (1, 1)


def test_two_people_issue_the_reissue_at_once(site, now) -> None:
    people = [make.make_qualified("Quentin Prover"), make.make_qualified("Quilla Tester")]
    report = our_report(site, people[0], now)
    draft = operations.reissue_inspection(report, id=new_id(), reason="A slip", by=people[0], now=now)
    answers = at_once(*(lambda by=by: operations.issue_inspection(draft, by=by, now=now) for by in people))
    assert answers == [draft, draft]
    assert (entries("inspection.replaced"), Observation.objects.open().count()) == (1, 1)


def test_a_decision_on_the_former_while_the_reissue_is_issued_is_not_lost(site, now) -> None:
    by, reviewer = make.make_qualified("Quentin Prover"), make.make_qualified("Quilla Tester")
    report = our_report(site, by, now)
    seen = report.observations.get()
    draft = operations.reissue_inspection(report, id=new_id(), reason="A slip", by=by, now=now)
    answers = at_once(
        lambda: operations.issue_inspection(draft, by=by, now=now),
        lambda: operations.review(seen, decision="recode", code="C1", reason="live", by=reviewer, now=now),
    )
    in_force = Observation.objects.open().get()
    decided = Review.objects.filter(code="C1").exists()
    assert in_force.inspection == draft
    assert in_force.code == ("C1" if decided else "C2")
    assert decided is not any(type(a).__name__ == "Refused" for a in answers)


@pytest.mark.parametrize("times", range(3))
def test_of_two_who_close_the_last_two_at_once_one_opens_the_confirmations(site, now, times) -> None:
    """Each alone sees the other's observation still open: without waiting for each other nobody would open anything."""
    site.units.update(tenure="private-rented")
    report, by = make.make_inspection(site), make.anybody("office")
    rows = [make.make_observation(site, f"Defect {n}", code="C2", inspection=report) for n in (1, 2)]

    def close(row):
        return operations.end_observation(row, ended="remedied", reason="Mended", by=by, now=now)

    at_once(*(lambda row=row: close(row) for row in rows))
    assert Paper.objects.open().filter(trigger="completion").count() == 3
    assert entries("paper.opened") == 3
