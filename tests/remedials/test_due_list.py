"""The due list: one row for each open obligation, and no open C1, C2 or FI without a next step."""

from datetime import date, timedelta

import pytest
from django.db import transaction
from django.db.models import Q
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inspections.models import InspectionDue, MadeSafe, Observation
from remedials.due.models import DueRow
from remedials.visits.models import Attendance, Visit, VisitLine
from remedials.works.models import Waiting, WayOut
from tests.factories import NOON, TODAY, make_inspection, make_observation, make_remedial, make_site, make_user, unit_of

pytestmark = pytest.mark.django_db
SOON = TODAY + timedelta(days=3)


def rows(**only):
    return [(r.kind, r.ref, r.code, r.loose) for r in DueRow.objects.filter(**only).order_by("kind", "ref")]


def wait_on(by, **of):
    site = next(iter(of.values())).site
    fields = {"on_whom": "network operator", "for_what": "new cut-out", "asked_on": TODAY, "chase_on": SOON}
    return Waiting.objects.create(site=site, owner=by, recorded_by=by, **fields | of)


def visit_for(remedial, engineer, by):
    start, end = NOON + timedelta(days=3), NOON + timedelta(days=3, hours=2)
    visit = Visit.objects.create(number=1, site=remedial.site, start=start, end=end, booked_by=by, booked_at=NOON)
    VisitLine.objects.create(visit=visit, remedial=remedial)
    Attendance.objects.create(visit=visit, engineer=engineer, start=start, end=end)
    return visit


def test_an_uncoded_report_stands_first(site, office):
    seen = make_observation(site, code="", by=office)
    assert rows() == [("uncoded", seen.pk, "", False)]


@pytest.mark.parametrize("code", ["C1", "C2", "FI", "C3"])
def test_an_observation_without_a_remedial_asks_what_it_needs(site, office, code):
    seen = make_observation(site, code=code, by=office)
    assert rows() == [("decide", seen.pk, code, False)]


@pytest.mark.parametrize(("code", "loose"), [("C1", True), ("C2", True), ("FI", True), ("C3", False)])
def test_a_dangerous_one_without_owner_is_a_loose_end(site, office, code, loose):
    seen = make_observation(site, code=code, owner=None, by=office)
    assert rows() == [("decide", seen.pk, code, loose)]


def test_a_dangerous_one_without_a_date_is_a_loose_end(site, office):
    seen = make_observation(site, step_by=None, by=office)
    assert rows() == [("decide", seen.pk, "C2", True)]
    assert DueRow.objects.get().due == date(9999, 12, 31)


def test_what_somebody_who_left_had_is_a_loose_end(site, office):
    leaver = make_user("Lea Gone", "office", is_active=False)
    seen = make_observation(site, owner=leaver, by=office)
    assert rows() == [("decide", seen.pk, "C2", True)]


def test_a_draft_and_an_ended_one_are_not_due(site, office):
    make_observation(site, draft=True, by=office)
    make_observation(site, ended="remedied", ended_on=TODAY, by=office)
    assert rows() == []


@pytest.mark.parametrize(
    ("stage", "kind"), [("to-price", "price"), ("quoted", "answer"), ("approved", "book"), ("done", "review")]
)
def test_a_remedial_stands_by_its_stage(site, office, stage, kind):
    remedial = make_remedial(make_observation(site, by=office), stage=stage, by=office)
    assert rows() == [(kind, remedial.pk, "C2", False)]


def test_a_remedial_leads_with_its_most_dangerous_observation(site, office):
    mild, grave = make_observation(site, code="C3", by=office), make_observation(site, code="C1", by=office)
    remedial = make_remedial(mild, grave, by=office)
    assert rows() == [("price", remedial.pk, "C1", False)]
    assert DueRow.objects.get().observation == grave.pk


def test_a_booked_remedial_is_the_engineers_on_the_day_of_its_visit(site, office, engineer):
    remedial = make_remedial(make_observation(site, by=office), stage="booked", step_by=SOON, owner=engineer, by=office)
    visit_for(remedial, engineer, office)
    row = DueRow.objects.get()
    assert (row.kind, row.due, row.owner_id, row.loose) == ("visit", SOON, engineer.pk, False)


def test_a_booked_remedial_without_a_visit_is_a_loose_end(site, office):
    remedial = make_remedial(make_observation(site, by=office), stage="booked", by=office)
    assert rows() == [("visit", remedial.pk, "C2", True)]


def test_a_done_one_awaits_review_while_it_has_a_step(site, office):
    remedial = make_remedial(make_observation(site, code="C3", by=office), stage="done", by=office)
    assert [kind for kind, *_ in rows()] == ["review"]
    remedial.step_by = None  # nothing to review: what is still open is to be decided
    remedial.save()
    assert [kind for kind, *_ in rows()] == ["decide"]


def test_a_declined_one_is_offered_again(site, office):
    remedial = make_remedial(make_observation(site, code="FI", by=office), stage="declined", by=office)
    fields = {"stage": "declined", "who": "Petra", "on": TODAY, "recorded_by": office, "recorded_at": NOON}
    WayOut.objects.create(remedial=remedial, offer_again_on=SOON, **fields)
    row = DueRow.objects.get()
    assert (row.kind, row.remedial, row.due, row.loose) == ("offer-again", remedial.pk, SOON, False)


def test_a_declined_one_without_a_date_is_a_loose_end(site, office):
    remedial = make_remedial(make_observation(site, code="FI", by=office), stage="declined", by=office)
    WayOut.objects.create(
        remedial=remedial, stage="declined", who="Petra", on=TODAY, recorded_by=office, recorded_at=NOON
    )
    assert [(kind, loose) for kind, _, _, loose in rows()] == [("offer-again", True)]


def test_waiting_on_somebody_is_the_step(site, office):
    seen = make_observation(site, by=office)
    waiting = wait_on(office, observation=seen)
    assert rows() == [("chase", waiting.pk, "C2", False)]
    assert DueRow.objects.get().waits_on == "network operator"


def test_a_remedial_that_waits_has_both_steps(site, office):
    remedial = make_remedial(make_observation(site, by=office), stage="approved", by=office)
    waiting = wait_on(office, remedial=remedial)
    assert rows() == [("book", remedial.pk, "C2", False), ("chase", waiting.pk, "C2", False)]


def test_what_was_made_safe_is_looked_at_again(site, office):
    seen = make_observation(site, code="C1", made_safe=True, by=office)
    kept = MadeSafe.objects.create(
        observation=seen, how="covered", what="lid on", agreed_with="Petra", at=NOON, by=office, look_again_on=SOON
    )
    assert rows() == [("decide", seen.pk, "C1", False), ("look-again", kept.pk, "C1", False)]
    assert DueRow.objects.get(kind="decide").next_step == "Decide what it needs"


def test_an_inspection_shows_from_its_notice_on(site, office):
    unit = unit_of(site)
    InspectionDue.objects.create(unit=unit, due_on=SOON, basis="as recommended", shows_from=TODAY, owner=office)
    assert rows(shows_from__lte=TODAY) == [("inspection", unit.pk, "", False)]
    assert rows(shows_from__lt=TODAY) == []


def test_an_archived_site_has_nothing_due(site, office):
    make_observation(site, by=office)
    site.archived_at = NOON
    site.save()
    assert rows() == []


def test_a_subcontractor_sees_only_own_sites(site, office, subcontractor):
    make_observation(site, by=office)
    assert DueRow.objects.visible_to(subcontractor).count() == 0
    assert DueRow.objects.visible_to(office).count() == 1


STAGES = ["to-price", "quoted", "approved", "booked", "done", "reviewed", "declined", "cancelled", "by-others"]


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_every_open_dangerous_observation_has_a_step_or_is_a_loose_end(site, office, data):
    """Whatever rows exist, even ones that no operation would leave: nothing open and dangerous is missing."""
    with transaction.atomic():
        seen = random_rows(site, office, data.draw)
        led = DueRow.objects.exclude(remedial=None).values("remedial")
        covered = set(DueRow.objects.values_list("observation", flat=True))
        covered |= set(Observation.objects.filter(remedials__in=led).values_list("pk", flat=True))
        assert {o.pk for o in seen} <= covered
        steps = DueRow.objects.filter(rank__gte=2, loose=False).exclude(kind="look-again")
        assert not steps.filter(Q(owner=None) | Q(due=date(9999, 12, 31))).exists()
        transaction.set_rollback(True)


def random_rows(site, office, draw):
    """Open observations of any code, with remedials of any stage, with and without owners, dates and waiting."""
    owners, dates = st.sampled_from([office, None]), st.sampled_from([TODAY, None])
    codes = draw(st.lists(st.sampled_from(["C1", "C2", "FI", "C3"]), min_size=1, max_size=4))
    seen = [make_observation(site, code=c, owner=draw(owners), step_by=draw(dates), by=office) for c in codes]
    for stage in draw(st.lists(st.sampled_from(STAGES), max_size=4)):
        some = draw(st.lists(st.sampled_from(seen), min_size=1, max_size=3, unique=True))
        remedial = make_remedial(*some, stage=stage, owner=draw(owners), step_by=draw(dates), by=office)
        if stage == "declined" and draw(st.booleans()):
            fields = {"stage": stage, "who": "Petra", "on": TODAY, "recorded_by": office, "recorded_at": NOON}
            WayOut.objects.create(remedial=remedial, offer_again_on=draw(dates), **fields)
    if draw(st.booleans()):
        wait_on(office, observation=seen[0])
    return seen


def test_a_draft_stands_by_the_worst_that_is_in_it(site, office):
    draft = make_inspection(site, issued=False, by=office)
    for code in ("C3", "C1", "C2"):
        make_observation(site, f"{code} item", code=code, inspection=draft, draft=True, by=office)
    assert rows() == [("draft", draft.pk, "C1", False)]
    assert DueRow.objects.get().subject == "C1 item"


def test_a_dangerous_draft_of_somebody_who_left_is_a_loose_end(site, office):
    leaver = make_user("Lea Gone", "office", is_active=False)
    draft = make_inspection(site, issued=False, by=leaver)
    make_observation(site, code="C2", inspection=draft, draft=True, by=office)
    assert rows() == [("draft", draft.pk, "C2", True)]


@pytest.mark.parametrize("ended", ["no-code", "finding", "continued"])
def test_work_whose_observations_ended_otherwise_is_called_off(site, office, ended):
    remedial = make_remedial(
        make_observation(site, ended=ended, ended_on=TODAY, by=office), stage="approved", by=office
    )
    assert rows() == [("nothing-left", remedial.pk, "", False)]


def test_done_work_that_was_in_vain_is_looked_at(site, office):
    """Found again before its proof was reviewed: nobody would hear of it, since a review shows what is open."""
    seen = make_observation(site, ended="continued", ended_on=TODAY, by=office)
    remedial = make_remedial(seen, stage="done", step_by=TODAY, by=office)
    assert rows() == [("nothing-left", remedial.pk, "", False)]
    assert DueRow.objects.get().next_step.startswith("Look at its proof")


def test_rows_have_one_key_each(site, office):
    make_remedial(make_observation(site, by=office), make_observation(site, by=office), by=office)
    make_observation(make_site("Other House"), by=office)
    keys = list(DueRow.objects.values_list("kind", "ref"))
    assert len(keys) == len(set(keys)) == 2
