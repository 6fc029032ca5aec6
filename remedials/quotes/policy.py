"""Who may price and quote. Asked by the operation and by the page that shows the button."""

from jobsite.ledger.actor import Actor
from jobsite.people.rights import Right


def may_quote(by: Actor) -> bool:
    """Building, sending and recording quotes: the office's. Engineers see no price."""
    return by.may(Right.PRICE)
