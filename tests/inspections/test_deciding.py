"""What a qualified person decides: the code of an observation, and what an investigation found."""

from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from inspections import operations
from inspections.choices import Code, Decision
from inspections.models import MadeSafe, Observation, Review
from jobsite.ids import new_id
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from tests import factories as make
from tests.factories import Told, recorded

pytestmark = pytest.mark.django_db
SAFE = {"how": "covered", "what": "Taped", "agreed_with": "the tenant", "look_again_on": date(2026, 2, 10)}
SAFE |= {"no_photo": "too dark"}


@pytest.fixture
def decide(qualified, now):
    def one(observation, decision, code="", reason="seen", **fields):
        return operations.review(
            observation, decision=decision, code=code, reason=reason, **{"by": qualified, "now": now} | fields
        )

    return one


def test_agreeing_records_the_decision_once(issued, decide, qualified, now) -> None:
    _, [seen] = issued("C2", other_firm=True)
    with recorded() as told:
        first = decide(seen, "agree", reason="")
        second = decide(seen, "agree", reason="")
    seen.refresh_from_db()
    assert (first, seen.reviewed, seen.code) == (second, True, "C2")
    assert (first.by, first.at, first.code_before, first.code) == (qualified, now, "C2", "C2")
    dates = {"make_safe_by": None, "remedy_by": "2026-02-16", "step_by": "2026-02-05"}
    facts = {"decision": "agree", "code_before": "C2", "code": "C2"} | dates
    assert told == [Told("observation.reviewed", seen.pk, facts)]


def test_recoding_counts_the_dates_anew_and_keeps_what_was_written(issued, decide) -> None:
    _, [seen] = issued("C3", other_firm=True)
    with recorded() as told:
        decide(seen, "recode", "C1", "Live parts within reach")
    seen.refresh_from_db()
    assert (seen.code, seen.code_written, seen.reviewed) == ("C1", "C3", True)
    assert (seen.make_safe_by, seen.remedy_by, seen.step_by) == (date(2026, 1, 20), date(2026, 1, 26), date(2026, 2, 3))
    dates = {"make_safe_by": "2026-01-20", "remedy_by": "2026-01-26", "step_by": "2026-02-03"}
    facts = {"decision": "recode", "code_before": "C3", "code": "C1"} | dates
    assert told == [Told("observation.reviewed", seen.pk, facts, {"reason": "Live parts within reach"})]


def test_recoding_down_takes_the_dates_back(issued, decide) -> None:
    _, [seen] = issued("C1", other_firm=True, next_due_on=date(2030, 1, 1))
    decide(seen, "recode", "C3", "Out of reach")
    seen.refresh_from_db()
    assert (seen.make_safe_by, seen.remedy_by, seen.step_by) == (None, date(2030, 1, 1), None)


def test_no_code_closes_it_and_a_recoding_opens_it_again(issued, decide) -> None:
    _, [seen] = issued("C2", other_firm=True)
    decide(seen, "no-code", reason="It is the meter operator's seal")
    seen.refresh_from_db()
    assert (seen.code, seen.ended, seen.ended_on, seen.remedy_by) == ("", "no-code", date(2026, 2, 3), None)
    decide(seen, "recode", "C2", "It was ours after all")
    seen.refresh_from_db()
    assert (seen.code, seen.ended, seen.ended_on, seen.remedy_by) == ("C2", "", None, date(2026, 2, 16))
    assert [r.decision for r in Review.objects.order_by("at", "pk")] == ["no-code", "recode"]


def test_no_code_lifts_what_was_made_safe(issued, decide, qualified, now) -> None:
    _, [seen] = issued("C1", other_firm=True)
    operations.make_safe(seen, id=new_id(), by=qualified, now=now, **SAFE)
    decide(seen, "no-code", reason="A dead cable")
    assert MadeSafe.objects.get().ended == "lifted"


def test_a_reported_defect_gets_its_first_code(site, decide, office, now) -> None:
    told_us = operations.report_defect(
        site, id=new_id(), unit=make.unit_of(site), text="Socket sparks", reported_by="the tenant", by=office, now=now
    )
    with pytest.raises(Refused, match="no code to agree with"):
        decide(told_us, "agree")
    decide(told_us, "recode", "C2", "Cracked, no live parts to touch")
    told_us.refresh_from_db()
    assert (told_us.code, told_us.owner, told_us.remedy_by) == ("C2", office, date(2026, 3, 2))
    assert told_us.step_by == date(2026, 2, 5)
    assert not told_us.remedy_by_law  # the law's clock runs from an inspection only


@pytest.mark.parametrize(
    ("code", "decision", "new", "reason", "field"),
    [
        ("C2", "agree", "C1", "", "decision"),
        ("C2", "recode", "", "why", "code"),
        ("C2", "recode", "C9", "why", "code"),
        ("C2", "recode", "C2", "why", "code"),
        ("C2", "recode", "C1", " ", "reason"),
        ("C2", "no-code", "", "", "reason"),
        ("C2", "maybe", "", "why", "decision"),
    ],
)
def test_review_refuses(site, decide, code, decision, new, reason, field) -> None:
    seen = make.make_observation(site, code=code)
    with recorded() as told, pytest.raises(Refused) as refused:
        decide(seen, decision, new, reason)
    assert (refused.value.field, told, Review.objects.count()) == (field, [], 0)


def test_review_refuses_drafts_and_what_is_closed(site, start, note, decide) -> None:
    with pytest.raises(Refused, match="issue it first"):
        decide(note(start()), "agree")
    with pytest.raises(Refused, match="not decided any more"):
        decide(make.make_observation(site, ended="remedied", ended_on=date(2026, 2, 1)), "agree")


def test_only_a_qualified_person_decides(site, office, engineer, manager, now) -> None:
    seen = make.make_observation(site)
    for by in (office, engineer, manager):
        with recorded() as told, pytest.raises(NotAllowed, match=r"none for you on 3 Feb 2026"):
            operations.review(seen, decision="agree", reason="", by=by, now=now)
        assert told == []


def test_two_people_decide_at_once(site, decide) -> None:
    seen = make.make_observation(site)
    decide(seen, "recode", "C1", "worse", version=1)
    with pytest.raises(ChangedMeanwhile) as met:
        decide(seen, "recode", "C3", "better", version=1)
    assert met.value.theirs.code == "C1"


def test_the_same_decision_after_another_is_a_new_one(site, decide) -> None:
    seen = make.make_observation(site, code="C2")
    decide(seen, "recode", "C3", "x")
    decide(seen, "recode", "C2", "y")
    decide(seen, "recode", "C3", "x")
    seen.refresh_from_db()
    assert (seen.code, Review.objects.count()) == ("C3", 3)


steps = st.lists(st.tuples(st.sampled_from(Decision.values), st.sampled_from(["", *Code.values])), max_size=6)


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=steps)
def test_the_code_in_force_is_the_last_decision(issued, decide, steps) -> None:
    """Whatever is decided in whatever order, and however often refused."""
    _, [seen] = issued("C2", other_firm=True)
    for decision, code in steps:
        try:
            decide(seen, decision, code, "why")
        except Refused:
            continue
    seen.refresh_from_db()
    last = seen.reviews.order_by("-at", "-pk").first()
    assert seen.code == (last.code if last else "C2")
    assert (seen.ended == "no-code") == (seen.code == "")
    assert (seen.make_safe_by is not None) == (seen.code == "C1")
    assert (seen.remedy_by is not None) == (seen.code != "")
    assert seen.code_written == "C2"


# --- findings ---------------------------------------------------------------------------------------------------------


def test_a_finding_continues_the_fi_with_clocks_of_its_own(issued, qualified, now) -> None:
    _, [fi] = issued("FI")
    later, key = now + timedelta(days=5), new_id()
    with recorded() as told:
        for _ in range(2):
            found = operations.record_finding(fi, id=key, code="C2", text="Loose neutral", by=qualified, now=later)
    fi.refresh_from_db()
    assert (fi.ended, fi.ended_on, fi.ended_reason) == ("finding", date(2026, 2, 8), "Loose neutral")
    assert (found.pk, found.continues, found.code, found.reviewed, found.inspection) == (key, fi, "C2", True, None)
    assert (found.recorded_on, found.first_recorded_on) == (date(2026, 2, 8), date(2026, 1, 20))
    # "If more work is needed the same duties repeat" (SI 2020/312 regulation 3, read in reproductions): anew from here.
    assert (found.remedy_by, found.remedy_by_law) == (date(2026, 3, 7), True)
    dates = {"make_safe_by": None, "remedy_by": "2026-03-07", "step_by": "2026-02-10"}
    assert told == [
        Told("observation.finding", fi.pk, {"code": "C2", "finding": str(key)} | dates, {"text": "Loose neutral"}),
        Told(
            "observation.ended",
            fi.pk,
            {"ended": "finding", "code": "FI", "continued_by": str(key)},
            {"reason": "Loose neutral"},
        ),
    ]


def test_a_finding_of_nothing_ends_the_fi(site, qualified, now) -> None:
    fi, key = make.make_observation(site, code="FI"), new_id()
    with recorded() as told:
        assert operations.record_finding(fi, id=key, code="", text="All tight", by=qualified, now=now) is None
        assert operations.record_finding(fi, id=key, code="", text="All tight", by=qualified, now=now) is None
    fi.refresh_from_db()
    assert (fi.ended, Observation.objects.count()) == ("finding", 1)
    assert told == [Told("observation.finding", fi.pk, {"code": "", "finding": None}, {"text": "All tight"})]


def test_a_finding_keeps_the_lock(site, qualified, now) -> None:
    fi = make.make_observation(site, code="FI")
    made = operations.make_safe(fi, id=new_id(), by=qualified, now=now, **SAFE)
    found = operations.record_finding(fi, id=new_id(), code="C1", text="Borrowed neutral", by=qualified, now=now)
    made.refresh_from_db()
    found.refresh_from_db()
    assert (made.observation, made.ended, found.made_safe) == (found, "", True)


def test_a_finding_of_nothing_is_withdrawn_once(site, qualified, now) -> None:
    fi = make.make_observation(site, code="FI")
    operations.record_finding(fi, id=new_id(), code="", text="All tight", by=qualified, now=now)
    with recorded() as told:
        for _ in range(2):
            operations.withdraw_finding(fi, reason="Wrong board", by=qualified, now=now)
    fi.refresh_from_db()
    assert (fi.ended, fi.ended_on, fi.ended_reason, fi.step_by) == ("", None, "", date(2026, 2, 5))
    facts = {"finding": None, "step_by": "2026-02-05"}
    assert told == [Told("observation.finding-withdrawn", fi.pk, facts, {"reason": "Wrong board"})]


def test_what_a_withdrawn_finding_found_ends_and_its_lock_comes_back(site, qualified, now) -> None:
    fi, key = make.make_observation(site, code="FI"), new_id()
    made = operations.make_safe(fi, id=new_id(), by=qualified, now=now, **SAFE)
    found = operations.record_finding(fi, id=key, code="C1", text="Borrowed neutral", by=qualified, now=now)
    with recorded() as told:
        operations.withdraw_finding(fi, reason="Wrong board", by=qualified, now=now)
    for row in (fi, found, made):
        row.refresh_from_db()
    assert (fi.ended, fi.made_safe, made.observation, made.ended) == ("", True, fi, "")
    assert (found.ended, found.made_safe) == ("withdrawn", False)
    assert [(one.verb, one.subject) for one in told] == [
        ("observation.ended", found.pk),
        ("observation.finding-withdrawn", fi.pk),
    ]
    with pytest.raises(Refused, match="already used"):
        operations.record_finding(fi, id=key, code="C2", text="Borrowed neutral", by=qualified, now=now)
    again = operations.record_finding(fi, id=new_id(), code="C2", text="Loose neutral", by=qualified, now=now)
    operations.withdraw_finding(fi, reason="No", by=qualified, now=now)
    again.refresh_from_db()
    assert again.ended == "withdrawn"


def test_withdrawing_a_finding_refuses(site, qualified, engineer, now) -> None:
    fi, c2 = (
        make.make_observation(site, code="FI"),
        make.make_observation(site, code="C2", ended="remedied", ended_on=now),
    )
    found = operations.record_finding(fi, id=new_id(), code="C2", text="Loose neutral", by=qualified, now=now)
    with pytest.raises(NotAllowed):
        operations.withdraw_finding(fi, reason="x", by=engineer, now=now)
    operations.end_observation(found, ended="remedied", reason="", by=qualified, now=now)
    for observation, reason, sentence in (
        (c2, "x", "no finding to withdraw"),
        (fi, " ", "Say why the finding is withdrawn"),
        (fi, "x", f"observation {found.number}, is closed: remedied"),
    ):
        with recorded() as told, pytest.raises(Refused, match=sentence):
            operations.withdraw_finding(observation, reason=reason, by=qualified, now=now)
        assert told == []


def test_finding_refuses(site, qualified, engineer, now) -> None:
    fi, c2 = make.make_observation(site, code="FI"), make.make_observation(site, code="C2")
    for observation, code, text, sentence in (
        (c2, "C1", "x", "Only an FI ends in a finding"),
        (fi, "FI", "x", "C1, C2, C3 or nothing"),
        (fi, "C1", " ", "Say what the investigation found"),
    ):
        with recorded() as told, pytest.raises(Refused, match=sentence):
            operations.record_finding(observation, id=new_id(), code=code, text=text, by=qualified, now=now)
        assert told == []
    with pytest.raises(NotAllowed):
        operations.record_finding(fi, id=new_id(), code="C1", text="x", by=engineer, now=now)
