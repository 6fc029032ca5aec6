"""Two observations found to be of one defect after the fact, and parted again."""

from datetime import date, timedelta

import pytest

from inspections import operations
from inspections.models import MadeSafe, Observation
from jobsite.ids import new_id
from jobsite.refused import Refused
from remedials.due.models import DueRow
from tests import factories as make
from tests.factories import TODAY, Told, recorded

pytestmark = pytest.mark.django_db
LONG_AGO = date(2022, 3, 1)


@pytest.fixture
def pair(site):
    """An observation of 2022 and one of today, both open."""
    earlier = make.make_observation(
        site, "Cover missing", on=LONG_AGO, remedy_by=date(2022, 3, 28), remedy_basis="28 days."
    )
    return earlier, make.make_observation(site, "Isolator without cover", inspection=make.make_inspection(site))


@pytest.fixture
def reissued(now):
    """Reissue a report of one observation as it is, and give its copy."""

    def do(report) -> Observation:
        by = report.recorded_by
        draft = operations.reissue_inspection(report, id=new_id(), reason="A slip", by=by, now=now)
        return operations.issue_inspection(draft, by=by, now=now).observations.get()

    return do


def join(later, earlier, by, now) -> Observation:
    return operations.continue_earlier(later, earlier=earlier, by=by, now=now)


def fresh(*rows):
    return [type(row).objects.get(pk=row.pk) for row in rows]


def test_the_age_and_the_date_that_comes_first_go_over(pair, engineer, now) -> None:
    earlier, later = pair
    with recorded() as told:
        join(later, earlier, engineer, now)
        join(later, earlier, engineer, now)
    earlier, later = fresh(earlier, later)
    assert (later.continues, later.first_recorded_on, later.recorded_on) == (earlier, LONG_AGO, TODAY)
    assert (later.remedy_by, earlier.ended) == (date(2022, 3, 28), "continued")
    assert later.remedy_basis == f"As observation {earlier.number}, which this continues. 28 days."
    assert told == [
        Told(
            "observation.joined",
            later.pk,
            {
                "continues": str(earlier.pk),
                "first_recorded_on_before": TODAY.isoformat(),
                "first_recorded_on": "2022-03-01",
                "remedy_by": "2022-03-28",
            },
        ),
        Told("observation.ended", earlier.pk, {"ended": "continued", "code": "C2", "continued_by": str(later.pk)}),
    ]


def test_it_can_be_taken_back(pair, engineer, now) -> None:
    earlier, later = pair
    before = fresh(later)[0].remedy_by
    join(later, earlier, engineer, now)
    with recorded() as told:
        operations.part_from_earlier(later, reason="Another isolator", by=engineer, now=now)
        operations.part_from_earlier(fresh(later)[0], reason="Another isolator", by=engineer, now=now)
    earlier, later = fresh(earlier, later)
    assert (later.continues, later.first_recorded_on, later.ended, before) == (None, TODAY, "", None)
    assert later.remedy_by is not None
    assert later.remedy_by > TODAY
    assert (earlier.ended, earlier.ended_on, earlier.step_by is not None) == ("", None, True)
    assert [(t.verb, t.subject) for t in told] == [
        ("observation.parted", later.pk),
        ("observation.reopened", earlier.pk),
    ]
    assert not DueRow.objects.filter(loose=True).exists()


@pytest.mark.parametrize("back", [False, True])
def test_work_locks_and_waiting_go_over_and_come_back(pair, office, engineer, now, back) -> None:
    earlier, later = pair
    remedial = make.make_remedial(earlier, stage="approved")
    held = operations.make_safe(
        earlier, id=new_id(), how="covered", what="Taped", agreed_with="Petra", look_again_on=TODAY + timedelta(days=7),
        by=engineer, now=now, no_photo="too dark",
    )  # fmt: skip
    join(later, earlier, office, now)
    if back:
        operations.part_from_earlier(later, reason="Another isolator", by=office, now=now)
    earlier, later, held = fresh(earlier, later, held)
    assert (earlier.made_safe, later.made_safe) == (back, not back)
    assert held.observation == (earlier if back else later)
    assert set(remedial.observations.all()) == ({earlier} if back else {earlier, later})
    assert set(DueRow.objects.filter(loose=True)) == set()


def test_it_is_not_taken_back_once_something_rests_on_it(pair, office, engineer, now) -> None:
    earlier, later = pair
    remedial = make.make_remedial(earlier, stage="approved")
    join(later, earlier, office, now)
    remedial.stage = "done"
    remedial.save()
    with pytest.raises(Refused, match=f"Remedial {remedial.number} is done since"):
        operations.part_from_earlier(later, reason="Another isolator", by=office, now=now)
    assert fresh(later)[0].continues == earlier


def test_a_lock_that_was_ended_since_is_not_given_back(pair, engineer, now) -> None:
    earlier, later = pair
    operations.make_safe(
        earlier,
        id=new_id(),
        how="covered",
        what="Taped",
        agreed_with="Petra",
        no_photo="too dark",
        look_again_on=TODAY,
        by=engineer,
        now=now,
    )
    join(later, earlier, engineer, now)
    operations.reconnect(MadeSafe.objects.get(), reason="Tape gone", by=engineer, now=now)
    with pytest.raises(Refused, match="ended since"):
        operations.part_from_earlier(later, reason="Another isolator", by=engineer, now=now)


def test_parting_needs_a_reason(pair, engineer, now) -> None:
    earlier, later = pair
    join(later, earlier, engineer, now)
    with pytest.raises(Refused) as refused:
        operations.part_from_earlier(later, reason=" ", by=engineer, now=now)
    assert refused.value.field == "reason"


def test_a_finding_is_withdrawn_not_parted(site, qualified, now) -> None:
    fi = make.make_observation(site, code="FI", on=LONG_AGO)
    found = operations.record_finding(fi, id=new_id(), code="C2", text="Loose", by=qualified, now=now)
    with pytest.raises(Refused, match="not taken back here"):
        operations.part_from_earlier(found, reason="No", by=qualified, now=now)


@pytest.mark.parametrize(
    ("of_earlier", "sentence"),
    [
        ({"ended": "remedied", "ended_on": TODAY}, "is closed"),
        ({"draft": True}, "on record at this site"),
        ({"on": TODAY + timedelta(days=1)}, "is younger"),
    ],
)
def test_only_an_earlier_open_one_on_record(site, engineer, now, of_earlier, sentence) -> None:
    earlier = make.make_observation(site, **{"on": LONG_AGO} | of_earlier)
    with pytest.raises(Refused, match=sentence) as refused:
        join(make.make_observation(site), earlier, engineer, now)
    assert refused.value.field == "earlier"


def test_neither_itself_nor_another_sites_nor_one_of_its_own_report(site, engineer, now) -> None:
    report = make.make_inspection(site)
    one, other = (make.make_observation(site, inspection=report) for _ in range(2))
    elsewhere = make.make_observation(make.make_site("Elsewhere"), on=LONG_AGO)
    for earlier in (one, other, elsewhere):
        with pytest.raises(Refused):
            join(one, earlier, engineer, now)
    assert Observation.objects.filter(continues__isnull=False).count() == 0


def test_one_continues_one_only(pair, site, engineer, now) -> None:
    earlier, later = pair
    join(later, earlier, engineer, now)
    another = make.make_observation(site, on=LONG_AGO)
    with pytest.raises(Refused, match=f"continues observation {earlier.number} already"):
        join(later, another, engineer, now)


def test_nothing_is_joined_at_an_archived_site(pair, site, engineer, now) -> None:
    earlier, later = pair
    site.archived_at = now
    site.save()
    with pytest.raises(Refused, match="is archived"):
        join(later, earlier, engineer, now)


@pytest.mark.parametrize(("before", "after", "keeps"), [("C2", "C1", True), ("C2", "C3", False), ("C3", "C2", False)])
def test_only_a_date_of_a_danger_is_kept_for_a_danger(site, engineer, now, before, after, keeps) -> None:
    earlier = make.make_observation(site, code=before, on=LONG_AGO, remedy_by=date(2022, 3, 28))
    later = make.make_observation(site, code=after, inspection=make.make_inspection(site))
    joined = join(later, earlier, engineer, now)
    assert (joined.remedy_by == date(2022, 3, 28)) is keeps


def test_counting_again_does_not_wash_off_that_it_is_late(pair, engineer, now) -> None:
    earlier, later = pair
    join(later, earlier, engineer, now)
    assert operations.count_dates_again(later.inspection, by=engineer, now=now) >= 0
    assert fresh(later)[0].remedy_by == date(2022, 3, 28)


def test_the_copy_in_a_reissue_is_the_same_record_and_not_parted(site, issued, reissued, qualified, now) -> None:
    older = make.make_observation(site, "Cover gone", on=LONG_AGO)
    report, [former] = issued("C2")
    copy = reissued(report)
    assert (copy.continues, copy.corrects) == (former, True)
    with pytest.raises(Refused, match="as the reissue corrects it"):
        operations.part_from_earlier(copy, reason="Two covers", by=qualified, now=now)
    with pytest.raises(Refused, match="as the reissue corrects it"):
        join(copy, older, qualified, now)
    assert [row.ended for row in fresh(former, copy)] == ["continued", ""]


def test_what_went_over_comes_back_after_the_earlier_report_was_reissued(site, issued, reissued, engineer, now) -> None:
    report, [earlier] = issued("C2")
    held = operations.make_safe(
        earlier, id=new_id(), how="covered", what="Lid taped on", agreed_with="Tina Tenant", no_photo="Camera broken",
        look_again_on=TODAY + timedelta(days=7), by=engineer, now=now,
    )  # fmt: skip
    later = make.make_observation(site, "Isolator without cover", inspection=make.make_inspection(site))
    join(later, earlier, engineer, now)
    copy = reissued(report)
    [later] = fresh(later)
    assert later.continues == copy
    operations.part_from_earlier(later, reason="Two covers", by=engineer, now=now)
    [copy, later, held] = fresh(copy, later, held)
    assert (held.observation, copy.ended, copy.made_safe, later.made_safe) == (copy, "", True, False)
