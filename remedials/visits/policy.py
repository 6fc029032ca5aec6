"""Who may do what to a visit."""

from jobsite.ledger.actor import Actor
from jobsite.people.rights import Right


def may_book(by: Actor) -> bool:
    """Booking and cancelling visits: the office's."""
    return by.may(Right.BOOK)
