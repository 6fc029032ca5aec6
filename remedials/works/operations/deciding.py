"""Yes, no and not at all: approval, declining, offering again, cancelling."""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db.models import Q

from inspections.models import Observation
from inspections.operations import end_observation
from inspections.operations import take_on as take_on_observation
from jobsite import clock
from jobsite.firm.queries import policy_on
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.ledger.queries import just_told
from jobsite.premises.choices import RoleAtUnit
from jobsite.premises.models import Party, PartyAtUnit
from jobsite.refused import NotAllowed, Refused
from jobsite.words import day as day_in_words
from jobsite.words import money
from remedials.works import policy
from remedials.works.models import Approval, Remedial, WayOut
from remedials.works.operations.ground import (
    as_seen,
    change,
    iso,
    locked,
    locked_with_observations,
    moved,
    needed,
    not_in_the_future,
    not_in_the_past,
    note,
    person,
    same_again,
    step_date,
)
from remedials.works.operations.making import NOT_YOURS
from remedials.works.operations.waiting import waits_no_more
from remedials.works.queries.closing import still_to_come
from remedials.works.rules import NOTICE_BEFORE_NO, TO_BE_REVIEWED, next_step_by, says_enough
from remedials.works.states import Move, Stage
from remedials.works.verbs import Verb


@operation
def approve_remedial(
    remedial: Remedial,
    *,
    given_by: str,
    how: str,
    given_on: date,
    by: Actor,
    now: datetime,
    pounds: Decimal | None = None,
    party: Party | None = None,
    reference: str = "",
    version: int | None = None,
) -> Remedial:
    """Record who said yes, how and when; `pounds` is the sum they said yes to, `reference` their order number.

    By a standing limit, `party` must hold one at the remedial's unit that day and `pounds` must lie within it.
    The same yes again: nothing more happens; another yes to what is approved is refused. `version`: that of the
    remedial that the person saw. Raises NotAllowed, ChangedMeanwhile, Refused.
    """
    remedial, observations = locked_with_observations(remedial)
    if not policy.may_plan(by):
        raise NotAllowed("Only the office may record an approval.")
    given_by = needed(given_by, "Say who gave the approval.", field="given_by")
    yes = {"given_by": given_by, "how": how, "given_on": given_on, "pounds": pounds, "party": party}
    if remedial.stage == Stage.APPROVED and same_again(remedial.approvals, yes | {"reference": reference}):
        return remedial
    as_seen(remedial, version)
    stage = moved(remedial, Move.APPROVE)
    not_in_the_future(given_on, now=now, field="given_on")
    if pounds is not None and pounds < 0:
        raise Refused("A sum cannot be less than nothing.", field="pounds")
    if how == Approval.How.STANDING:
        _within_standing_limit(remedial, party, pounds, given_on)
    approval = Approval.objects.create(
        remedial=remedial, reference=reference, recorded_by=person(by), recorded_at=now, **yes
    )
    change(remedial, stage=stage, step_by=step_date(observations, now=now), owner=remedial.owner or person(by))
    facts = {"approval": str(approval.pk), "how": how, "given_on": iso(given_on)}
    facts |= {"pounds": str(pounds) if pounds is not None else None, "party": str(party.pk) if party else None}
    words = {"given_by": given_by, "reference": reference}
    note(Verb.APPROVED, remedial, by=by, now=now, facts=facts, words=words)
    return remedial


def _within_standing_limit(remedial: Remedial, party: Party | None, pounds: Decimal | None, on: date) -> None:
    """Raises Refused where no standing limit of `party` at the unit covers `pounds` on that day."""
    if party is None:
        raise Refused("Choose whose standing limit is used.", field="party")
    if pounds is None:
        raise Refused("Say how much of the standing limit is used.", field="pounds")
    held = PartyAtUnit.objects.filter(
        Q(until__isnull=True) | Q(until__gte=on),
        unit=remedial.unit_id, party=party, role=RoleAtUnit.APPROVER, since__lte=on, limit_pounds__isnull=False,
    )  # fmt: skip
    limit = max((row.limit_pounds for row in held if row.limit_pounds is not None), default=None)
    if limit is None:
        raise Refused(f"{party} holds no standing limit here on {day_in_words(on)}.", field="party")
    if pounds > limit:
        raise Refused(f"The standing limit of {party} is {money(limit)}: ask for this sum.", field="pounds")


@operation
def decline_remedial(
    remedial: Remedial,
    *,
    who: str,
    reason: str,
    offer_again_on: date | None,
    by: Actor,
    now: datetime,
    version: int | None = None,
) -> Remedial:
    """Record who said no and why, and when to offer the work again. The observations stay open.

    For a C1 or C2 a danger notice must be on record first; for those and an FI a day to offer it again is needed.
    The same no again: nothing more happens. `version`: that of the remedial that the person saw.
    Raises NotAllowed, ChangedMeanwhile, Refused.
    """
    remedial, observations = locked_with_observations(remedial)
    if not policy.may_plan(by):
        raise NotAllowed("Only the office may record that work was declined.")
    who = needed(who, "Say who declined.", field="who")
    no = {"stage": Stage.DECLINED, "who": who, "reason": reason, "offer_again_on": offer_again_on}
    if remedial.stage == Stage.DECLINED and same_again(remedial.ways_out, no):
        return remedial
    as_seen(remedial, version)
    stage = moved(remedial, Move.DECLINE)
    if without := without_notice(observations):
        numbers = ", ".join(str(o.number) for o in without)
        raise Refused(f"Give a danger notice first: none is on record for observation {numbers}.")
    if offer_again_on is None and any(o.code in TO_BE_REVIEWED and not o.ended for o in observations):
        raise Refused("Choose the day to offer it again: a dangerous item is open.", field="offer_again_on")
    if offer_again_on:
        not_in_the_past(offer_again_on, now=now, field="offer_again_on")
    change(remedial, stage=stage, owner=person(by), step_by=offer_again_on)
    _left(remedial, who=who, reason=reason, offer_again_on=offer_again_on, by=by, now=now)
    facts = {"offer_again_on": iso(offer_again_on)} | waits_no_more(remedial, now=now)
    note(Verb.DECLINED, remedial, by=by, now=now, facts=facts, words={"who": who, "reason": reason})
    return remedial


def without_notice(observations: Iterable[Observation]) -> list[Observation]:
    """Those open C1 and C2 for which no danger notice is on record, which a "no" needs. One statement."""
    found = [o for o in observations if o.code in NOTICE_BEFORE_NO and not o.ended]
    told = Observation.objects.filter(pk__in=[o.pk for o in found], danger_notices__isnull=False)
    have = set(told.values_list("pk", flat=True))
    return [o for o in found if o.pk not in have]


def _left(remedial: Remedial, *, who: str, reason: str, by: Actor, now: datetime, **more: Any) -> WayOut:
    """The row that says how the remedial left the list."""
    return WayOut.objects.create(
        remedial=remedial, stage=remedial.stage, who=who, reason=reason, recorded_by=person(by), recorded_at=now,
        **{"on": clock.local_day(now)} | more,
    )  # fmt: skip


@operation
def offer_again(remedial: Remedial, *, by: Actor, now: datetime) -> Remedial:
    """A declined remedial is offered anew: to price again, today, by whoever offers it.

    Offered again just now already: nothing more happens. Raises NotAllowed, Refused.
    """
    remedial = locked(remedial)
    if not policy.may_plan(by):
        raise NotAllowed(NOT_YOURS)
    if just_told(Verb.OFFERED_AGAIN, remedial):
        return remedial
    change(remedial, stage=moved(remedial, Move.OFFER_AGAIN), owner=person(by), step_by=clock.local_day(now))
    note(Verb.OFFERED_AGAIN, remedial, by=by, now=now)
    return remedial


@operation
def cancel_remedial(
    remedial: Remedial,
    *,
    reason: str,
    by: Actor,
    now: datetime,
    who: str = "",
    nothing_more: bool = False,
    version: int | None = None,
) -> Remedial:
    """Cancel a remedial; `who` asked for it, else the person who records it.

    Its open observations are to be decided again, soon, by whoever cancels: none is left without a next step. With
    `nothing_more`, observations that other closed remedials have put right end as remedied. While a C1 or C2 of it is
    open the reason is a sentence. `version`: that of the remedial that the person saw.
    Raises NotAllowed, ChangedMeanwhile, Refused.
    """
    remedial, observations = locked_with_observations(remedial)
    if not policy.may_plan(by):
        raise NotAllowed(NOT_YOURS)
    reason, who = needed(reason, "Say why it is cancelled.", field="reason"), who.strip() or str(by)
    said = {"stage": Stage.CANCELLED, "who": who, "reason": reason}
    if remedial.stage == Stage.CANCELLED and same_again(remedial.ways_out, said):
        return remedial
    as_seen(remedial, version)
    stage = moved(remedial, Move.CANCEL)
    if not nothing_more:
        _reason_of_substance(reason, observations)
    change(remedial, stage=stage, owner=None, step_by=None)
    _left(remedial, who=who, reason=reason, by=by, now=now)
    facts = waits_no_more(remedial, now=now)
    note(Verb.CANCELLED, remedial, by=by, now=now, facts=facts, words={"who": who, "reason": reason})
    rest = [o for o in observations if not o.ended]
    if nothing_more:
        rest = _end_those_put_right(rest, remedial, reason=reason, by=by, now=now)
    decide_again(rest, reason=f"Remedial {remedial.number} was cancelled: {reason}", by=by, now=now)
    return remedial


def _reason_of_substance(reason: str, observations: Iterable[Observation]) -> None:
    """Raises Refused where a word is all that is said of work that was to end a danger."""
    codes = sorted({o.code for o in observations if o.code in NOTICE_BEFORE_NO and not o.ended})
    if codes and not says_enough(reason):
        raise Refused(
            f"{' and '.join(codes)} stays open here: say in a sentence why this is cancelled, for whoever has it next.",
            field="reason",
        )


def _end_those_put_right(
    observations: list[Observation], remedial: Remedial, *, reason: str, by: Actor, now: datetime
) -> list[Observation]:
    """End those that another remedial has put right and none keeps open; the rest is returned.

    Raises Refused where there is none: then something more is needed after all.
    """
    closed = Remedial.objects.filter(stage__in=[Stage.DONE, Stage.REVIEWED], remedies__observation__in=observations)
    right = set(closed.values_list("remedies__observation", flat=True)) - still_to_come(observations, besides=remedial)
    ended = [o for o in observations if o.pk in right]
    if not ended:
        raise Refused("No other closed remedial has put these observations right.", field="nothing_more")
    for observation in ended:
        end_observation(
            observation, ended="remedied", reason=f"Nothing more is needed: {reason}", by=person(by), now=now
        )
    return [o for o in observations if o.pk not in right]


def decide_again(observations: list[Observation], *, reason: str, by: Actor, now: datetime) -> None:
    """Give open observations that no remedial carries now back to `by`, to decide within the days of the policy."""
    today = clock.local_day(now)
    carrying = Remedial.objects.carrying().filter(remedies__observation__in=observations)
    carried = set(carrying.values_list("remedies__observation", flat=True))
    for observation in observations:
        if observation.pk not in carried:
            step = next_step_by(today, days=policy_on(today).decide_days, remedy_by=observation.remedy_by)
            take_on_observation(observation, owner=person(by), step_by=step, by=person(by), now=now, reason=reason)
