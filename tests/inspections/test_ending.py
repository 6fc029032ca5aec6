"""Observations close and open again: every way of ending against every code."""

from datetime import date

import pytest

from inspections import operations
from inspections.choices import Code, Ended
from inspections.models import MadeSafe
from jobsite.ids import new_id
from jobsite.refused import NotAllowed, Refused
from tests import factories as make
from tests.factories import Told, recorded

pytestmark = pytest.mark.django_db
TODAY = date(2026, 2, 3)


def end(observation, ended, reason="", **fields):
    return operations.end_observation(observation, ended=ended, reason=reason, **fields)


def test_end_records_it_once(site, engineer, now) -> None:
    seen = make.make_observation(site)
    with recorded() as told:
        end(seen, "remedied", by=engineer, now=now)
        closed = end(seen, "remedied", by=engineer, now=now)
    assert (closed.ended, closed.ended_on) == ("remedied", TODAY)
    assert told == [Told("observation.ended", seen.pk, {"ended": "remedied", "code": "C2"})]


def test_end_leaves_what_ended_otherwise(site, engineer, now) -> None:
    seen = make.make_observation(site, ended="continued", ended_on=TODAY)
    with recorded() as told:
        assert end(seen, "remedied", by=engineer, now=now).ended == "continued"
    assert told == []


BY_WORK = {Ended.REMEDIED, Ended.OTHERS, Ended.WITHDRAWN}
NEVER_REMEDIED = {Code.FI.value, ""}


@pytest.mark.parametrize("code", ["", *Code.values])
@pytest.mark.parametrize("ended", Ended.values)
def test_every_way_of_ending_with_every_code(site, engineer, now, code, ended) -> None:
    seen = make.make_observation(site, code=code)
    allowed = ended in BY_WORK and not (ended == Ended.REMEDIED and code in NEVER_REMEDIED)
    if allowed:
        assert end(seen, ended, "why", by=engineer, now=now).ended == ended
    else:
        with pytest.raises(Refused):
            end(seen, ended, "why", by=engineer, now=now)
        seen.refresh_from_db()
        assert seen.ended == ""


def test_others_and_withdrawn_need_a_reason(site, office, now) -> None:
    seen = make.make_observation(site)
    for ended in ("others", "withdrawn"):
        with pytest.raises(Refused, match="Say why it is closed"):
            end(seen, ended, by=office, now=now)


@pytest.mark.parametrize(("ended", "left"), [("remedied", "remedied"), ("others", "remedied"), ("withdrawn", "lifted")])
def test_the_lock_ends_with_it(site, engineer, now, ended, left) -> None:
    seen = make.make_observation(site, code="C1")
    operations.make_safe(
        seen,
        id=new_id(),
        how="covered",
        what="Taped",
        agreed_with="the tenant",
        no_photo="too dark",
        look_again_on=TODAY,
        by=engineer,
        now=now,
    )
    closed = end(seen, ended, "why", by=engineer, now=now)
    made = MadeSafe.objects.get()
    assert (closed.made_safe, made.ended, made.ended_at) == (False, left, now)


def test_reopen_gives_a_next_step_and_keeps_the_dates(site, office, engineer, now) -> None:
    seen = make.make_observation(site, remedy_by=date(2026, 1, 5), owner=None, step_by=None)
    end(seen, "remedied", by=engineer, now=now)
    with recorded() as told:
        opened = operations.reopen_observation(seen, reason="It tripped again", by=office, now=now)
        operations.reopen_observation(seen, reason="It tripped again", by=office, now=now)
    assert (opened.ended, opened.ended_on, opened.remedy_by) == ("", None, date(2026, 1, 5))
    assert (opened.owner, opened.step_by) == (office, TODAY)
    facts = {"ended_before": "remedied", "step_by": "2026-02-03"}
    assert told == [Told("observation.reopened", seen.pk, facts, {"reason": "It tripped again"})]


@pytest.mark.parametrize("ended", [e for e in Ended.values if e])
def test_reopen_undoes_only_what_work_the_office_or_a_look_ended(site, office, now, ended) -> None:
    seen = make.make_observation(site, ended=ended, ended_on=TODAY)
    if ended in (*BY_WORK, "gone"):
        assert operations.reopen_observation(seen, reason="why", by=office, now=now).ended == ""
    else:
        with pytest.raises(Refused, match="not undone by reopening"):
            operations.reopen_observation(seen, reason="why", by=office, now=now)


def test_reopen_needs_a_reason(site, office, now) -> None:
    seen = make.make_observation(site, ended="remedied", ended_on=TODAY)
    with pytest.raises(Refused, match="Say why it is open again"):
        operations.reopen_observation(seen, reason=" ", by=office, now=now)


def test_a_link_closes_nothing(site, now) -> None:
    link, _ = make.make_link(site)
    with pytest.raises(NotAllowed):
        end(make.make_observation(site), "remedied", by=link, now=now)
