"""Who may price and quote. Asked by the operation and by the page that shows the button."""

from jobsite.ledger.actor import Actor
from jobsite.people.rights import Right

NOT_YOURS = "Only the office may see and make prices."
NOT_YOUR_FIRM = "Only a manager may set the firm's rates and terms."


def may_quote(by: Actor) -> bool:
    """Building, sending and recording quotes: the office's. Engineers and subcontractors see no price."""
    return by.may(Right.PRICE) and not getattr(by, "subcontractor", False)


def may_price(by: Actor) -> bool:
    """Costs, prices, the price book: the office's, never a subcontractor's."""
    return by.may(Right.PRICE) and not getattr(by, "subcontractor", False)


def may_set_terms(by: Actor) -> bool:
    """Rates and terms: a manager's."""
    return by.may(Right.KEEP_FIRM)
