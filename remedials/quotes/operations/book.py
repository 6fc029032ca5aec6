"""The firm's price book: standard jobs added, changed, retired, brought back."""

import re
from collections.abc import Sequence
from datetime import datetime
from typing import Any, NamedTuple
from uuid import UUID

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone, made_before
from jobsite.ledger.rules import FIRM_CHAIN
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.quotes import policy
from remedials.quotes.choices import Treatment
from remedials.quotes.models import StandardItem, StandardJob, fold
from remedials.quotes.operations.pricing import priced_fact
from remedials.quotes.verbs import Verb
from remedials.works.operations.ground import needed
from remedials.works.operations.taking import (
    MOST_CREW,
    MOST_ITEMS,
    MOST_MINUTES,
    Take,
    one_line,
    taken,
    tidy,
    why_not_take,
)
from remedials.works.rules import RETESTS

COLUMNS = ("name", "plain", "minutes", "crew", "skill", "retests", "certificate_kind", "treatment")
LINE, PAGE = 200, 2_000
UNTEXT = re.compile(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\ufffe\uffff]")


class Job(NamedTuple):
    """What the price book says of a standard job."""

    name: str
    plain: str
    minutes: int | None = None
    crew: int = 1
    skill: str = ""
    retests: tuple[str, ...] = ()
    certificate_kind: str = ""
    treatment: str = Treatment.STANDARD.value
    items: tuple[Take, ...] = ()


def as_written(job: StandardJob) -> Job:
    """A standard job as the price book says it."""
    values = {name: getattr(job, name) for name in COLUMNS} | {"retests": tuple(job.retests)}
    return Job(**values, items=tuple(taken(list(job.items.all()))))


def in_order(job: Job) -> Job:
    """`job` as it is kept: no blanks around words, retests in the house's order. Raises Refused for what can't be."""
    name = needed(one_line(job.name), "Give the job a name.", field="name")
    plain = needed(
        job.plain.replace("\r\n", "\n"), "Say in plain words what is done: the customer reads it.", field="plain"
    )
    for text, most, field in ((name, LINE, "name"), (plain, PAGE, "plain"), (job.skill, LINE, "skill")):
        if len(text) > most:
            raise Refused(f"This is longer than {most} characters.", field=field)
    if job.minutes is not None and not 1 <= job.minutes <= MOST_MINUTES:
        raise Refused("Write the minutes as a whole number from 1 to 100,000.", field="minutes")
    if not 1 <= job.crew <= MOST_CREW:
        raise Refused("Write how many people it takes, from 1 to 20.", field="crew")
    if job.treatment not in Treatment.values:
        raise Refused("Choose one of those offered.", field="treatment")
    if unknown := set(job.retests) - set(RETESTS):
        raise Refused(f"No usual retests are known as “{min(unknown)}”.", field="retests")
    if len(job.items) > MOST_ITEMS:
        raise Refused(f"At most {MOST_ITEMS} items for one job: put some of them together.")
    for number, one in enumerate(job.items):
        if wrong := why_not_take(one):
            raise Refused(wrong[1], field=f"items-{number}-{wrong[0]}")
    return job._replace(
        name=name,
        plain=plain,
        skill=one_line(job.skill),
        certificate_kind=one_line(job.certificate_kind),
        retests=tuple(key for key in RETESTS if key in job.retests),
        items=tuple(tidy(one) for one in job.items),
    )


def must_keep(by: Actor) -> None:
    """Raises NotAllowed for whoever may not keep the price book; nobody else changes it until the operation ends."""
    if not policy.may_price(by):
        raise NotAllowed(policy.NOT_YOURS)
    alone(FIRM_CHAIN)


def _must_be_free(name: str, *, besides: UUID | None = None) -> None:
    other = StandardJob.objects.filter(folded=fold(name)).first()
    if other is not None and other.pk != besides:
        retired = " It is retired: bring it back instead." if other.retired_at else ""
        raise Refused(f"The price book has a job named “{other.name}” already.{retired}", field="name")


@operation
def add_job(*, id: UUID, job: Job, by: Actor, now: datetime) -> StandardJob:
    """Add a standard job to the price book. Raises NotAllowed, and Refused for a name in use or what can't be."""
    must_keep(by)
    if made := made_before(StandardJob, id):
        return made
    job = in_order(job)
    _must_be_free(job.name)
    row = write_new(id, job)
    note_job(Verb.JOB_ADDED, row, by=by, now=now, facts=facts_of(job), words=words_of(job))
    return row


@operation
def edit_job(row: StandardJob, *, job: Job, version: int, by: Actor, now: datetime) -> StandardJob:
    """Change a standard job; what was priced by it stays. Raises ChangedMeanwhile where another version was seen."""
    must_keep(by)
    row = StandardJob.objects.select_for_update().get(pk=row.pk)
    job = in_order(job)
    if as_written(row) == job:
        return row
    if row.version != version:
        raise ChangedMeanwhile("Somebody else changed this job meanwhile.", theirs=row)
    _must_be_free(job.name, besides=row.pk)
    write_over(row, job, retired_at=row.retired_at)
    note_job(Verb.JOB_EDITED, row, by=by, now=now, facts=facts_of(job), words=words_of(job))
    return row


@operation
def retire_job(row: StandardJob, *, by: Actor, now: datetime) -> StandardJob:
    """Take a job out of the price book: nothing new is priced by it. Again: harmless."""
    must_keep(by)
    row = StandardJob.objects.select_for_update().get(pk=row.pk)
    if row.retired_at is None:
        row.retired_at = now
        row.version += 1
        row.save(update_fields=["retired_at", "version"])
        note_job(Verb.JOB_RETIRED, row, by=by, now=now)
    return row


@operation
def bring_back_job(row: StandardJob, *, by: Actor, now: datetime) -> StandardJob:
    """Put a retired job back into the price book. Again: harmless."""
    must_keep(by)
    row = StandardJob.objects.select_for_update().get(pk=row.pk)
    if row.retired_at is not None:
        row.retired_at = None
        row.version += 1
        row.save(update_fields=["retired_at", "version"])
        note_job(Verb.JOB_BROUGHT_BACK, row, by=by, now=now)
    return row


def write_new(id: UUID, job: Job, *, retired_at: datetime | None = None) -> StandardJob:
    """A new row for `job`, with its items. For operations."""
    values = job._asdict()
    items = values.pop("items")
    row = StandardJob.objects.create(id=id, retired_at=retired_at, **values | {"retests": list(job.retests)})
    _write_items(row, items)
    return row


def write_over(row: StandardJob, job: Job, *, retired_at: datetime | None) -> None:
    """`job` in place of what `row` says, its version counted on. For operations."""
    for name in COLUMNS:
        value = getattr(job, name)
        setattr(row, name, list(value) if name == "retests" else value)
    row.version += 1
    row.retired_at = retired_at
    row.save(update_fields=[*COLUMNS, "retired_at", "version"])
    StandardItem.objects.filter(job=row).delete()
    _write_items(row, job.items)


def _write_items(row: StandardJob, items: Sequence[Take]) -> None:
    StandardItem.objects.bulk_create(
        StandardItem(job=row, position=position, **one._asdict()) for position, one in enumerate(items)
    )


def facts_of(job: Job) -> dict[str, Any]:
    """A job as the ledger keeps it: its numbers and codes."""
    facts: dict[str, Any] = {"minutes": job.minutes, "crew": job.crew, "retests": list(job.retests)}
    return facts | {"treatment": str(job.treatment), "items": [priced_fact(one) for one in job.items]}


def words_of(job: Job) -> dict[str, str]:
    """A job's words, beside the ledger."""
    words = {name: getattr(job, name) for name in ("name", "plain", "skill", "certificate_kind")}
    return words | {"items": "; ".join(one.what for one in job.items)}


def note_job(
    verb: Verb,
    row: StandardJob,
    *,
    by: Actor,
    now: datetime,
    facts: dict[str, Any] | None = None,
    words: dict[str, str] | None = None,
) -> None:
    """Write the entry of `verb` about a job into the firm's ledger."""
    record(verb, site=None, subject=row, by=by, now=now, facts=facts, words=words)
