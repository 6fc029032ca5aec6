"""Deciding, while a file is looked over, against a row that could be taken in, and for it again."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from inspections.choices import IntakeState
from inspections.intake import policy, queries
from inspections.intake.found import as_found, keepable
from inspections.intake.limits import MOST_AT_DESK
from inspections.intake.operations.receiving import NOT_YOURS, to_be_read
from inspections.intake.verbs import Verb
from inspections.models import Intake
from inspections.operations import ground
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.refused import Refused

LONGEST = 500


@operation
def leave_out(intake: Intake, *, row: str, reason: str, by: User, now: datetime) -> Intake:
    """Leave a row ("Circuits, row 5") out with a reason; rows that need it are refused with it.

    The kept file is checked anew, so that what the page shows is what would be taken in.
    """
    intake = looked_over(intake, by)
    reason = keepable(reason).strip()[:LONGEST]
    if not reason:
        raise Refused("Say why this row is left out.", field="reason")
    if intake.left_out.get(row) == reason:
        return intake
    known = {one["row"] for one in intake.found["accepted"]}
    if row not in known and row not in intake.left_out:
        raise Refused("This row is not among those to be taken in any more. Look at the page again.")
    return _decided(intake, Verb.LEFT_OUT, row, intake.left_out | {row: reason}, by=by, now=now, reason=reason)


@operation
def put_back(intake: Intake, *, row: str, by: User, now: datetime) -> Intake:
    """Take a row in after all that was left out."""
    intake = looked_over(intake, by)
    if row not in intake.left_out:
        return intake
    others = {one: reason for one, reason in intake.left_out.items() if one != row}
    return _decided(intake, Verb.PUT_BACK, row, others, by=by, now=now)


def looked_over(intake: Intake, by: User) -> Intake:
    """The locked upload, while it is looked over by somebody who may take it in; else NotAllowed or Refused."""
    ground.locked_site(intake.site)
    intake = ground.locked(intake)
    ground.must(policy.may_take_in(by, intake.kind), NOT_YOURS)
    if intake.state != IntakeState.READ:
        raise Refused(f"This file is {intake.get_state_display()}: there is nothing to look over.")
    return intake


def judged_again(intake: Intake, *, now: datetime) -> dict[str, Any]:
    """Inside an operation: every row of the locked upload judged by what was decided, and saved; how many there are.

    A long file goes back to the worker for it: nobody waits at a page while it is read.
    """
    rows = len(intake.found["accepted"]) + len(intake.found["refused"])
    if rows > MOST_AT_DESK:
        to_be_read(intake, now=now)
    else:
        intake.found = as_found(queries.check(intake))
    intake.save(update_fields=["left_out", "corrections", "found", "state"])
    return {"accepted": len(intake.found["accepted"]), "refused": len(intake.found["refused"])}


def _decided(
    intake: Intake, verb: Verb, row: str, left_out: dict[str, str], *, by: User, now: datetime, reason: str = ""
) -> Intake:
    intake.left_out = left_out
    facts = judged_again(intake, now=now)
    words = {"row": row} | ({"reason": reason} if reason else {})
    record(verb, site=intake.site_id, subject=intake, by=by, now=now, facts=facts, words=words)
    return intake
