"""Competence, asked wherever a decision needs a qualified person."""

from datetime import datetime

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.people.models import Competence
from jobsite.people.rights import Right


def is_qualified(by: Actor, *, now: datetime) -> bool:
    """Whether the firm records `by` as a qualified person on the day of `now`."""
    if by.actor_kind != "person":
        return False
    return Competence.objects.on(clock.local_day(now)).filter(user=by.actor_id).exists()


def qualified_count(*, now: datetime) -> int:
    """How many people of the firm are qualified on the day of `now`."""
    people = Competence.objects.on(clock.local_day(now)).filter(user__is_active=True)
    return people.values("user").distinct().count()


def may_compare(by: Actor) -> bool:
    """Whether `by` may record that an instrument was compared: whoever takes readings for the firm, no subcontractor.

    Who uses an instrument finds out first that it is wrong, and must be able to say so at once. Common practice.
    """
    return by.may(Right.INSPECT) and not getattr(by, "subcontractor", False)
