"""What was planned for a defect follows it to the report that finds it again; what was done in vain does not."""

from datetime import date, datetime, timedelta

import pytest

from inspections import operations
from inspections.models import Observation
from jobsite.ids import new_id
from remedials.due.models import DueRow
from remedials.works.models import Proof, ProofPhoto, Remedies, Waiting
from remedials.works.operations import add_proof_photo, review_proof
from tests.factories import (
    NOON,
    TODAY,
    Told,
    make_inspection,
    make_observation,
    make_remedial,
    make_site,
    recorded,
    unit_of,
)
from tests.remedials.work import photo_bytes

pytestmark = pytest.mark.django_db
BEFORE = date(2025, 11, 1)


@pytest.fixture
def site(db):
    return make_site()


@pytest.fixture
def earlier(site):
    return make_observation(site, "Cover missing at the cooker switch", code="C2", on=BEFORE)


@pytest.fixture
def seen_again(site, qualified, now):
    """Issue a report of ours of yesterday that finds `earlier` again; the later observation."""

    def issue(earlier, code="C2", on=TODAY - timedelta(days=1)) -> Observation:
        draft = make_inspection(site, issued=False, inspected_on=on, by=qualified)
        later = operations.note_observation(
            draft, id=new_id(), unit=unit_of(site), text=earlier.text, code=code, continues=earlier, by=qualified, now=now
        )  # fmt: skip
        operations.issue_inspection(draft, by=qualified, now=now)
        later.refresh_from_db()
        return later

    return issue


def due_of(observation) -> list[tuple[str, bool]]:
    remedials = Remedies.objects.filter(observation=observation).values("remedial")
    rows = DueRow.objects.filter(observation=observation.pk) | DueRow.objects.filter(remedial__in=remedials)
    return sorted(rows.values_list("kind", "loose"))


@pytest.mark.parametrize(("stage", "kind"), [("to-price", "price"), ("quoted", "answer"), ("approved", "book")])
def test_work_to_come_follows(earlier, seen_again, stage, kind) -> None:
    remedial = make_remedial(earlier, stage=stage)
    later = seen_again(earlier)
    earlier.refresh_from_db()
    assert (earlier.ended, set(remedial.observations.all())) == ("continued", {earlier, later})
    assert due_of(later) == [(kind, False)]
    assert not DueRow.objects.filter(kind="nothing-left").exists()


def test_it_is_told_of_both(earlier, seen_again) -> None:
    remedial = make_remedial(earlier, stage="approved", step_by=TODAY)
    with recorded() as told:
        later = seen_again(earlier)
    assert [t for t in told if t.verb in ("remedial.followed", "observation.ended")] == [
        Told(
            "remedial.followed",
            remedial.pk,
            {"observation": str(later.pk), "instead_of": str(earlier.pk), "step_by": TODAY.isoformat()},
        ),
        Told(
            "observation.ended",
            earlier.pk,
            {
                "ended": "continued",
                "code": "C2",
                "continued_by": str(later.pk),
                "remedials_follow": [str(remedial.pk)],
            },
        ),
    ]


def test_a_worse_code_brings_the_next_step_forward(earlier, seen_again) -> None:
    remedial = make_remedial(earlier, stage="approved", step_by=TODAY + timedelta(days=300))
    later = seen_again(earlier, "C1")
    remedial.refresh_from_db()
    assert later.remedy_by is not None
    assert remedial.step_by == later.remedy_by


@pytest.mark.parametrize("stage", ["declined", "cancelled", "by-others", "reviewed"])
def test_what_will_not_be_done_stays_behind_and_somebody_decides_anew(earlier, seen_again, stage) -> None:
    remedial = make_remedial(earlier, stage=stage)
    later = seen_again(earlier)
    assert list(remedial.observations.all()) == [earlier]
    assert due_of(later) == [("decide", False)]


@pytest.mark.parametrize(("after_days", "follows"), [(1, True), (0, False), (-30, False)])
def test_work_done_counts_only_when_it_was_done_after_the_defect_was_seen_again(
    earlier, seen_again, engineer, qualified, now: datetime, after_days, follows
) -> None:
    remedial = make_remedial(earlier, stage="done")
    inspected = TODAY - timedelta(days=1)
    done_at = datetime.combine(inspected, NOON.time(), NOON.tzinfo) + timedelta(days=after_days)
    proof = Proof.objects.create(remedial=remedial, done_by=engineer, done_at=done_at, no_photo_reason="No cameras")
    later = seen_again(earlier)
    assert due_of(later) == [("review" if follows else "decide", False)]
    if follows:
        review_proof(proof, decision="accepted", reason="", by=qualified, now=now)
        later.refresh_from_db()
        assert later.ended == "remedied"


def test_photos_taken_before_the_closing_show_the_later_one(earlier, seen_again, engineer, now) -> None:
    remedial = make_remedial(earlier, stage="approved")
    add_proof_photo(remedial, data=photo_bytes(), observation=earlier, by=engineer, now=now)
    later = seen_again(earlier)
    assert ProofPhoto.objects.get(remedial=remedial).observation == later


def test_what_it_waits_for_goes_over(earlier, seen_again, office) -> None:
    waiting = Waiting.objects.create(
        site=earlier.site, observation=earlier, on_whom="the network operator", for_what="new main fuse",
        asked_on=TODAY, chase_on=TODAY, owner=office, recorded_by=office,
    )  # fmt: skip
    later = seen_again(earlier)
    waiting.refresh_from_db()
    assert (waiting.observation, waiting.ended_at) == (later, None)
    assert due_of(later) == [("chase", False)]


def test_a_finding_is_other_work_than_its_investigation(site, qualified, now) -> None:
    investigated = make_observation(site, "Signs of heat", code="FI")
    remedial = make_remedial(investigated, stage="approved")
    found = operations.record_finding(investigated, id=new_id(), code="C2", text="Loose neutral", by=qualified, now=now)
    assert list(remedial.observations.all()) == [investigated]
    assert due_of(found) == [("decide", False)]


@pytest.mark.parametrize("stage", ["to-price", "approved", "declined", "done", "reviewed", "cancelled", "by-others"])
def test_all_work_goes_over_to_the_copy_of_a_reissue(site, qualified, engineer, now, stage) -> None:
    """The same record of the same defect, only corrected: finished work and its photographs show the copy as well."""
    report = make_inspection(site, by=qualified)
    seen = make_observation(site, inspection=report, by=qualified)
    remedial = make_remedial(seen, stage="approved")
    photo = add_proof_photo(remedial, data=photo_bytes(), observation=seen, by=engineer, now=now)
    type(remedial).objects.filter(pk=remedial.pk).update(stage=stage)
    due = list(DueRow.objects.filter(site=site.pk).exclude(kind="inspection").values_list("kind", "loose"))
    draft = operations.reissue_inspection(report, id=new_id(), reason="A slip", by=qualified, now=now)
    with recorded() as told:
        operations.issue_inspection(draft, by=qualified, now=now)
    copy = draft.observations.get()
    photo.refresh_from_db()
    assert (photo.observation, set(copy.remedials.all())) == (copy, {remedial})
    issued = next(entry for entry in told if entry.verb == "inspection.issued")
    assert issued.facts["remedials_follow"] == [str(remedial.pk)]
    after = DueRow.objects.filter(site=site.pk).exclude(kind="inspection").values_list("kind", "loose")
    assert list(after) == due
    assert DueRow.objects.filter(observation=copy.pk).exists()
