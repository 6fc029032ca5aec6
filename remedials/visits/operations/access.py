"""When a site may be entered, and whom to ask there."""

from collections.abc import Iterable
from datetime import date, datetime, time
from typing import Any
from uuid import UUID

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import made_before
from jobsite.premises.models import Site, Unit
from jobsite.refused import Refused
from remedials.visits.models import AccessTime, ClosedDays, OccupierNote
from remedials.visits.operations.ground import as_seen, in_order, iso, key_of, of_site, office, site_in_use
from remedials.visits.verbs import Verb
from remedials.works.operations.ground import needed


@operation
def add_access_time(
    site: Site, *, id: UUID, weekdays: Iterable[int], start: time, end: time, by: Actor, now: datetime,
    unit: Unit | None = None, note: str = "",
) -> AccessTime:  # fmt: skip
    """Note that people are let in on `weekdays` (0 is Monday) from `start` up to `end`, local time.

    The same form again: its row. Raises NotAllowed, Refused.
    """
    office(by)
    site = site_in_use(site)
    of_site(unit, site)
    if made := made_before(AccessTime, id, site_id=site.pk):
        return made
    if not (days := sorted(set(weekdays))):
        raise Refused("Choose at least one day of the week.", field="weekdays")
    if end <= start:
        raise Refused("The time must end after it begins.", field="end")
    row = AccessTime.objects.create(id=id, site=site, unit=unit, weekdays=days, start=start, end=end, note=note.strip())
    facts = {"unit": key_of(unit), "weekdays": days, "from": f"{start:%H:%M}", "to": f"{end:%H:%M}"}
    record(Verb.ACCESS_TIME_ADDED, site=site.pk, subject=row, by=by, now=now, facts=facts, words={"note": row.note})
    return row


@operation
def remove_access_time(row: AccessTime, *, by: Actor, now: datetime) -> None:
    """Take a time of the week off again; the ledger keeps what it was. Gone already: nothing more happens."""
    office(by)
    site = site_in_use(row.site)
    if not (found := AccessTime.objects.filter(pk=row.pk).first()):
        return
    facts = {"unit": str(row.unit_id) if row.unit_id else None, "weekdays": found.weekdays}
    facts |= {"from": f"{found.start:%H:%M}", "to": f"{found.end:%H:%M}"}
    record(Verb.ACCESS_TIME_REMOVED, site=site.pk, subject=found, by=by, now=now, facts=facts)
    AccessTime.objects.filter(pk=row.pk).delete()


@operation
def add_closed_days(
    site: Site, *, id: UUID, first: date, last: date, why: str, by: Actor, now: datetime, unit: Unit | None = None
) -> ClosedDays:
    """Note days, both included, on which nobody may work there. The same form again: its row. Raises NotAllowed, Refused."""
    office(by)
    site = site_in_use(site)
    of_site(unit, site)
    if made := made_before(ClosedDays, id, site_id=site.pk):
        return made
    in_order(first, last)
    why = needed(why, "Say why nobody may work there then.", field="why")
    row = ClosedDays.objects.create(id=id, site=site, unit=unit, first=first, last=last, why=why)
    facts = {"unit": key_of(unit), "first": iso(first), "last": iso(last)}
    record(Verb.CLOSED_DAYS_ADDED, site=site.pk, subject=row, by=by, now=now, facts=facts, words={"why": why})
    return row


@operation
def remove_closed_days(row: ClosedDays, *, by: Actor, now: datetime) -> None:
    """Take closed days off again; the ledger keeps which they were. Gone already: nothing more happens."""
    office(by)
    site = site_in_use(row.site)
    if not (found := ClosedDays.objects.filter(pk=row.pk).first()):
        return
    facts = {"first": iso(found.first), "last": iso(found.last)}
    record(Verb.CLOSED_DAYS_REMOVED, site=site.pk, subject=found, by=by, now=now, facts=facts)
    ClosedDays.objects.filter(pk=row.pk).delete()


@operation
def note_occupier(unit: Unit, *, by: Actor, now: datetime, version: int | None = None, **said: Any) -> OccupierNote:
    """Keep whom to ask at `unit` and what to mind about the people there.

    `said`: contact, phone, email, best_times, mind, loses_power_badly. Nothing of it goes into the ledger but which of
    them changed. Raises NotAllowed, ChangedMeanwhile.
    """
    office(by)
    site = site_in_use(unit.site)
    row = OccupierNote.objects.select_for_update().filter(unit=unit).first() or OccupierNote(unit=unit, version=0)
    given = {name: value.strip() if isinstance(value, str) else value for name, value in said.items()}
    changed = sorted(name for name, value in given.items() if getattr(row, name) != value)
    if not changed and row.version:
        return row
    as_seen(row, version, "Somebody changed this meanwhile.")
    for name, value in given.items():
        setattr(row, name, value)
    row.site, row.version = site, row.version + 1
    row.save()
    record(Verb.OCCUPIER_NOTED, site=site.pk, subject=row, by=by, now=now, facts={"unit": str(unit.pk), "of": changed})
    return row
