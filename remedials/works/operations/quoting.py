"""What a quote does to the remedials that it offers: quoted while it is with the customer, to price again after it."""

from datetime import date, datetime

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.people.models import User
from jobsite.refused import NotAllowed
from remedials.works import policy
from remedials.works.models import Remedial
from remedials.works.operations.ground import (
    change,
    key,
    locked,
    locked_with_observations,
    moved,
    must_be_active,
    note,
    step_date,
)
from remedials.works.operations.making import NOT_YOURS
from remedials.works.states import Move, Stage
from remedials.works.verbs import Verb


@operation
def mark_quoted(remedial: Remedial, *, owner: User, step_by: date, number: int, by: Actor, now: datetime) -> Remedial:
    """Note that quote `number`, which offers the remedial, is with the customer: `owner` chases the answer on `step_by`.

    One that a former version offered already goes on as quoted, with the new step; one that was declined is offered
    again by it. Raises NotAllowed, and Refused where its stage allows no quote.
    """
    remedial = locked(remedial)
    if not policy.may_plan(by):
        raise NotAllowed(NOT_YOURS)
    must_be_active(owner)
    quoted = remedial.stage == Stage.QUOTED
    if quoted and (remedial.owner_id, remedial.step_by) == (owner.pk, step_by):
        return remedial
    if remedial.stage == Stage.DECLINED:
        change(remedial, stage=moved(remedial, Move.OFFER_AGAIN))
        note(Verb.OFFERED_AGAIN, remedial, by=by, now=now)
    stage = Stage.QUOTED if quoted else moved(remedial, Move.QUOTE)
    change(remedial, stage=stage, owner=owner, step_by=step_by)
    facts = {"quote": number, "step_by": step_by.isoformat(), "owner": key(owner)}
    note(Verb.QUOTED, remedial, by=by, now=now, facts=facts)
    return remedial


@operation
def mark_to_price_again(
    remedial: Remedial, *, number: int, by: Actor, now: datetime, owner: User | None = None
) -> Remedial:
    """Note that quote `number` offers the remedial no longer: to price again by `owner`, within the days of the policy.

    One that is not quoted stays as it is: its answer came first, or the work went on without one. Raises NotAllowed.
    """
    remedial, observations = locked_with_observations(remedial)
    if not policy.may_plan(by):
        raise NotAllowed(NOT_YOURS)
    if remedial.stage != Stage.QUOTED:
        return remedial
    still_here = remedial.owner if remedial.owner is not None and remedial.owner.is_active else None
    owner = owner or still_here or (by if isinstance(by, User) else None)
    step_by = step_date(observations, now=now)
    change(remedial, stage=moved(remedial, Move.REVISE), owner=owner, step_by=step_by)
    facts = {"quote": number, "step_by": step_by.isoformat(), "owner": key(owner)}
    note(Verb.TO_PRICE_AGAIN, remedial, by=by, now=now, facts=facts)
    return remedial
