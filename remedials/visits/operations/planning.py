"""Asking for a plan, and deciding on what it proposes. Working it out is the worker's (`operations.working_out`).

A plan never moves a booked visit: those are given to it as fixed. What it proposes are rows that people accept, each by
booking a visit with all the checks of a booking, or refuse.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from functools import partial
from uuid import UUID

from django.db import transaction

from inspections.operations.ground import held_site
from jobsite import clock
from jobsite.firm.models import Progress
from jobsite.firm.operations import take_number
from jobsite.ids import part_of
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone
from jobsite.people.models import User
from jobsite.refused import NotAllowed, Refused
from remedials.visits import policy
from remedials.visits.choices import Effort, PlanState, ProposalState
from remedials.visits.models import Plan, Proposal, Visit
from remedials.visits.operations.booking import book_visit, must_do_work
from remedials.visits.queries.gone import why_gone
from remedials.visits.verbs import Verb
from remedials.works.operations.ground import person, same_form

NOT_YOURS = "Only the office may plan the week."
MOST_DAYS = 14
FARTHEST = timedelta(days=366)


class _Gone(Exception):
    """A proposal that is no longer possible, and why."""


@operation
def ask_plan(
    *,
    id: UUID,
    first: date,
    days: int,
    effort: str,
    seed: int,
    engineers: Iterable[User],
    by: Actor,
    now: datetime,
    after: Plan | None = None,
) -> Plan:
    """Ask the worker to propose visits of `engineers` for `days` days from `first`. `after`: begin from that plan.

    `effort` is a value of choices.Effort; the same input and `seed` give the same plan. Raises NotAllowed, Refused.
    """
    if not policy.may_book(by):
        raise NotAllowed(NOT_YOURS)
    alone(id)
    if made := Plan.objects.filter(pk=id).first():
        return same_form(made, made.first == first)
    going = list(engineers)
    people = sorted({str(engineer.pk) for engineer in going})
    _sensible(first, days, effort, people, now)
    must_do_work(going)
    number = take_number("plan")
    progress = Progress.objects.create(what=f"Plan {number}", changed_at=now)
    plan = Plan.objects.create(
        id=id, number=number, first=first, days=days, effort=effort, seed=seed, progress=progress.pk, after=after,
        asked={"engineers": people}, made_by=person(by), made_at=now,
    )  # fmt: skip
    facts = {"number": number, "first": first.isoformat(), "days": days, "effort": effort, "seed": seed}
    facts |= {"engineers": people} | ({"after": str(after.pk)} if after else {})
    record(Verb.PLAN_ASKED, site=None, subject=plan, by=by, now=now, facts=facts)
    wake(plan)
    return plan


def _sensible(first: date, days: int, effort: str, people: list[str], now: datetime) -> None:
    today = clock.local_day(now)
    if first < today:
        raise Refused("The first day is past: plan from today on.", field="first")
    if first - today > FARTHEST:
        raise Refused("That is more than a year ahead: plan nearer days.", field="first")
    if not 1 <= days <= MOST_DAYS:
        raise Refused(f"Plan from 1 to {MOST_DAYS} days.", field="days")
    if effort not in Effort.values:
        raise Refused("Choose how long it searches.", field="effort")
    if not people:
        raise Refused("Choose who can be sent.", field="engineers")


def wake(plan: Plan) -> None:
    """Tell the worker, once the row is there for it. A lost message is made good by `work_out_waiting`."""
    from remedials.visits import tasks

    transaction.on_commit(partial(tasks.work_out.apply_async, [str(plan.pk)], retry=False), robust=True)


def accept(proposal: Proposal, *, by: Actor, now: datetime, despite: str = "") -> Visit:
    """Book what `proposal` says, with all the checks of a booking; accepted already: its visit.

    `despite`: why in spite of what the checks warn of. One whose work or time is taken meanwhile is marked as no longer
    possible. Raises NotAllowed, Refused.
    """
    try:
        return _accept(proposal, by=by, now=now, despite=despite)
    except _Gone as gone:
        _note_gone(proposal, why=str(gone), by=by, now=now)
        raise Refused(str(gone)) from gone


@operation
def _accept(proposal: Proposal, *, by: Actor, now: datetime, despite: str) -> Visit:
    proposal = _held(proposal, by)
    if proposal.visit is not None:
        return proposal.visit
    _must_be_open(proposal)
    if why := why_gone([proposal], now=now).get(proposal.pk):
        raise _Gone(why)
    visit = book_visit(
        proposal.site,
        id=part_of(proposal.pk, "visit"),
        remedials=list(proposal.remedials.all()),
        engineers=list(proposal.engineers.order_by("name", "pk")),
        start=proposal.start,
        end=proposal.end,
        by=by,
        now=now,
        despite=despite,
    )
    _decide(proposal, ProposalState.ACCEPTED, by=by, now=now, visit=visit)
    facts = {"plan": str(proposal.plan_id), "visit": str(visit.pk)}
    record(Verb.PROPOSAL_ACCEPTED, site=proposal.site_id, subject=proposal, by=by, now=now, facts=facts)
    return visit


def accept_all(plan: Plan, *, by: Actor, now: datetime) -> tuple[list[Visit], list[tuple[Proposal, str]]]:
    """Accept every open proposal of `plan`, each by itself; the visits, and with its sentence each that was refused.

    What the checks warn of is not accepted here: that takes somebody's word. Raises NotAllowed.
    """
    if not policy.may_book(by):
        raise NotAllowed(NOT_YOURS)
    visits: list[Visit] = []
    refused: list[tuple[Proposal, str]] = []
    rows = plan.proposals.filter(state=ProposalState.OPEN).select_related("site")
    for proposal in rows.order_by("start", "pk"):
        try:
            visits.append(accept(proposal, by=by, now=now))
        except Refused as no:
            refused.append((proposal, no.sentence))
    return visits, refused


@operation
def refuse(proposal: Proposal, *, why: str, by: Actor, now: datetime) -> Proposal:
    """Say no to a proposal, and why; its work is free for the next plan. Refused already: nothing more happens.

    Raises NotAllowed, Refused.
    """
    proposal = _held(proposal, by)
    if proposal.state == ProposalState.REFUSED:
        return proposal
    _must_be_open(proposal)
    if not (why := why.strip()):
        raise Refused("Say why it is refused.", field="why")
    _decide(proposal, ProposalState.REFUSED, by=by, now=now, said=why)
    facts = {"plan": str(proposal.plan_id)}
    record(
        Verb.PROPOSAL_REFUSED, site=proposal.site_id, subject=proposal, by=by, now=now, facts=facts, words={"why": why}
    )
    return proposal


@operation
def _note_gone(proposal: Proposal, *, why: str, by: Actor, now: datetime) -> None:
    proposal = _held(proposal, by)
    if proposal.state != ProposalState.OPEN:
        return
    _decide(proposal, ProposalState.GONE, by=by, now=now, said=why)
    facts = {"plan": str(proposal.plan_id)}
    record(Verb.PROPOSAL_GONE, site=proposal.site_id, subject=proposal, by=by, now=now, facts=facts)


def _held(proposal: Proposal, by: Actor) -> Proposal:
    """The proposal as it is now, locked after its site. Raises NotAllowed."""
    if not policy.may_book(by):
        raise NotAllowed(NOT_YOURS)
    held_site(proposal.site)
    rows = Proposal.objects.select_for_update(of=("self",)).select_related("site", "visit", "plan")
    return rows.get(pk=proposal.pk)


def _must_be_open(proposal: Proposal) -> None:
    if proposal.state == ProposalState.REFUSED:
        raise Refused(f"This was refused: {proposal.said}")
    if proposal.state == ProposalState.GONE:
        raise Refused(proposal.said or "This is no longer possible.")
    if proposal.state != ProposalState.OPEN:
        raise Refused("This was accepted already.")
    if proposal.plan.state != PlanState.READY:
        raise Refused("This plan is not ready.")


def _decide(
    proposal: Proposal, state: str, *, by: Actor, now: datetime, said: str = "", visit: Visit | None = None
) -> None:
    proposal.state, proposal.said, proposal.visit = state, said, visit
    proposal.decided_by, proposal.decided_at = person(by), now
    proposal.save(update_fields=["state", "said", "visit", "decided_by", "decided_at"])
