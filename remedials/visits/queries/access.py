"""What is known of getting in: when, what must be seen to first."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.db.models import Q

from jobsite.words import joined
from remedials.visits.models import AccessTime, ClosedDays, OccupierNote, SeeTo
from remedials.visits.rules.access import Closed, Times, windows
from remedials.works.models import Remedial

Windows = dict[tuple[UUID, UUID | None], list[tuple[datetime, datetime]]]


def windows_of(sites: Iterable[Any], first: date, last: date) -> Windows:
    """When each of `sites` (rows or keys) and their units may be entered, as instants, by (site, unit or None for the site).

    Who is missing may be entered at any time. A unit with times of its own is ruled by those instead of the site's; the
    closed days of its site bind it all the same. Two statements.
    """
    keys = [getattr(site, "pk", site) for site in sites]
    times: dict[tuple[UUID, UUID | None], list[Times]] = defaultdict(list)
    for row in AccessTime.objects.filter(site__in=keys).order_by("pk"):
        times[row.site_id, row.unit_id].append(Times(frozenset(row.weekdays), row.start, row.end))
    closed: dict[tuple[UUID, UUID | None], list[Closed]] = defaultdict(list)
    for days in ClosedDays.objects.filter(site__in=keys, first__lte=last, last__gte=first).order_by("pk"):
        closed[days.site_id, days.unit_id].append(Closed(days.first, days.last))
    found: Windows = {}
    for site, unit in {*times, *closed}:
        whole = (site, None)
        hours = times.get((site, unit)) or times.get(whole, [])
        shut = closed.get(whole, []) + (closed.get((site, unit), []) if unit else [])
        found[site, unit] = windows(hours, shut, first, last)
    return found


def window_for(found: Windows, site: UUID, unit: UUID | None) -> list[tuple[datetime, datetime]] | None:
    """Of what `windows_of` found: when that unit may be entered, else its site; None: at any time."""
    return found.get((site, unit), found.get((site, None)))


def to_see_to(remedials: Iterable[Remedial], on: date) -> dict[UUID, list[SeeTo]]:
    """What must still be seen to before work on each of `remedials` on the day `on`: of it, of its unit, of its site.

    One statement. Those with nothing left are missing.
    """
    work = list(remedials)
    of_these = Q(remedial__in=[r.pk for r in work]) | Q(remedial=None, site__in={r.site_id for r in work})
    left = Q(met_on=None) | Q(holds_until__lt=on) | Q(met_on__gt=on)
    rows = list(SeeTo.objects.filter(of_these, left, withdrawn_at=None).select_related("owner").order_by("by", "pk"))
    found: dict[UUID, list[SeeTo]] = {}
    for remedial in work:
        mine = [row for row in rows if _about(row, remedial)]
        if mine:
            found[remedial.pk] = mine
    return found


def _about(row: SeeTo, remedial: Remedial) -> bool:
    if row.remedial_id:
        return bool(row.remedial_id == remedial.pk)
    return bool(row.site_id == remedial.site_id and row.unit_id in {None, remedial.unit_id})


def must_keep_power(sites: Iterable[UUID]) -> dict[UUID, list[str]]:
    """By site, in words: the units where somebody or something must not lose power unprepared. One statement.

    Not why: that is the people's own, and shown only beside whom to ask there.
    """
    found: dict[UUID, list[str]] = defaultdict(list)
    rows = OccupierNote.objects.filter(site__in=list(sites), loses_power_badly=True, unit__retired_at=None)
    for note in rows.select_related("unit").order_by("unit__sort", "pk"):
        whom = joined(note.contact, note.phone)
        unit = "Here" if note.unit.whole_site else note.unit.name
        found[note.site_id].append(f"{unit}: agree it beforehand{f' with {whom}' if whom else ''}")
    return found
