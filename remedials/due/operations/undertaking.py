"""Somebody has a step in hand: it is theirs until a day, and nobody is reminded of it before."""

from datetime import date, datetime, timedelta
from uuid import UUID, uuid5

from jobsite import clock
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone
from jobsite.people.models import User
from jobsite.refused import NotAllowed, Refused
from jobsite.words import day as in_words
from remedials.due import policy
from remedials.due.models import DueRow, Undertaking
from remedials.due.verbs import Verb

LONGEST = timedelta(days=92)
LONGEST_DANGER = timedelta(days=7)  # as the firm's shipped policy for a C1 that was made safe (common practice)
DONE = "This is no longer in the due list: somebody acted meanwhile."
NOT_YOURS = "Your rights do not cover taking this on."


@operation
def have_it(row_kind: str, ref: UUID, *, until: date, reason: str, by: User, now: datetime) -> Undertaking:
    """`by` has the row (row_kind, ref) of the due list in hand until `until`, that day included, because of `reason`.

    Another's undertaking of it ends. The same again: no second entry. Raises NotAllowed; Refused once the row is gone, for
    a day that is past or too far off (92 days; 7 for a C1, made safe or not), and without a reason.
    """
    row = _the_row(row_kind, ref)
    if not policy.may_have_it(by, row):
        raise NotAllowed(NOT_YOURS)
    standing = Undertaking.objects.filter(kind=row_kind, ref=ref, ended_at=None).select_for_update(of=("self",)).first()
    reason = " ".join(reason.split())
    if standing and row.in_hand_until and (standing.by_id, standing.until, standing.reason) == (by.pk, until, reason):
        return standing
    _sound(row, until, reason, clock.local_day(now))
    made = Undertaking(kind=row_kind, ref=ref, site=row.site, by=by, until=until, reason=reason, at=now)
    if standing and row.in_hand_until:  # the row shows its owner and day: what it had before stands there
        made.instead_of_id, made.due_was = standing.instead_of_id, standing.due_was
    else:
        made.instead_of_id, made.due_was = row.owner_id, row.due
    if standing:
        standing.ended_at = now
        standing.save(update_fields=["ended_at"])
    made.save(force_insert=True)
    facts = {"kind": row_kind, "ref": str(ref), "until": until.isoformat()}
    facts |= {"instead_of": str(row.owner_id)} if row.owner_id and row.owner_id != by.pk else {}
    record(Verb.IN_HAND, site=row.site_id, subject=made, by=by, now=now, facts=facts, words={"reason": reason})
    return made


@operation
def give_back(row_kind: str, ref: UUID, *, by: User, now: datetime) -> None:
    """Nobody has the row (row_kind, ref) in hand any more: it is again whose it was, and people are reminded of it.

    By whoever has it, or a person of the firm in their place. Nothing where nobody has it.
    """
    alone_with(row_kind, ref)
    standing = Undertaking.objects.filter(kind=row_kind, ref=ref, ended_at=None).select_for_update(of=("self",)).first()
    if standing is None:
        return
    if by.subcontractor and standing.by_id != by.pk:
        raise NotAllowed(NOT_YOURS)
    standing.ended_at = now
    standing.save(update_fields=["ended_at"])
    facts = {"kind": row_kind, "ref": str(ref), "had_it": str(standing.by_id)}
    record(Verb.GIVEN_BACK, site=standing.site_id, subject=standing, by=by, now=now, facts=facts)


def alone_with(kind: str, ref: UUID) -> None:
    """One at a time: of two who take the same step on at once, the second sees that the first has it."""
    alone(uuid5(ref, kind))


def _the_row(kind: str, ref: UUID) -> DueRow:
    alone_with(kind, ref)
    row = DueRow.objects.select_related("site", "owner").filter(kind=kind, ref=ref).first()
    if row is None:
        raise Refused(DONE)
    return row


def _sound(row: DueRow, until: date, reason: str, today: date) -> None:
    if not reason:
        raise Refused("Say what you will do, or why it can wait: the record keeps it.", field="reason")
    if until < today:
        raise Refused("This day is past: choose today or later.", field="until")
    longest = LONGEST_DANGER if row.code == "C1" else LONGEST
    if until > today + longest:
        why = "a C1 is looked at again within a week" if row.code == "C1" else "nothing is put off longer in one go"
        raise Refused(f"Choose a day up to {in_words(today + longest)}: {why}.", field="until")
