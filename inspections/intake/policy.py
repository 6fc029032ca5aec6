"""Who may take in spreadsheets."""

from inspections.choices import IntakeKind
from jobsite.ledger.actor import Actor
from jobsite.people.rights import Right


def may_take_in(by: Actor, kind: str = "") -> bool:
    """Send a spreadsheet and take in its rows; one of boards asks for the right to keep premises besides."""
    return by.may(Right.TAKE_IN) and (kind != IntakeKind.BOARDS or by.may(Right.KEEP_PREMISES))
