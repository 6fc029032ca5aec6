"""Taking in a file that was read and looked over: all rows in one operation, or none."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from datetime import datetime
from functools import partial
from typing import Any

from inspections.choices import IntakeKind, IntakeState
from inspections.intake import policy, queries
from inspections.intake.found import keepable, key_of
from inspections.intake.operations.receiving import NOT_YOURS, refuse_taken_in
from inspections.intake.trouble import RefusedRow
from inspections.intake.verbs import Verb
from inspections.models import Intake
from inspections.operations import ground
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.refused import Refused

Tell = Callable[[str, int], None]


def say_nothing(sentence: str, done: int) -> None:
    """Tells nobody how far it has come: a person waits for the page."""


@operation
def take_in(
    intake: Intake, *, left_out: Mapping[str, str], by: User, now: datetime, tell: Tell = say_nothing
) -> Intake:
    """Take in all rows of a file but those refused, each of which is left out with a reason.

    1. The site and the upload are locked; a file that was taken in before, also under another name, is refused.
    2. The kept file is read and checked anew, against what the site has at this moment: never what the page showed.
    3. Every refused row must be in `left_out`, by its name ("Circuits, row 5"), with a reason.
    4. The rows are written by operations, each with the entry that it would leave alone; one that is refused undoes all.

    `tell` is told how far it has come, in a sentence and in rows.
    """
    site = ground.locked_site(intake.site)
    intake = ground.locked(intake)
    ground.must(policy.may_take_in(by, intake.kind), NOT_YOURS)
    if intake.state == IntakeState.TAKEN_IN:
        return intake
    if intake.state not in {IntakeState.READ, IntakeState.TAKING_IN}:
        raise Refused(f"This file is {intake.get_state_display()}: there is nothing to take in.")
    refuse_taken_in(site, intake.kind, intake.file_id)
    checked = queries.check(intake)
    _refuse_new(intake, checked.refused)
    intake.left_out = reasons_for(intake, [key_of(row.sheet, row.row) for row in checked.refused], left_out)
    if not checked.accepted:
        raise Refused("No row of this file can be taken in. Set it aside, or send it again when it is put right.")
    facts = _writer(intake.kind)(intake, checked.accepted, by=by, now=now, written=partial(tell, "Writing the rows."))
    tell("Writing the entries of the ledger.", len(checked.accepted))
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


def _refuse_new(intake: Intake, refused: list[RefusedRow]) -> None:
    """Raises Refused for a row that is refused now and was not when the person looked it over."""
    shown = {row["row"] for row in intake.found.get("refused", [])}
    for row in refused:
        if key_of(row.sheet, row.row) not in shown:
            raise Refused(
                f"The site has changed since this file was read. {row.troubles[0].sentence} Read the file again."
            )


def reasons_for(intake: Intake, refused: Iterable[str], left_out: Mapping[str, str]) -> dict[str, str]:
    """The reasons for the refused rows, in their order. Raises Refused for the first row without one."""
    reasons = {}
    for key in refused:
        reason = keepable(left_out.get(key, "")).strip()[:500] or intake.left_out.get(key, "")
        if not reason:
            raise Refused(f"Say why {key}, is left out, or put it right.", field=key)
        reasons[key] = reason
    return reasons
