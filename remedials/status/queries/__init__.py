"""A customer's pages as they are shown: the facts turned into the fields that `shown` allows, and nothing else."""

from collections.abc import Sequence
from datetime import datetime
from itertools import pairwise
from typing import Any
from uuid import UUID

from jobsite import clock
from jobsite.ledger.models import StoredFile
from jobsite.people.models import PrivateLink
from remedials.status import facts, rules, shown
from remedials.status.proof.queries import documents_for
from remedials.status.queries.items import Items, letters_of
from remedials.status.queries.standing import (
    bases_of,
    head_of,
    in_order,
    limitation,
    next_inspections,
    reports,
    whom_to_ring,
)
from remedials.status.queries.supply import supply_in

__all__ = [
    "bases_of",
    "drawn_in",
    "item_in",
    "photo_file",
    "photo_in",
    "some_in",
    "standing_in",
    "status_in",
    "status_of",
    "whom_to_ring",
]

# The page that opens first has room for so many items at most, and for so many letters that differ (see the test of its
# weight); a further page for more.
MOST_OPEN, ROOM_OPEN = 50, 7500
MOST_DONE, ROOM_DONE = 10, 2500
MOST_FURTHER = 50
MOST_STANDING = 8  # reports, limitations and next inspections, of each


def status_of(link: PrivateLink, *, now: datetime) -> shown.StatusPage | None:
    """How what `link` opens stands now; None where it is no longer there. One statement more than `status_in`."""
    scope = facts.scope_of(link)
    return status_in(scope, now=now) if scope else None


def status_in(scope: facts.Scope, *, now: datetime) -> shown.StatusPage:
    """How what is in `scope` stands now, whichever link led there. 20 statements, whatever the size."""
    known = facts.all_facts(scope)
    still_open, done = in_order(known)
    make = Items(known, now)
    items = make.all(still_open[:MOST_OPEN] + done[:MOST_DONE])
    at = len(still_open[:MOST_OPEN])
    first, last = _fitting(items[:at], ROOM_OPEN), _fitting(items[at:], ROOM_DONE)
    standing = _standing(known, now)
    few = {key: rows[:MOST_STANDING] for key, rows in standing.items() if key != "head"}
    return shown.StatusPage(
        head=standing["head"],
        **few,
        standing_more=any(len(rows) > MOST_STANDING for key, rows in standing.items() if key != "head"),
        open=first,
        open_more=len(still_open) - len(first),
        done=last,
        done_more=len(done) - len(last),
        supply=supply_in(scope, known.observations),
        documents=tuple(documents_for(scope)),
    )


def standing_in(scope: facts.Scope, *, now: datetime) -> shown.Standing:
    """How `scope` stands but for its items: all reports and what comes next, however many. Nine statements."""
    return shown.Standing(**_standing(facts.all_facts(scope), now))


def _standing(known: facts.Facts, now: datetime) -> dict[str, Any]:
    bases = bases_of(known)
    return {
        "head": head_of(known, bases, now=now),
        "reports": tuple(reports(bases, known)),
        "limitations": tuple(limitation(row, known) for row in known.limitations),
        "next": tuple(next_inspections(known.scope, clock.local_day(now))),
    }


def _fitting(items: Sequence[shown.Item], room: int) -> tuple[shown.Item, ...]:
    return tuple(items[: rules.how_many([letters_of(item) for item in items], room)])


def some_in(scope: facts.Scope, first: int, *, ended: bool, now: datetime) -> shown.Some | None:
    """The open or closed items of `scope` from the `first` on, counted from 1; None where there is no such one."""
    known = facts.all_facts(scope)
    still_open, done = in_order(known)
    rows, key = (done, "closed") if ended else (still_open, "open")
    if not 1 <= first <= len(rows):
        return None
    last = min(first + MOST_FURTHER - 1, len(rows))
    return shown.Some(
        head=head_of(known, bases_of(known), now=now),
        title="Closed items" if ended else "Open items",
        which=f"{first} to {last} of {len(rows)}",
        items=Items(known, now).all(rows[first - 1 : last]),
        before=f"?{key}={max(1, first - MOST_FURTHER)}" if first > 1 else "",
        after=f"?{key}={last + 1}" if last < len(rows) else "",
    )


def item_in(scope: facts.Scope, number: int, *, now: datetime) -> shown.Some | None:
    """One item of `scope` in full with all its pictures, and the ways to the one before and after; None for any other."""
    known = facts.all_facts(scope)
    still_open, done = in_order(known)
    rows: list[Any] = [*still_open, *done]
    found = next((o for o in rows if o.number == number), None)
    if found is None:
        return None
    steps = list(pairwise(o.number for o in rows))
    return shown.Some(
        head=head_of(known, bases_of(known), now=now),
        title=f"Item {number}",
        which="",
        items=Items(known, now, whole=True).all([found]),
        before=next((f"?item={one}" for one, other in steps if other == number), ""),
        after=next((f"?item={other}" for one, other in steps if one == number), ""),
    )


def drawn_in(scope: facts.Scope, *, now: datetime) -> shown.Drawn | None:
    """The supply drawing of `scope` by itself; None where no board is on record."""
    known = facts.all_facts(scope)
    supply = supply_in(scope, known.observations, by_itself=True)
    return shown.Drawn(head_of(known, bases_of(known), now=now), supply) if supply else None


def photo_file(link: PrivateLink, photo: UUID) -> StoredFile | None:
    """The file of a photograph that the link's page shows; None for any other. Three statements at most."""
    scope = facts.scope_of(link)
    return photo_in(scope, photo) if scope else None


def photo_in(scope: facts.Scope, photo: UUID) -> StoredFile | None:
    """The file of a photograph that the page of `scope` shows; None for any other. Two statements at most."""
    for seen in (facts.photos_before(scope), facts.photos_after(scope)):
        if found := seen.select_related("file").filter(pk=photo).first():
            return found.file
    return None
