"""Taking in a file that was read and looked over: all rows in one operation, or none."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import datetime
from typing import Any

from inspections.choices import IntakeKind, IntakeState
from inspections.intake import policy, queries
from inspections.intake.found import keepable, key_of
from inspections.intake.limits import MOST_AT_ONCE, too_many
from inspections.intake.operations.receiving import NOT_YOURS, refuse_taken_in
from inspections.intake.trouble import RefusedRow
from inspections.intake.verbs import Verb
from inspections.models import Intake
from inspections.operations import ground
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.refused import NotAllowed, Refused


@operation
def take_in(intake: Intake, *, left_out: Mapping[str, str], by: User, now: datetime) -> Intake:
    """Take in all rows of a file but those refused, each of which is left out with a reason.

    1. The site and the upload are locked; a file that was taken in before, also under another name, is refused.
    2. The kept file is read and checked anew, against what the site has at this moment: never what the page showed.
    3. Every refused row must be in `left_out`, by its name ("Circuits, row 5"), with a reason.
    4. The rows are written by the operations that people use; one that is refused undoes them all.
    """
    site = ground.locked_site(intake.site)
    intake = ground.locked(intake)
    ground.must(policy.may_take_in(by, intake.kind), NOT_YOURS)
    if intake.state == IntakeState.TAKEN_IN:
        return intake
    if intake.state != IntakeState.READ:
        raise Refused(f"This file is {intake.get_state_display()}: there is nothing to take in.")
    refuse_taken_in(site, intake.kind, intake.file_id)
    checked = queries.check(intake)
    intake.left_out = _reasons(intake, checked.refused, left_out)
    if not checked.accepted:
        raise Refused("No row of this file can be taken in. Set it aside, or send it again when it is put right.")
    if len(checked.accepted) > MOST_AT_ONCE:
        raise Refused(too_many(len(checked.accepted)))
    facts = _writer(intake.kind)(intake, checked.accepted, by=by, now=now)
    intake.state, intake.taken_in_at = IntakeState.TAKEN_IN, now
    intake.save(update_fields=["state", "taken_in_at", "left_out", "inspection"])
    facts |= {"file": intake.file_id, "left_out": len(intake.left_out)}
    words = {"left_out": "\n".join(f"{row}: {reason}" for row, reason in intake.left_out.items())}
    record(Verb.TAKEN_IN, site=site.pk, subject=intake, by=by, now=now, facts=facts, words=words)
    return intake


def _writer(kind: str) -> Any:
    from inspections.intake.operations.boards import write_boards
    from inspections.intake.operations.report import write_report

    return write_boards if kind == IntakeKind.BOARDS else write_report


def _reasons(intake: Intake, refused: list[RefusedRow], left_out: Mapping[str, str]) -> dict[str, str]:
    """The reasons for the refused rows, in their order. Raises Refused for the first row without one."""
    shown = {row["row"] for row in intake.found.get("refused", [])}
    reasons = {}
    for row in refused:
        key = key_of(row.sheet, row.row)
        reason = keepable(left_out.get(key, "")).strip()[:500] or intake.left_out.get(key, "")
        if key not in shown:
            raise Refused(
                f"The site has changed since this file was read. {row.troubles[0].sentence} Read the file again."
            )
        if not reason:
            raise Refused(f"Say why {key}, is left out, or put it right in the file and send that.", field=key)
        reasons[key] = reason
    return reasons


@contextmanager
def at_row(sheet: str, row: int) -> Iterator[None]:
    """What an operation refuses inside this is said with the row that it is about."""
    try:
        yield
    except NotAllowed:
        raise
    except Refused as refused:
        raise Refused(f"{key_of(sheet, row)}: {refused.sentence}") from refused
