"""A plan worked out by the worker's task: real search, real checker, real rows."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from django.db import transaction
from django.db.models import Count

from jobsite.firm.models import Progress
from jobsite.ids import new_id
from jobsite.words import london
from remedials.visits import tasks
from remedials.visits.models import Plan, Proposal, Unplanned, Visit
from remedials.visits.operations import working_out
from remedials.visits.operations.planning import accept, accept_all, ask_plan, refuse
from remedials.visits.operations.working_out import _replace_earlier, search_again, work_out, work_out_waiting
from remedials.visits.planner.checker import faults
from remedials.visits.planner.kept import answer_as_kept
from remedials.visits.planner.problem import Planned
from remedials.visits.queries.problem_work import NO_MINUTES
from remedials.visits.rules.times import instant_of
from tests import factories as make
from tests.at_once import behind
from tests.factories import NOON, TODAY, recorded
from tests.remedials.planned import engineer_at_home, site_at, work_at

pytestmark = [pytest.mark.django_db(transaction=True), pytest.mark.usefixtures("at_noon")]
MONDAY = date(2026, 2, 9)
MINUTE = timedelta(minutes=1)


@pytest.fixture
def who(office):
    return {"by": office, "now": NOON}


@pytest.fixture
def firm(db):
    """Two engineers and work at six sites around them."""
    people = [engineer_at_home("Edwin Wireman"), engineer_at_home("Ona Cableson")]
    for n, code in enumerate(["C1", "C2", "C2", "FI", "C3", "C3"]):
        work_at(site_at(f"Site {n}", 3 * n, n), code, minutes=60 + 10 * n, remedy_by=MONDAY + timedelta(days=3))
    return people


def ask(people, who, **more) -> Plan:
    usual = {"id": new_id(), "first": MONDAY, "days": 5, "effort": "quick", "seed": 1, "engineers": people}
    return ask_plan(**usual | more, **who)


def worked_out(people, who, **more) -> Plan:
    """A plan that was asked for, as the worker's task leaves it."""
    plan = ask(people, who, **more)
    tasks.work_out(str(plan.pk))
    plan.refresh_from_db()
    return plan


def placed(plan) -> set[tuple]:
    rows = plan.proposals.prefetch_related("engineers")
    return {(p.site.name, p.start, p.end, tuple(sorted(u.name for u in p.engineers.all()))) for p in rows}


def test_a_whole_run(firm, who) -> None:
    held = work_at(site_at("Shed"), minutes=None)
    with recorded() as told:
        plan = worked_out(firm, who)
    assert (plan.state, plan.sentence) == ("ready", "")
    assert plan.proposals.count() == 6
    assert [(u.remedial, u.why) for u in plan.unplanned.all()] == [(held, NO_MINUTES)]
    assert [(t.verb, t.facts) for t in told[1:]] == [("plan.ready", {"proposed": 6, "unplanned": 1, "replaced": 0})]
    assert plan.figures["planned"] == plan.figures["rule"]["planned"] == 6
    assert (plan.figures["late"], plan.figures["rule"]["late"]) == (0, 0)
    assert 0 < plan.figures["minutes"] <= plan.figures["rule"]["minutes"]
    progress = Progress.objects.get(pk=plan.progress)
    assert (progress.state, progress.sentence) == ("done", "6 visits proposed.")
    for proposal in plan.proposals.all():
        assert (proposal.end - proposal.start, bool(proposal.reason)) == (
            proposal.remedials.get().minutes * MINUTE,
            True,
        )


def test_the_same_input_and_seed_give_the_same_plan(firm, who) -> None:
    plan = worked_out(firm, who)
    problem, answer = search_again(plan)
    kept, again = answer_as_kept(answer), answer_as_kept(search_again(plan)[1])
    assert kept == again
    assert {p.start for p in plan.proposals.all()} == {instant_of(p.start, plan.first) for p in answer.planned}
    assert placed(worked_out(firm, who)) == placed(plan)
    assert faults(problem, answer) == []


def test_booked_visits_stay_and_are_kept_clear_of(firm, who) -> None:
    visit = make.make_visit(site_at("Hall", 5), engineers=[firm[0]], start=NOON + timedelta(days=6), hours=4)
    plan = worked_out(firm, who)
    before = Visit.objects.values().get()
    visits, refused = accept_all(plan, **who)
    assert (len(visits), refused) == (6, [])
    assert Visit.objects.values().get(pk=visit.pk) == before


def test_running_twice_is_once(firm, who) -> None:
    plan = worked_out(firm, who)
    tasks.work_out(str(plan.pk))
    assert Proposal.objects.count() == 6
    tasks.work_out(str(new_id()))  # whose row is gone: nothing to do


def test_a_lost_message_is_made_good_by_the_sweep(firm, who) -> None:
    plan = ask(firm, who)
    assert work_out_waiting(now=NOON + timedelta(seconds=30)) == 0
    assert work_out_waiting(now=NOON + timedelta(minutes=2)) == 1
    plan.refresh_from_db()
    assert plan.state == "ready"
    assert work_out_waiting(now=NOON + timedelta(minutes=20)) == 0


def test_a_plan_whose_worker_died_is_taken_up_again(firm, who) -> None:
    plan = ask(firm, who)
    Plan.objects.update(state="running")
    Progress.objects.update(state="running", changed_at=NOON)
    assert work_out(plan.pk, now=NOON + timedelta(minutes=10)) is None  # somebody may still be at it
    assert work_out_waiting(now=NOON + timedelta(minutes=17)) == 1
    plan.refresh_from_db()
    assert plan.state == "ready"


def test_an_unsound_plan_is_not_shown(firm, who, monkeypatch) -> None:
    real = working_out.search

    def search_that_errs(*args, **kwargs):
        """The real answer with its first visit moved into the night."""
        answer = real(*args, **kwargs)
        first = answer.planned[0]
        moved = Planned(first.job, first.engineers, 60, 60 + first.end - first.start, first.drive_minutes, "")
        return replace(answer, planned=(moved, *answer.planned[1:]))

    monkeypatch.setattr(working_out, "search", search_that_errs)
    with recorded() as told:
        plan = worked_out(firm, who)
    assert (plan.state, plan.sentence) == ("failed", working_out.UNSOUND)
    assert plan.figures["faults"]
    assert Proposal.objects.count() == Unplanned.objects.count() == 0
    assert [t.verb for t in told] == ["plan.asked", "plan.failed"]


def test_a_search_that_stumbles_fails_with_a_sentence(firm, who) -> None:
    plan = ask(firm, who)
    Plan.objects.update(effort="normal", asked={"engineers": [], "problem": {"days": "nonsense"}})
    tasks.work_out(str(plan.pk))
    plan.refresh_from_db()
    assert (plan.state, plan.sentence) == ("failed", working_out.STUMBLED)
    assert Progress.objects.get(pk=plan.progress).state == "failed"


def test_nobody_and_nothing(who, office) -> None:
    nomad = make.make_user("Nora Nomad", "engineer")
    work_at(site_at("Mill"))
    plan = worked_out([nomad], who)
    assert (plan.state, plan.proposals.count(), plan.unplanned.count()) == ("ready", 0, 1)
    assert plan.asked["missing"] == [["home", str(nomad.pk), "Nora Nomad"]]


def test_what_cannot_be_planned_says_why(firm, who) -> None:
    alarm = work_at(site_at("Alarm Hall", 2), skill="fire alarms")
    night = work_at(site_at("Far Lodge", 4), minutes=2000)
    plan = worked_out(firm, who)
    why = {u.remedial_id: u.why for u in plan.unplanned.all()}
    assert set(why) == {alarm.pk, night.pk}
    assert "fire alarms" in why[alarm.pk]
    assert all(sentence.endswith(".") for sentence in why.values())


def test_a_later_plan_takes_the_place_of_what_is_open(firm, who) -> None:
    plan = worked_out(firm, who)
    kept = accept(plan.proposals.order_by("start").first(), **who)
    refused = refuse(plan.proposals.filter(state="open").order_by("start").first(), why="Not then.", **who)
    later = worked_out(firm, who, after=plan)
    states = dict(plan.proposals.values_list("state").annotate(n=Count("pk")))
    assert states == {"accepted": 1, "refused": 1, "gone": 4}
    assert (
        plan.proposals.filter(state="gone").values_list("said", flat=True)[0] == f"Plan {later.number} took its place."
    )
    assert later.proposals.count() == 5
    assert kept.state == "booked"
    assert refused.remedials.get() in [p.remedials.get() for p in later.proposals.all()]


def test_what_is_being_accepted_when_a_later_plan_is_ready_stays_accepted(firm, who) -> None:
    first = worked_out(firm, who).proposals.order_by("start").first()
    later = ask(firm, who)
    with transaction.atomic():
        visit = accept(first, **who)
        found = behind(lambda: _replace_earlier(later, [], NOON))
    assert found.result(timeout=20) == 5
    first.refresh_from_db()
    assert (first.state, first.visit) == ("accepted", visit)


def test_planning_again_from_a_plan_changes_little(firm, who) -> None:
    plan = worked_out(firm, who)
    later = worked_out(firm, who, after=plan, seed=2)
    assert len(placed(later) & placed(plan)) >= 5
    assert later.after == plan


@pytest.mark.parametrize("first", [date(2026, 3, 25), date(2026, 10, 21)])
def test_weeks_in_which_the_clocks_change(firm, who, first) -> None:
    # Wednesday up to Tuesday, the change on Sunday between: nothing starts before 08:00 by the clock on the wall.
    for n in range(20):
        work_at(site_at(f"More {n}", n, 2), minutes=240)
    plan = worked_out(firm, who, first=first, days=7)
    assert plan.state == "ready"
    hours = {london(p.start).hour for p in plan.proposals.all()}
    days = {london(p.start).date() for p in plan.proposals.all()}
    assert (min(hours) >= 8, max(hours) < 17, len(days)) == (True, True, 5)
    assert TODAY not in days
