"""What is believed and what is verified: who says so, since when, and how they know; and taking that back."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.made import LATE
from jobsite.ledger.operations import operation
from jobsite.ledger.rows import FORM_USED, locked, made_before
from jobsite.people.models import User
from jobsite.premises.models import Board, Circuit, Verification
from jobsite.premises.operations.common import change, ground, must_be_there
from jobsite.premises.verbs import Verb
from jobsite.refused import Refused

BELIEVED: dict[str, Any] = {"verified_how": "", "verified_by": None, "verified_on": None}
CHANGED_SINCE = "It was changed or verified again since: correct it instead of taking this back."


def stamped(row: Board | Circuit, fields: Mapping[str, Any], *, by: Actor, now: datetime) -> dict[str, Any]:
    """`fields` with the stamps that they call for: who noted the label, who verified the designation.

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
    return {**fields, **stamp, **_label_stamp(row, fields, by, now)}


def _label_stamp(row: Board | Circuit, fields: Mapping[str, Any], by: Actor, now: datetime) -> dict[str, Any]:
    """Who noted the label and on which day, where it is another than before; nobody where there is none."""
    label = fields.get("label_found", row.label_found)
    if label == row.label_found:
        return {}
    if not label:
        return {"label_noted_by": None, "label_noted_on": None}
    seen = stamp_of(by, now)
    return {"label_noted_by": seen["verified_by"], "label_noted_on": seen["verified_on"]}


def stamp_of(by: Actor, now: datetime) -> dict[str, Any]:
    """Who verified and on which day; the clock and links are nobody."""
    return {"verified_by": by if isinstance(by, User) else None, "verified_on": clock.local_day(now)}


def before(row: Board | Circuit) -> dict[str, Any]:
    """What is recorded of `row` now, as a verification keeps it."""
    return {
        "designation_before": row.designation if not row._state.adding else "",  # noqa: SLF001 - Django's own name
        "how_before": row.verified_how,
        "by_before": row.verified_by,
        "on_before": row.verified_on,
    }


def keep_verification(
    row: Board | Circuit,
    was: Mapping[str, Any],
    *,
    by: Actor,
    now: datetime,
    made_at: datetime | None = None,
    id: UUID | None = None,
) -> Verification | None:
    """Inside an operation, after `row` was saved: keep what was verified; None where nothing new was.

    `was`: what `before` said of the row; `made_at`: when it was seen, where that was not `now`.
    """
    same = row.designation == was["designation_before"] and row.verified_how == was["how_before"]
    if not row.verified_how or (same and id is None):
        return None
    who = by if isinstance(by, User) else None
    about = {"board": row} if isinstance(row, Board) else {"circuit": row}
    return Verification.objects.create(
        id=id or new_id(), site_id=row.site_id, designation=row.designation, how=row.verified_how, by=who, at=now,
        done_at=made_at if made_at and now - made_at > LATE else None, **about, **was,
    )  # fmt: skip


@operation
def verify(
    row: Board | Circuit,
    *,
    id: UUID,
    designation: str,
    how: str,
    version: int,
    by: Actor,
    now: datetime,
    made_at: datetime | None = None,
) -> Board | Circuit:
    """Record that `by` verified, at `made_at` (now, unless given), that a board or a circuit is what `designation` says, and how.

    `id` is the verification's: sent twice, it is kept once. Verified the same as before: the day is the later one. Raises
    ChangedMeanwhile where somebody else changed the row since `version`, unless they say the same: then both stand.
    Refused where `id` was used for another statement.
    """
    site = ground(row.site_id, by)
    board = isinstance(row, Board)
    row = must_be_there(locked(row), row.designation if isinstance(row, Board) else f"Way {row.way_name}")
    if kept := made_before(Verification, id, site_id=site.pk):
        return _said_before(row, kept, designation, how)
    if not how:
        raise Refused("Say how it was verified.", field="verified_how")
    was, seen_at = before(row), made_at or now
    same = (row.designation, row.verified_how) == (designation, how)
    fields = stamped(row, {"designation": designation, "verified_how": how}, by=by, now=seen_at)
    if not (same and row.verified_on and row.verified_on > clock.local_day(seen_at)):
        fields |= stamp_of(by, seen_at)
    change(
        row,
        fields,
        version=row.version if same else version,
        verb=Verb.BOARD_VERIFIED if board else Verb.CIRCUIT_VERIFIED,
        site=site.pk,
        by=by,
        now=now,
        more={"verification": str(id)},
        over_own=True,
    )
    keep_verification(row, was, by=by, now=now, made_at=seen_at, id=id)
    return row


def _said_before(row: Board | Circuit, kept: Verification, designation: str, how: str) -> Board | Circuit:
    """`row`, of which the same form said the same before; never something else under its key, which would be lost."""
    if (kept.designation, kept.how) != (designation, how) or row.pk not in (kept.board_id, kept.circuit_id):
        raise Refused(FORM_USED)
    return row


@operation
def take_back_verification(verification: Verification, *, by: Actor, now: datetime) -> Board | Circuit:
    """Undo a verification that was a slip: what stood before stands again. Again after success: nothing happens.

    Refused where the designation was changed or verified again since.
    """
    site = ground(verification.site_id, by)
    verification = locked(verification)
    row: Board | Circuit = locked(verification.about)
    if verification.taken_back_at:
        return row
    later = Verification.objects.filter(board=verification.board_id, circuit=verification.circuit_id)
    later = later.filter(at__gt=verification.at, taken_back_at__isnull=True)
    if later.exists() or (row.designation, row.verified_how) != (verification.designation, verification.how):
        raise Refused(CHANGED_SINCE)
    fields: dict[str, Any] = {
        "designation": verification.designation_before,
        "verified_how": verification.how_before,
        "verified_by": verification.by_before,
        "verified_on": verification.on_before,
    }
    if isinstance(row, Board):
        fields["designation_verified"] = bool(verification.how_before)
        fields["designation"] = verification.designation_before or row.designation  # a board is never without a name
    more = {"verification": str(verification.pk)}
    change(
        row, fields, version=row.version, verb=Verb.VERIFICATION_TAKEN_BACK, site=site.pk, by=by, now=now, more=more
    )  # fmt: skip
    verification.taken_back_at, verification.taken_back_by = now, by if isinstance(by, User) else None
    verification.save(update_fields=["taken_back_at", "taken_back_by"])
    return row
