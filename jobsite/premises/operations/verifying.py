"""What is believed and what is verified: who says so, since when, and how they know."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.people.models import User
from jobsite.premises.models import Board, Circuit
from jobsite.refused import Refused


def stamped(row: Board | Circuit, fields: Mapping[str, Any], *, by: Actor, now: datetime) -> dict[str, Any]:
    """`fields` with the stamp of verification that they call for.

    A designation with a way of verifying is stamped with `by` and the day when either is new; a designation changed
    without one is believed only. Refused where there is a way of verifying but no designation.
    """
    designation = fields.get("designation", row.designation)
    how = fields.get("verified_how", "" if designation != row.designation else row.verified_how)
    if how and not designation:
        raise Refused("Enter the designation that was verified.", field="designation")
    stamp: dict[str, Any] = {"verified_how": how}
    if not how:
        stamp |= {"verified_by": None, "verified_on": None}
    elif how != row.verified_how or designation != row.designation:
        stamp |= stamp_of(by, now)
    if isinstance(row, Board):
        stamp["designation_verified"] = bool(how)
    return {**fields, **stamp}


def stamp_of(by: Actor, now: datetime) -> dict[str, Any]:
    """Who verified and on which day; the clock and links are nobody."""
    return {"verified_by": by if isinstance(by, User) else None, "verified_on": clock.local_day(now)}
