"""A plan worked out by the worker: gathered, searched, checked, and only then shown."""

from __future__ import annotations

import logging
import time
from collections.abc import Callable, Mapping
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from celery.exceptions import SoftTimeLimitExceeded
from django.db import transaction
from django.db.models import Q

from jobsite import clock
from jobsite.firm.models import Progress
from jobsite.firm.operations import note_progress, note_progress_apart
from jobsite.ledger.actor import CLOCK
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone
from jobsite.ledger.rules import FIRM_CHAIN
from jobsite.people.models import User
from jobsite.refused import Refused
from jobsite.words import many
from remedials.visits.choices import PlanState, ProposalState
from remedials.visits.models import Plan, Proposal, Unplanned
from remedials.visits.planner.checker import faults
from remedials.visits.planner.figures import figures
from remedials.visits.planner.kept import answer_as_kept, answer_from, problem_as_kept, problem_from
from remedials.visits.planner.plain import by_rule
from remedials.visits.planner.problem import Answer, Problem
from remedials.visits.planner.search import plan as search
from remedials.visits.queries.after import answer_of
from remedials.visits.queries.problem import Gathered, gathered
from remedials.visits.rules.times import instant_of, midnight
from remedials.visits.verbs import Verb
from remedials.works.models import Remedial

log = logging.getLogger(__name__)

PATIENCE = timedelta(minutes=1)
"""A plan that nobody began for so long was forgotten by the broker."""
SILENCE = timedelta(minutes=16)
"""A plan that is being worked out without a word for so long lost its worker: longer than any may take."""
AT_A_SWEEP = 2
BETWEEN = 1.0  # seconds between two words of progress
STUMBLED = "The program stumbled while working this plan out. Nothing was proposed; ask for it again."
TOO_LONG = "This took longer than a plan may take, so nothing was proposed. Ask for fewer days, or a quicker search."
UNSOUND = "The plan that was found broke its own conditions, so it is not shown. What was wrong is kept with it."
CUT_SHORT = "Time cut the search short: asked again, it may find another plan."

Tell = Callable[[str, int, int], None]


def work_out(plan_id: UUID, *, now: datetime) -> Plan | None:
    """Work out a plan that somebody asked for; None where there is nothing left to do.

    May run twice or be cut off anywhere: one worker has it at a time, and what is found is written by one operation.
    Whatever goes wrong is said on the plan, which has failed then.
    """
    plan = _claimed(plan_id, now)
    if plan is None:
        return None
    try:
        return _worked_out(plan, tell=_teller(plan.progress))
    except Refused as refused:
        return _note_failed(plan, sentence=refused.sentence, now=clock.now())
    except SoftTimeLimitExceeded:
        return _note_failed(plan, sentence=TOO_LONG, now=clock.now())
    except Exception:  # whatever it was: tried again by every sweep, this plan would hold up all others
        log.exception("Plan %s could not be worked out", plan.pk)
        return _note_failed(plan, sentence=STUMBLED, now=clock.now())


def work_out_waiting(*, now: datetime) -> int:
    """Work out the plans that nobody has begun, or finished, for a while; how many there were."""
    forgotten = Progress.objects.filter(changed_at__lt=now - PATIENCE).values("pk")
    lost = Progress.objects.filter(changed_at__lt=now - SILENCE).values("pk")
    waiting = Q(state=PlanState.WAITING, progress__in=forgotten) | Q(state=PlanState.RUNNING, progress__in=lost)
    keys = list(Plan.objects.filter(waiting).order_by("made_at").values_list("pk", flat=True)[:AT_A_SWEEP])
    for key in keys:
        work_out(key, now=now)
    return len(keys)


def search_again(plan: Plan, *, progress: Callable[[int, int], None] | None = None) -> tuple[Problem, Answer]:
    """What `plan` was given, and the search done on it: the same each time, unless time cut it short."""
    problem = problem_from(plan.asked["problem"])
    last = plan.asked.get("last")
    before = answer_from(last) if last else None
    return problem, search(problem, effort=plan.effort, seed=plan.seed, last=before, progress=progress)


def _claimed(plan_id: UUID, now: datetime) -> Plan | None:
    """The plan, now this worker's; None where it is finished or another has it."""
    with transaction.atomic():
        plan = Plan.objects.select_for_update(of=("self",)).filter(pk=plan_id).first()
        if plan is None or plan.state not in {PlanState.WAITING, PlanState.RUNNING}:
            return None
        progress = Progress.objects.filter(pk=plan.progress)
        if plan.state == PlanState.RUNNING and not progress.filter(changed_at__lt=now - SILENCE).exists():
            return None
        plan.state = PlanState.RUNNING
        plan.save(update_fields=["state"])
        note_progress(plan.progress, now=now, state=Progress.State.RUNNING, sentence="Gathering the work.", done=0)
    return plan


def _teller(progress: UUID) -> Tell:
    told = [0.0]

    def tell(sentence: str, done: int, total: int) -> None:
        if not done or time.monotonic() - told[0] >= BETWEEN:
            told[0] = time.monotonic()
            at = clock.now()  # by this the page and the sweep know that somebody is at it
            note_progress_apart(
                progress, now=at, state=Progress.State.RUNNING, sentence=sentence, done=done, total=total
            )

    return tell


def _worked_out(plan: Plan, *, tell: Tell) -> Plan:
    began = time.monotonic()
    _gather(plan, now=clock.now())
    tell("Searching.", 0, 0)
    problem, answer = search_again(plan, progress=lambda done, total: tell("Searching.", done, total))
    if wrong := faults(problem, answer):
        return _note_failed(plan, sentence=UNSOUND, now=clock.now(), faults=wrong)
    return _note_ready(plan, problem, answer, seconds=time.monotonic() - began, now=clock.now())


def _gather(plan: Plan, *, now: datetime) -> None:
    """Give the plan all that its search needs; one that was cut off earlier has it already."""
    if "problem" in plan.asked:
        return
    users = list(User.objects.filter(pk__in=plan.asked["engineers"]).order_by("name", "pk"))
    found = gathered(plan.first, plan.days, users, now)
    last = answer_of(plan.after, found, plan.first) if plan.after else None
    _keep(plan, found, last, now=now)


def _keep(plan: Plan, found: Gathered, last: Answer | None, *, now: datetime) -> None:
    plan.asked = plan.asked | {
        "problem": problem_as_kept(found.problem),
        "work": {job: [str(key) for key in keys] for job, keys in found.work.items()},
        "held_back": {str(key): why for key, why in found.held_back.items()},
        "missing": [list(one) for one in found.missing],
        "notes": list(found.notes),
        "last": answer_as_kept(last) if last else None,
        "gathered_at": now.isoformat(),
    }
    Plan.objects.filter(pk=plan.pk).update(asked=plan.asked)


@operation
def _note_ready(plan: Plan, problem: Problem, answer: Answer, *, seconds: float, now: datetime) -> Plan:
    alone(FIRM_CHAIN)
    plan = Plan.objects.select_for_update(of=("self",)).get(pk=plan.pk)
    if plan.state != PlanState.RUNNING:
        return plan
    work: Mapping[str, list[str]] = plan.asked["work"]
    replaced = _replace_earlier(plan, [UUID(key) for keys in work.values() for key in keys], now)
    _write_proposals(plan, answer, work)
    why = {key: sentence for job, sentence in answer.unplanned.items() for key in work[job]} | plan.asked["held_back"]
    Unplanned.objects.bulk_create(Unplanned(plan=plan, remedial_id=key, why=why[key]) for key in sorted(why))
    plan.figures = _figures(problem, answer) | {"seconds": round(seconds, 1)}
    plan.state, plan.ready_at, plan.sentence = PlanState.READY, now, CUT_SHORT if answer.cut_short else ""
    plan.save(update_fields=["figures", "state", "ready_at", "sentence"])
    done = f"{many(len(answer.planned), 'visit')} proposed."
    note_progress(plan.progress, now=now, state=Progress.State.DONE, sentence=done, done=1, total=1)
    facts = {"proposed": len(answer.planned), "unplanned": len(why), "replaced": replaced}
    record(Verb.PLAN_READY, site=None, subject=plan, by=CLOCK, now=now, facts=facts)
    return plan


def _write_proposals(plan: Plan, answer: Answer, work: Mapping[str, list[str]]) -> None:
    sites = dict(Remedial.objects.filter(pk__in=[work[p.job][0] for p in answer.planned]).values_list("pk", "site"))
    rows = [
        Proposal(
            plan=plan, site_id=sites[UUID(work[p.job][0])], start=instant_of(p.start, plan.first),
            end=instant_of(p.end, plan.first), drive_minutes=p.drive_minutes, reason=p.reason,
        )
        for p in answer.planned
    ]  # fmt: skip
    Proposal.objects.bulk_create(rows)
    pairs = list(zip(rows, answer.planned, strict=True))
    engineers, remedials = Proposal.engineers.through, Proposal.remedials.through
    engineers.objects.bulk_create(engineers(proposal=row, user_id=key) for row, p in pairs for key in p.engineers)
    remedials.objects.bulk_create(remedials(proposal=row, remedial_id=key) for row, p in pairs for key in work[p.job])


def _replace_earlier(plan: Plan, remedials: list[UUID], now: datetime) -> int:
    """What earlier plans propose for the same work or days is no longer open: two proposals of one thing would clash."""
    begin, until = midnight(plan.first), midnight(plan.first + timedelta(days=plan.days))
    same = Q(remedials__in=remedials) | Q(start__lt=until, end__gt=begin)
    earlier = Proposal.objects.filter(same, state=ProposalState.OPEN).exclude(plan=plan).values("pk")
    said = f"Plan {plan.number} took its place."
    # The state is asked again of the row itself: one that is being accepted is waited for, and is accepted then.
    still = Proposal.objects.filter(pk__in=earlier, state=ProposalState.OPEN)
    return still.update(state=ProposalState.GONE, said=said, decided_at=now)


def _figures(problem: Problem, answer: Answer) -> dict[str, Any]:
    """The figures of the plan, and of what the plain rule would have done with the same work."""
    rule = figures(problem, by_rule(problem))
    found = figures(problem, answer)
    return {
        **found._asdict(),
        "jobs": len(problem.jobs),
        "iterations": answer.iterations,
        "cut_short": answer.cut_short,
        "rule": rule._asdict(),
    }


@operation
def _note_failed(plan: Plan, *, sentence: str, now: datetime, faults: list[str] | None = None) -> Plan:
    plan = Plan.objects.select_for_update(of=("self",)).get(pk=plan.pk)
    if plan.state not in {PlanState.WAITING, PlanState.RUNNING}:
        return plan
    plan.state, plan.sentence, plan.ready_at = PlanState.FAILED, sentence, now
    plan.figures = {"faults": faults} if faults else {}
    plan.save(update_fields=["state", "sentence", "ready_at", "figures"])
    note_progress(plan.progress, now=now, state=Progress.State.FAILED, sentence=sentence)
    facts = {"faults": len(faults or ())}
    record(Verb.PLAN_FAILED, site=None, subject=plan, by=CLOCK, now=now, facts=facts, words={"why": sentence})
    return plan
