"""Taking in a price book from a file: what would change, and then all of it at once or nothing."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import TYPE_CHECKING

from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.refused import ChangedMeanwhile, Refused
from jobsite.words import joined
from remedials.quotes.models import StandardJob, fold
from remedials.quotes.operations.book import (
    COLUMNS,
    Job,
    as_written,
    facts_of,
    must_keep,
    note_job,
    words_of,
    write_new,
    write_over,
)
from remedials.quotes.verbs import Verb

if TYPE_CHECKING:
    from remedials.quotes.book.read import Found

SPOKEN = {
    "plain": "plain words", "crew": "people", "certificate_kind": "certificate", "treatment": "VAT",
}  # fmt: skip


class Change(StrEnum):
    NEW = "new"
    CHANGED = "changed"
    UNCHANGED = "unchanged"


@dataclass(frozen=True)
class Step:
    """What taking in does with one job of the file: `what` names what differs."""

    row: int
    job: Job
    retired: bool
    change: Change
    what: str
    present: StandardJob | None


def plan(found: "Sequence[Found]") -> list[Step]:
    """What each job of the file would change in the price book as it stands. Two statements."""
    rows = {row.folded: row for row in StandardJob.objects.prefetch_related("items")}
    return [_step(one, rows.get(fold(one.job.name))) for one in found]


def digest(steps: Sequence[Step]) -> str:
    """What was looked at, in short: it differs as soon as somebody changes what the file would change."""
    seen = [(s.job, s.retired, s.change, s.present and (str(s.present.pk), s.present.version)) for s in steps]
    return hashlib.sha256(repr(seen).encode()).hexdigest()


def _step(one: "Found", present: StandardJob | None) -> Step:
    if present is None:
        return Step(one.row, one.job, one.retired, Change.NEW, "retired" if one.retired else "", None)
    was = as_written(present)
    differs = [SPOKEN.get(name, name) for name in (*COLUMNS, "items") if getattr(was, name) != getattr(one.job, name)]
    turned = (present.retired_at is not None) != one.retired
    said = joined(*differs, ("retired" if one.retired else "brought back") if turned else "")
    return Step(one.row, one.job, one.retired, Change.CHANGED if said else Change.UNCHANGED, said, present)


@operation
def take_in_book(
    found: "Sequence[Found]", *, file_hash: str, by: Actor, now: datetime, seen: str | None = None
) -> list[Step]:
    """Add and change the jobs of a file; those that it doesn't name stay. The same file again changes nothing.

    `seen`: the digest of what the person looked at. Raises NotAllowed, and ChangedMeanwhile where the price book changed since.
    """
    must_keep(by)
    if not found:
        raise Refused("This file has no job in it.", field="file")
    steps = plan(found)
    to_do = [step for step in steps if step.change is not Change.UNCHANGED]
    if not to_do:
        return steps
    if seen is not None and seen != digest(steps):
        raise ChangedMeanwhile("Somebody changed the price book since you looked: look at it again.", theirs=None)
    rows = [_done(step, by=by, now=now) for step in to_do]
    counts = {str(kind): sum(step.change is kind for step in steps) for kind in (Change.NEW, Change.CHANGED)}
    note_job(Verb.BOOK_TAKEN_IN, rows[0], by=by, now=now, facts=counts | {"file": file_hash})
    return steps


def _done(step: Step, *, by: Actor, now: datetime) -> StandardJob:
    facts = facts_of(step.job) | {"retired": step.retired}
    if step.present is None:
        row = write_new(new_id(), step.job, retired_at=now if step.retired else None)
        note_job(Verb.JOB_ADDED, row, by=by, now=now, facts=facts, words=words_of(step.job))
        return row
    row = step.present
    kept = (row.retired_at or now) if step.retired else None
    write_over(row, step.job, retired_at=kept)
    note_job(Verb.JOB_EDITED, row, by=by, now=now, facts=facts, words=words_of(step.job))
    return row
