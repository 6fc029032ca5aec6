"""Who may do what to a visit."""

from jobsite.ledger.actor import Actor
from jobsite.people.models import User
from jobsite.people.rights import Right


def may_book(by: Actor) -> bool:
    """Booking and cancelling visits: the office's."""
    return by.may(Right.BOOK)


def may_keep_feed(by: Actor, user: User | None) -> bool:
    """Making and withdrawing a calendar address: the office any, an engineer their own."""
    own = user is not None and user.pk == by.actor_id and by.may(Right.DO_WORK)
    return own or by.may(Right.BOOK)
