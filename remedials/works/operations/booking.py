"""What visits do to a remedial. The visits themselves are a floor above."""

from datetime import date, datetime

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.ledger.queries import just_told
from jobsite.people.models import User
from jobsite.refused import NotAllowed
from remedials.works import policy
from remedials.works.models import Remedial
from remedials.works.operations.ground import (
    change,
    key,
    locked,
    moved,
    note,
    person,
)
from remedials.works.states import Move
from remedials.works.verbs import Verb


@operation
def mark_booked(
    remedial: Remedial, *, visit_start: datetime, by: Actor, now: datetime, owner: User | None = None
) -> Remedial:
    """Note that a visit for the remedial begins at `visit_start`; its step is then `owner`'s, the engineer's.

    Raises NotAllowed, and Refused where it is neither approved nor booked.
    """
    remedial = locked(remedial)
    if not policy.may_book(by):
        raise NotAllowed("Only the office may book work.")
    stage = moved(remedial, Move.BOOK)
    day: date = clock.local_day(visit_start)
    change(remedial, stage=stage, step_by=day, owner=owner or remedial.owner)
    note(Verb.BOOKED, remedial, by=by, now=now, facts={"day": day.isoformat(), "owner": key(remedial.owner)})
    return remedial


@operation
def mark_unbooked(
    remedial: Remedial, *, by: Actor, now: datetime, not_let_in: bool = False, owner: User | None = None
) -> Remedial:
    """Note that its visit will not be: approved again, to be booked today by `owner`, else by whoever took the visit away.

    `not_let_in`: those who went stood before a closed door; they may say so too. Taken off just now already: nothing more
    happens. Raises NotAllowed, Refused.
    """
    remedial = locked(remedial)
    if not (policy.may_book(by) or (not_let_in and policy.may_close(by, remedial))):
        raise NotAllowed("Only the office may take work off a visit.")
    if just_told(Verb.UNBOOKED, remedial):
        return remedial
    owner = owner if owner and owner.is_active else person(by)
    change(remedial, stage=moved(remedial, Move.UNBOOK), owner=owner, step_by=clock.local_day(now))
    note(Verb.UNBOOKED, remedial, by=by, now=now)
    return remedial
