"""Who may do what to a remedial. Asked by the operation on the locked row and by the page that shows the button."""

from datetime import datetime

from inspections.models import Reading
from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.people.models import User
from jobsite.people.policy import is_qualified, qualified_count
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from remedials.works import rules
from remedials.works.models import Proof, Remedial


def may_plan(by: Actor) -> bool:
    """Making and changing remedials, approval, declining, cancelling, done by others, waiting on: the office's."""
    return by.may(Right.PLAN_WORK)


def may_answer(by: Actor) -> bool:
    """An answer to a quote: the customer's own, on their link, or one that the office was given."""
    return by.actor_kind == "link" or by.may(Right.PRICE)


def may_book(by: Actor) -> bool:
    return by.may(Right.BOOK)


def may_close(by: Actor, remedial: Remedial) -> bool:
    """An engineer who sees the site may close what is approved or booked there.

    Not only those of the visit: people swap on the day. A subcontractor sees only the sites of their own visits.
    """
    if not (isinstance(by, User) and by.may(Right.DO_WORK)):
        return False
    return not by.subcontractor or Site.objects.visible_to(by).filter(pk=remedial.site_id).exists()


def may_reopen(by: Actor, *, now: datetime) -> bool:
    """The office, or a qualified person."""
    return by.may(Right.PLAN_WORK) or is_qualified(by, now=now)


def why_not_review(by: Actor, proof: Proof, *, now: datetime) -> str:
    """Why `by` may not review `proof`, as a sentence; "" where they may."""
    qualified = by.may(Right.REVIEW_PROOF) and is_qualified(by, now=now)
    own = proof.done_by_id == by.actor_id
    return rules.why_not_review(
        qualified=qualified,
        own_work=own,
        others=qualified_count(now=now) - 1 if qualified and own else 0,
        closed_on=clock.local_day(proof.done_at),
        today=clock.local_day(now),
    )


def why_not_keep(by: Actor, reading: Reading, *, now: datetime) -> str:
    """Why `by` may not decide that a doubtful reading is kept, as a sentence; "" where they may."""
    qualified = by.may(Right.REVIEW_PROOF) and is_qualified(by, now=now)
    own = reading.taken_by_id == by.actor_id
    return rules.why_not_keep(
        qualified=qualified,
        own=own,
        others=qualified_count(now=now) - 1 if qualified and own else 0,
        read_on=clock.local_day(reading.taken_at),
        today=clock.local_day(now),
    )
