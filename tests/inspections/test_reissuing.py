"""A correction is a reissue: a draft with copies of everything, which replaces the issued report when it is issued."""

from datetime import date, datetime, timedelta
from decimal import Decimal

import pytest
from django.db import IntegrityError, transaction

from inspections import operations
from inspections.models import DangerNotice, Inspection, InspectionDue, Limitation, Observation, ObservationPhoto
from inspections.standards.typed import Value
from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import Told, besides_papers, recorded

pytestmark = pytest.mark.django_db
WHY = "The date of the next inspection was mistyped"


@pytest.fixture
def reissue(now):
    """Begin the reissue of a report, by whoever recorded it."""

    def begin(report, **fields):
        return operations.reissue_inspection(
            report, **{"id": new_id(), "reason": WHY, "by": report.recorded_by, "now": now} | fields
        )

    return begin


@pytest.fixture
def issue(now):
    def do(draft, **fields):
        return operations.issue_inspection(draft, **{"by": draft.recorded_by, "now": now} | fields)

    return do


def copy_of(former) -> Observation:
    return Observation.objects.get(continues=former, inspection__replaces=former.inspection_id)


# --- the draft --------------------------------------------------------------------------------------------------------


def test_a_reissue_copies_everything_and_changes_nothing_yet(
    start, note, qualified, site, board, reissue, issue, now
) -> None:
    draft = start(boards=[board], next_due_on=date(2030, 6, 1), extent="All but the loft", reference="R-7")
    operations.add_limitation(draft, id=new_id(), what="The loft", why="no ladder", by=qualified, now=now)
    seen = note(draft, "C1", board=board, item="4.2", first_recorded_on=date(2024, 1, 1), photos=[make.picture()])
    report = issue(draft)
    seen.refresh_from_db()
    with recorded() as told:
        again = reissue(report)
        assert reissue(report, id=again.pk) == again
    copy = copy_of(seen)
    assert (again.state, again.replaces, again.reissue_reason, again.issued_at) == ("draft", report, WHY, None)
    for name in ("kind", "inspected_on", "edition", "next_due_on", "extent", "reference", "firm_name", "inspector"):
        assert getattr(again, name) == getattr(report, name)
    assert (list(again.units.all()), list(again.boards.all())) == (list(report.units.all()), [board])
    assert again.limitations.get().what == "The loft"
    assert (copy.draft, copy.code, copy.text, copy.item, copy.board) == (True, "C1", seen.text, "4.2", board)
    assert (copy.first_recorded_on, copy.recorded_on) == (date(2024, 1, 1), report.inspected_on)
    assert copy.photos.get().file == seen.photos.get().file
    facts = {"number": again.number, "replaces": str(report.pk), "observations": [f"{seen.pk}:{copy.pk}"]}
    assert told == [Told("inspection.reissue-begun", again.pk, facts, {"reason": WHY})]
    report.refresh_from_db()
    assert (report.state, list(Observation.objects.open())) == ("issued", [seen])


def test_what_is_not_in_force_is_not_reissued(start, issued, reissue, issue, qualified, engineer, site, now) -> None:
    with pytest.raises(Refused, match="still being written: change it as it stands"):
        reissue(start())
    report, _ = issued("C2")
    with pytest.raises(Refused, match="Say what is wrong"):
        reissue(report, reason=" ")
    again = reissue(report)
    with pytest.raises(Refused, match=f"being reissued already: the draft is number {again.number}"):
        reissue(report)
    issue(again)
    with pytest.raises(Refused, match=f"replaced by number {again.number}: reissue that"):
        reissue(report)
    others, _ = issued("C2", other_firm=True)
    with pytest.raises(NotAllowed, match="Only the office"):
        reissue(others, by=engineer)
    site.archived_at = now
    site.save()
    with pytest.raises(Refused, match="is archived: bring it back first"):
        reissue(again)


def test_only_a_qualified_person_issues_the_reissue(issued, reissue, issue, engineer, office) -> None:
    report, _ = issued("C3")
    again = reissue(report, by=engineer)
    for by in (engineer, office):
        with pytest.raises(NotAllowed, match="Only a qualified person"):
            issue(again, by=by)


# --- what goes over ---------------------------------------------------------------------------------------------------


def test_the_issue_replaces_the_former_and_tells_so(issued, reissue, issue, qualified, site, now) -> None:
    report, [c2, c3] = issued("C2", "C3", next_due_on=date(2029, 1, 1))
    again = operations.edit_inspection(reissue(report), version=1, next_due_on=date(2030, 1, 1), by=qualified, now=now)
    with recorded() as told:
        issue(again)
        issue(again)
    report.refresh_from_db()
    copies = [copy_of(c2), copy_of(c3)]
    unit = make.unit_of(site)
    assert (report.state, again.__class__.objects.get(pk=again.pk).state) == ("replaced", "issued")
    assert besides_papers(told) == [
        Told("inspection.replaced", report.pk, {"replaced_by": str(again.pk), "left_out": []}),
        Told(
            "inspection.issued",
            again.pk,
            {
                "number": again.number, "outcome": "unsatisfactory", "outcome_written": "",
                "observations": [str(o.pk) for o in copies], "codes": ["C2:1", "C3:1"],
                "next_due": [f"{unit.pk}:2030-01-01"], "replaces": str(report.pk),
            },
        ),
        *(
            Told("observation.ended", o.pk, {"ended": "continued", "code": o.code, "continued_by": str(copy.pk)})
            for o, copy in zip((c2, c3), copies, strict=True)
        ),
    ]  # fmt: skip
    assert set(Observation.objects.open()) == set(copies)
    assert InspectionDue.objects.get(unit=unit).due_on == date(2030, 1, 1)


def test_age_owner_step_and_dates_go_over(issued, reissue, issue, engineer, now: datetime) -> None:
    report, [seen] = issued("C2")
    operations.take_on(seen, owner=engineer, step_by=date(2026, 2, 9), by=engineer, now=now)
    Observation.objects.filter(pk=seen.pk).update(first_recorded_on=date(2022, 3, 4))
    later = now + timedelta(days=30)
    issue(reissue(report, now=later), now=later)
    copy = copy_of(seen)
    assert (copy.owner, copy.step_by, copy.first_recorded_on) == (engineer, date(2026, 2, 9), date(2022, 3, 4))
    assert (copy.remedy_by, copy.reviewed) == (seen.remedy_by, True)


@pytest.mark.parametrize(
    ("slip", "right", "by_law"), [(2025, 2026, date(2026, 2, 16)), (2026, 2025, date(2025, 2, 16))]
)
def test_a_mistyped_day_of_the_inspection_sets_no_date_after_it_is_put_right(
    issued, reissue, issue, qualified, now, slip, right, by_law
) -> None:
    """28 days starting with 20 January: SI 2020/312 regulation 3 as amended (read in reproductions)."""
    report, [seen] = issued("C2", inspected_on=date(slip, 1, 20))
    again = reissue(report)
    operations.edit_inspection(again, version=1, inspected_on=date(right, 1, 20), by=qualified, now=now)
    again = issue(again)
    copy = copy_of(seen)
    assert (copy.remedy_by, copy.first_recorded_on) == (by_law, date(right, 1, 20))
    assert "As observation" not in copy.remedy_basis
    assert operations.count_dates_again(again, by=qualified, now=now) == 0
    issue(reissue(again))
    assert copy_of(copy).remedy_by == by_law


def test_a_corrected_report_keeps_the_date_of_what_it_found_again(
    site, start, note, reissue, issue, qualified, now
) -> None:
    """What was late before the report stays late in its reissue, and in the reissue of that."""
    earlier = make.make_observation(site, on=date(2024, 5, 1), code="C2", remedy_by=date(2024, 5, 28))
    draft = start(inspected_on=date(2025, 1, 20))
    seen = note(draft, "C2", continues=earlier)
    again = reissue(issue(draft))
    operations.edit_inspection(again, version=1, inspected_on=date(2026, 1, 20), by=qualified, now=now)
    again = issue(again)
    copy = copy_of(seen)
    assert (copy.remedy_by, copy.first_recorded_on) == (date(2024, 5, 28), date(2024, 5, 1))
    assert copy.remedy_basis == f"As observation {earlier.number}, which this continues."
    issue(reissue(again))
    assert copy_of(copy).remedy_by == date(2024, 5, 28)


def test_a_lock_and_a_notice_go_over(issued, reissue, issue, qualified, now) -> None:
    report, [seen] = issued("C1")
    made = operations.make_safe(
        seen, id=new_id(), how="covered", what="Taped", agreed_with="the owner", look_again_on=date(2026, 2, 10), no_photo="dark",
        by=qualified, now=now,
    )  # fmt: skip
    told = operations.give_danger_notice(
        [seen], id=new_id(), why="Live parts", advised="Keep off", given_to="Petra", how="hand", by=qualified, now=now
    )
    issue(reissue(report))
    copy = copy_of(seen)
    made.refresh_from_db()
    assert (made.observation, made.ended, copy.made_safe) == (copy, "", True)
    assert set(DangerNotice.objects.get(pk=told.pk).observations.all()) == {seen, copy}


def test_decisions_since_the_issue_stand(issued, reissue, issue, qualified, now) -> None:
    report, [recoded, needless, waiting] = issued("C3", "C2", "C2", other_firm=True)
    operations.review(recoded, decision="recode", code="C2", reason="outdoors", by=qualified, now=now)
    operations.review(needless, decision="no-code", reason="meets the edition", by=qualified, now=now)
    again = reissue(report)
    assert [copy_of(o).code for o in (recoded, needless, waiting)] == ["C3", "C2", "C2"]  # as the report was issued
    issue(again)
    one, two, three = (copy_of(o) for o in (recoded, needless, waiting))
    assert (one.code, one.code_written, one.reviewed, one.ended) == ("C2", "C3", True, "")
    assert (two.code, two.reviewed, two.ended) == ("", True, "no-code")
    assert (three.code, three.reviewed) == ("C2", False)
    assert Inspection.objects.get(pk=again.pk).outcome == "unsatisfactory"


def test_a_code_decided_after_it_was_reconnected_is_not_taken_for_the_one_at_the_issue(
    issued, reissue, issue, qualified, now
) -> None:
    report, [seen] = issued("FI", other_firm=True)
    held = operations.make_safe(
        seen, id=new_id(), how="covered", what="Lid taped on", agreed_with="Tina Tenant", no_photo="Camera broken",
        look_again_on=now.date() + timedelta(days=7), by=qualified, now=now,
    )  # fmt: skip
    operations.reconnect(held, reason="The tenant took it off", by=qualified, now=now)
    later = now + timedelta(minutes=5)
    operations.review(seen, decision="recode", code="C2", reason="looked", by=qualified, now=later)
    again = reissue(report, now=later)
    assert copy_of(seen).code == "FI"
    issue(again, now=later)
    assert (copy_of(seen).code, Inspection.objects.get(pk=again.pk).outcome) == ("C2", "unsatisfactory")


def test_a_corrected_code_is_decided_anew(issued, reissue, issue, qualified, office, now) -> None:
    report, [seen] = issued("C3", other_firm=True)
    operations.review(seen, decision="no-code", reason="meets the edition", by=qualified, now=now)
    again = reissue(report)
    operations.change_observation(copy_of(seen), version=1, code="C2", by=office, now=now)
    issue(again)
    copy = copy_of(seen)
    assert (copy.code, copy.reviewed, copy.ended, copy.owner) == ("C2", False, "", office)
    assert copy.step_by is not None


@pytest.mark.parametrize("ended", ["remedied", "others", "withdrawn"])
def test_what_was_closed_stays_closed_and_is_spoken_of_once(issued, reissue, issue, qualified, now, ended) -> None:
    report, [seen] = issued("C2")
    operations.end_observation(seen, ended=ended, reason="Fitted a cover", by=qualified, now=now)
    issue(reissue(report))
    seen.refresh_from_db()
    copy = copy_of(seen)
    assert (copy.ended, copy.ended_on, copy.ended_reason) == (ended, date(2026, 2, 3), "Fitted a cover")
    assert seen.ended == "continued"
    operations.reopen_observation(copy, reason="Came loose", by=qualified, now=now)
    assert list(Observation.objects.open()) == [copy]


def test_a_finding_continues_the_copy_of_its_investigation(issued, reissue, issue, qualified, now) -> None:
    report, [fi] = issued("FI")
    found = operations.record_finding(fi, id=new_id(), code="C2", text="Loose neutral", by=qualified, now=now)
    issue(reissue(report))
    copy = copy_of(fi)
    found.refresh_from_db()
    assert (copy.ended, found.continues, found.ended) == ("finding", copy, "")
    operations.withdraw_finding(copy, reason="Wrong circuit", by=qualified, now=now)
    assert list(Observation.objects.open()) == [copy]


def test_a_later_report_that_continues_it_continues_the_copy(issued, start, note, reissue, issue, now) -> None:
    report, [seen] = issued("C2", inspected_on=date(2025, 6, 1))
    newer = start()
    later = note(newer, "C1", continues=seen)
    issue(newer)
    issue(reissue(report))
    later.refresh_from_db()
    copy = copy_of(seen)
    assert (later.continues, copy.ended, list(Observation.objects.open())) == (copy, "continued", [later])


def test_a_reissue_is_reissued_again(issued, reissue, issue) -> None:
    report, [seen] = issued("C1")
    second = issue(reissue(report))
    third = issue(reissue(second, reason="Another slip"))
    states = dict(Inspection.objects.values_list("number", "state"))
    assert states == {report.number: "replaced", second.number: "replaced", third.number: "issued"}
    open_now = Observation.objects.open().get()
    assert (open_now.inspection, open_now.first_recorded_on) == (third, seen.first_recorded_on)


# --- what is left out -------------------------------------------------------------------------------------------------


def test_what_is_left_out_needs_a_reason_and_is_withdrawn(issued, reissue, issue, qualified, now) -> None:
    report, [seen, other] = issued("C2", "C3")
    again = reissue(report)
    operations.drop_observation(copy_of(seen), by=qualified, now=now)
    with recorded() as told, pytest.raises(Refused, match=rf"leaves out {seen.number} \(C2\), still open: say why"):
        issue(again)
    assert told == []
    issue(again, left_out_reason="It is in the neighbour's flat")
    seen.refresh_from_db()
    assert (seen.ended, seen.ended_reason) == ("withdrawn", "It is in the neighbour's flat")
    assert list(Observation.objects.open()) == [copy_of(other)]


def test_a_dangerous_item_of_another_firm_is_left_out_by_a_qualified_person_only(
    issued, reissue, issue, office, now
) -> None:
    report, [seen] = issued("C1", other_firm=True)
    again = reissue(report)
    operations.drop_observation(copy_of(seen), by=office, now=now)
    with pytest.raises(NotAllowed, match="a qualified person decides that"):
        issue(again, left_out_reason="typed twice")
    make.make_competence(office)
    issue(again, left_out_reason="typed twice")
    seen.refresh_from_db()
    assert seen.ended == "withdrawn"


def test_what_was_dropped_is_brought_back(issued, reissue, issue, qualified, now) -> None:
    report, [seen] = issued("C2")
    again = reissue(report)
    operations.drop_observation(copy_of(seen), by=qualified, now=now)
    key = new_id()
    with recorded() as told:
        for _ in range(2):
            copy = operations.bring_back(again, former=seen, id=key, by=qualified, now=now)
    facts = {"inspection": str(again.pk), "number": copy.number, "continues": str(seen.pk)}
    assert told == [Told("observation.brought-back", copy.pk, facts)]
    assert (copy.pk, operations.bring_back(again, former=seen, id=new_id(), by=qualified, now=now)) == (key, copy)
    issue(again)
    assert list(Observation.objects.open()) == [copy]


# --- limitations and the next inspection ------------------------------------------------------------------------------


def test_limitations_stand_once_and_stay_covered(issued, start, reissue, issue, qualified, now) -> None:
    draft = start(inspected_on=date(2025, 6, 1))
    for what in ("The loft", "The cellar"):
        operations.add_limitation(draft, id=new_id(), what=what, by=qualified, now=now)
    report = issue(draft)
    newer, _ = issued()
    operations.cover_limitation(report.limitations.get(what="The cellar"), covered_by=newer, by=qualified, now=now)
    again = issue(reissue(report))
    assert [(x.what, x.inspection) for x in Limitation.objects.standing()] == [("The loft", again)]
    newest = issue(reissue(newer))
    assert again.limitations.get(what="The cellar").covered_by == newest


def test_the_next_inspection_is_counted_by_the_reports_in_force(issued, reissue, issue, qualified, site, now) -> None:
    unit = make.unit_of(site)
    older, _ = issued(inspected_on=date(2024, 5, 1), next_due_on=date(2028, 5, 1))
    wrong, _ = issued(inspected_on=date(2026, 1, 20), next_due_on=date(2030, 1, 20))
    again = reissue(wrong)
    operations.edit_inspection(
        again, version=1, inspected_on=date(2023, 1, 20), next_due_on=date(2027, 1, 20), by=qualified, now=now
    )
    issue(again)
    due = InspectionDue.objects.get(unit=unit)
    assert (due.after, due.due_on) == (older, date(2028, 5, 1))


def test_a_unit_that_the_reissue_does_not_cover_loses_its_date(start, reissue, issue, qualified, site, now) -> None:
    flats = [make.make_unit(site, name) for name in ("Flat 1", "Flat 2")]
    report = issue(start(units=flats, next_due_on=date(2030, 6, 1)))
    again = reissue(report)
    operations.edit_inspection(again, version=1, units=flats[:1], by=qualified, now=now)
    with recorded() as told:
        issue(again)
    assert [due.unit for due in InspectionDue.objects.all()] == flats[:1]
    facts = {"unit": str(flats[1].pk), "next_due_before": "2030-06-01", "next_due": None}
    assert Told("observation.recounted", again.pk, facts) in told


# --- a draft is deleted -----------------------------------------------------------------------------------------------


def test_an_empty_draft_is_deleted(start, qualified, now) -> None:
    draft = start()
    with recorded() as told:
        operations.delete_draft(draft, by=qualified, now=now)
        operations.delete_draft(draft, by=qualified, now=now)
    assert besides_papers(told) == [
        Told("inspection.deleted", draft.pk, {"number": draft.number, "observations": [], "replaces": None})
    ]
    assert Inspection.objects.count() == 0


def test_a_draft_that_notes_something_is_deleted_with_a_reason(start, note, qualified, now) -> None:
    draft = start()
    note(draft, "C1", photos=[make.picture()])
    with pytest.raises(Refused, match="Say why: it notes observations"):
        operations.delete_draft(draft, by=qualified, now=now)
    operations.delete_draft(draft, reason="Begun at the wrong site", by=qualified, now=now)
    assert (Inspection.objects.count(), Observation.objects.count(), ObservationPhoto.objects.count()) == (0, 0, 0)


def test_a_draft_with_something_done_on_it_stays(start, note, qualified, now) -> None:
    draft = start()
    seen = note(draft, "C1")
    operations.give_danger_notice(
        [seen], id=new_id(), why="Live parts", advised="Keep off", given_to="Petra", how="hand", by=qualified, now=now
    )
    with pytest.raises(Refused, match=f"a danger notice given for observation {seen.number}: the draft stays"):
        operations.delete_draft(draft, reason="A slip", by=qualified, now=now)


def test_an_issued_report_is_not_deleted(issued, qualified, now) -> None:
    report, _ = issued("C3")
    with pytest.raises(Refused, match="does not change any more"):
        operations.delete_draft(report, reason="A slip", by=qualified, now=now)


def test_the_draft_of_a_reissue_goes_and_the_report_stays_in_force(issued, reissue, issue, qualified, now) -> None:
    report, [seen] = issued("C2")
    operations.delete_draft(reissue(report), by=qualified, now=now)
    report.refresh_from_db()
    assert (report.state, list(Observation.objects.all())) == ("issued", [seen])
    assert issue(reissue(report)).state == "issued"


# --- the database keeps it --------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "fields", [{"extent": "All"}, {"inspected_on": date(2025, 1, 1)}, {"state": "draft"}, {"outcome": "satisfactory"}]
)
def test_the_database_keeps_an_issued_report(issued, fields) -> None:
    report, _ = issued("C2")
    with pytest.raises(IntegrityError, match="An issued report is frozen"), transaction.atomic():
        Inspection.objects.filter(pk=report.pk).update(**fields)
    Inspection.objects.filter(pk=report.pk).update(version=9)


@pytest.mark.parametrize(
    "fields", [{"text": "Other"}, {"code_written": "C3"}, {"place": "loft"}, {"draft": True}, {"inspection": None}]
)
def test_the_database_keeps_what_a_report_says_of_a_defect(issued, fields) -> None:
    _, [seen] = issued("C2")
    with pytest.raises(IntegrityError, match="An issued report is frozen"), transaction.atomic():
        Observation.objects.filter(pk=seen.pk).update(**fields)
    Observation.objects.filter(pk=seen.pk).update(code="C1", remedy_by=date(2026, 2, 4))


def test_the_database_keeps_what_it_covers_and_leaves_out(start, issue, qualified, board, now) -> None:
    draft = start(boards=[board])
    limit = operations.add_limitation(draft, id=new_id(), what="The loft", by=qualified, now=now)
    report = issue(draft)
    for change in (
        lambda: Limitation.objects.filter(pk=limit.pk).update(what="Nothing"),
        limit.delete,
        report.boards.clear,
        report.units.clear,
    ):
        with pytest.raises(IntegrityError, match="An issued report is frozen"), transaction.atomic():
            change()
    with pytest.raises(IntegrityError, match="An issued report is frozen"), transaction.atomic():
        Inspection.objects.filter(pk=report.pk)._raw_delete("default")


def test_a_defect_without_a_report_is_still_corrected(site) -> None:
    """It is no report: who took it in wrongly may be put right by an operation of its own."""
    seen = make.make_observation(site, code="")
    Observation.objects.filter(pk=seen.pk).update(text="In other words")
    assert Observation.objects.get().text == "In other words"


def test_whatever_refers_to_a_report_has_its_place_in_the_reissue() -> None:
    """A new reference to an inspection must be thought of: does it go over, or does it stay with the former report?"""
    goes_over = {"observations", "limitations", "covers", "missed", "replaced_by", "readings", "not_seen_again"}
    goes_over |= {"papers", "paper_requests"}  # test_papers_kept_true
    stays = {"intake"}
    found = {
        relation.get_accessor_name() or relation.related_model._meta.model_name
        for relation in Inspection._meta.related_objects
    }
    assert found == goes_over | stays


def test_readings_taken_on_the_inspection_go_over_and_keep_a_draft(
    start, issue, reissue, qualified, board, now
) -> None:
    circuit, draft = make.make_circuit(board), start()
    reading = operations.take_reading(
        circuit,
        id=new_id(),
        value=Value(Decimal("0.4")),
        instrument=make.make_instrument(),
        inspection=draft,
        by=qualified,
        now=now,
    )
    with pytest.raises(Refused, match="Readings were taken on this inspection"):
        operations.delete_draft(draft, reason="A slip", by=qualified, now=now)
    again = issue(reissue(issue(draft)))
    reading.refresh_from_db()
    assert reading.inspection == again
