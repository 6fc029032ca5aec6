"""Who may have the record drawn out, and who may hold it."""

from jobsite.ledger.actor import Actor
from jobsite.people.rights import Right

NOT_YOURS = "Only the office or a manager may have the record drawn out."
NOT_YOUR_HOLD = "Only a manager may hold the record, or lift a hold."


def may_draw(by: Actor) -> bool:
    """Whether `by` may have an archive made and take it away."""
    return by.may(Right.DRAW_PROOF)


def may_hold(by: Actor) -> bool:
    """Whether `by` may place a hold or lift it."""
    return by.may(Right.KEEP_PRIVACY)
