"""What fails stands alone: a row that can never be read or written must not keep the rest from being said."""

import logging
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import TypeVar
from uuid import UUID

from celery.exceptions import SoftTimeLimitExceeded
from django.db import InterfaceError, OperationalError, transaction

from jobsite.messages.models import Message
from jobsite.messages.operations import write_messages
from jobsite.premises.models import Site
from remedials.due.models import Trouble
from remedials.due.queries.clockwork import ALL_OF_IT

log = logging.getLogger(__name__)
T = TypeVar("T")
R = TypeVar("R")

NOT_ITS_FAULT = (OperationalError, InterfaceError, SoftTimeLimitExceeded, MemoryError)
"""The database went away, time is up, memory is full: no row did that, so the sweep ends and comes again."""
LONGEST_ERROR = 500


@dataclass
class Met:
    """What one part of the sweep could not read or write."""

    part: str
    found: dict[str, str] = field(default_factory=dict)

    def add(self, what: str, error: Exception) -> None:
        """Note that `what` failed; the trace goes to the log."""
        log.error("The sweep left out %s (%s)", what, self.part, exc_info=error)
        words = f"{type(error).__name__}: {error}".replace("\x00", "")
        self.found[what] = words[:LONGEST_ERROR]


def part_of_sweep(name: str, work: Callable[[Met], None]) -> Met:
    """Run one part of the sweep: where it fails as a whole, what it wrote is taken back and the other parts go on."""
    met = Met(name)
    try:
        with transaction.atomic():
            work(met)
    except NOT_ITS_FAULT:
        raise
    except Exception as error:  # noqa: BLE001 - whatever it was, the other parts must go on
        met.add(ALL_OF_IT, error)
    return met


def all_or_halves(
    things: Sequence[T], do: Callable[[Sequence[T]], R], failed: Callable[[T, Exception], None]
) -> list[R]:
    """What `do` gives for all of `things` at once; where that fails for each half, so that what fails alone is `failed`.

    In a savepoint each, so that a statement that fails takes nothing else with it.
    """
    if not things:
        return []
    try:
        with transaction.atomic():
            return [do(things)]
    except NOT_ITS_FAULT:
        raise
    except Exception as error:  # noqa: BLE001 - found out below whose fault it was
        if len(things) == 1:
            failed(things[0], error)
            return []
    middle = len(things) // 2
    return all_or_halves(things[:middle], do, failed) + all_or_halves(things[middle:], do, failed)


def whole_or_by_site(read: Callable[[Sequence[UUID | None] | None], R], met: Met) -> list[R]:
    """What `read` gives for every row (asked with None) or, where a row makes that fail, by parts without that row's site.

    Asked with sites, it reads the rows of those only; None among them stands for rows of no site.
    """
    whole = all_or_halves([None], lambda _: read(None), lambda _, error: log.warning("Looking site by site: %s", error))
    if whole:
        return whole
    names: dict[UUID | None, str] = dict(Site.objects.order_by("number").values_list("pk", "name"))
    sites = [None, *names]
    return all_or_halves(sites, read, lambda site, error: met.add(f"a row at {names.get(site) or 'no site'}", error))


def each(things: Sequence[T], make: Callable[[T], R], failed: Callable[[T, Exception], None]) -> list[R]:
    """What `make` gives for each of `things`, without those for which it fails."""
    made = []
    for thing in things:
        try:
            made.append(make(thing))
        except NOT_ITS_FAULT:
            raise
        except Exception as error:  # noqa: BLE001 - one of many
            failed(thing, error)
    return made


def write_apart(messages: Sequence[Message], met: Met) -> None:
    """Write `messages`, each of which fails alone."""
    all_or_halves(
        messages, write_messages, lambda m, error: met.add(f"the message “{m.subject}” ({m.occasion})", error)
    )


def keep_troubles(parts: Sequence[Met], *, now: datetime) -> bool:
    """Keep what `parts` met in place of what they met before. Whether any trouble stands, of whatever part."""
    met = {(part.part, what): detail for part in parts for what, detail in part.found.items()}
    before = {(row.part, row.what): row for row in Trouble.objects.all()}
    ran = {part.part for part in parts}
    gone = [row.pk for key, row in before.items() if row.part in ran and key not in met]
    if gone:
        Trouble.objects.filter(pk__in=gone).delete()
    for (part, what), error in met.items():
        Trouble.objects.update_or_create(
            part=part,
            what=what,
            defaults={"error": error, "last_at": now},
            create_defaults={"error": error, "last_at": now, "first_at": now},
        )
    return bool(met) or len(before) > len(gone)
