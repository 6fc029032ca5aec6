"""What every change here begins with: the right, the site as it is now, the unit that must be of it."""

from datetime import date
from typing import Any

from inspections.operations.ground import held_site, must_be_in_use
from jobsite.ledger.actor import Actor
from jobsite.people.rights import Right
from jobsite.premises.models import Site, Unit
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused

NOT_OFFICE = "Only the office keeps how to get in."
NOT_OF_SITE = "This unit is not of this site: choose one that is."


def office(by: Actor, sentence: str = NOT_OFFICE) -> None:
    """Raises NotAllowed for whoever may not book visits."""
    if not by.may(Right.BOOK):
        raise NotAllowed(sentence)


def site_in_use(site: Site) -> Site:
    """The site as it is now, locked. Raises Refused for an archived one."""
    site = held_site(site)
    must_be_in_use(site)
    return site


def of_site(unit: Unit | None, site: Site) -> None:
    """Raises Refused for a unit of another site."""
    if unit is not None and unit.site_id != site.pk:
        raise Refused(NOT_OF_SITE, field="unit")


def as_seen(row: Any, version: int | None, sentence: str) -> None:
    """Raises ChangedMeanwhile where `row` is newer than the `version` that the person saw (None: not said)."""
    if version is not None and row.version != version:
        raise ChangedMeanwhile(sentence, theirs=row)


def in_order(first: date, last: date, *, field: str = "last") -> None:
    """Raises Refused where `last` lies before `first`."""
    if last < first:
        raise Refused("The last day lies before the first.", field=field)


def iso(on: date | None) -> str | None:
    """A day as the ledger keeps it."""
    return on.isoformat() if on else None


def key_of(row: Any) -> str | None:
    """The key of a row as the ledger keeps it."""
    return str(row.pk) if row else None
