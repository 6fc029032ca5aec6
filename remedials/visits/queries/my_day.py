"""The engineer's day: the visits in order, with what is needed on the way there and at the door."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q

from jobsite import clock
from jobsite.addresses import address
from jobsite.people.models import User
from jobsite.premises.choices import RoleAtUnit
from jobsite.premises.models import PartyAtUnit
from jobsite.words import dialled, joined, london, near_day, span
from remedials.visits.choices import LineKind
from remedials.visits.models import OccupierNote, SiteKey, Visit, VisitLine
from remedials.visits.queries.getting_in import AFTER, BEFORE, key_row, of_unit
from remedials.visits.queries.record import line_words
from remedials.visits.queries.visits import begins, boards_of, lines_of, map_of
from remedials.works.queries.around import Ground, ground_of
from remedials.works.states import Stage

COMING = timedelta(days=7)
MOST_TO_RING = 2
Row = dict[str, Any]


def my_day(user: User, *, now: datetime) -> dict[str, list[Row]]:
    """A person's visits: today, coming in a week, and those past with something on them not closed yet.

    Eight statements.
    """
    today = clock.local_day(now)
    begin, end = begins(today), begins(today + timedelta(days=1))
    mine = Visit.objects.filter(attendances__engineer=user, attendances__cancelled=False, state=Visit.State.BOOKED)
    left = Q(end__lte=begin, lines__active=True, lines__remedial__stage=Stage.BOOKED)
    rows = mine.filter(Q(end__gt=begin, start__lt=end + COMING) | left).select_related("site__customer").distinct()
    visits = list(rows.order_by("start", "pk"))
    work, around = lines_of(visits).rows(user, today=today), _Around(visits, user, now)
    shown = [(visit, _row(visit, work.get(visit.pk, []), around)) for visit in visits]
    return {
        "left": [row for visit, row in shown if visit.end <= begin],
        "today": [row for visit, row in shown if visit.end > begin and visit.start < end],
        "coming": [row for visit, row in shown if visit.start >= end],
    }


class _Around:
    """Whom to ring, which keys, what is dangerous there and who must not lose power, by site."""

    def __init__(self, visits: Sequence[Visit], user: User, now: datetime) -> None:
        sites = {visit.site_id for visit in visits}
        self.user, self.now = user, now
        self.grounds: dict[UUID, Ground] = ground_of(sites)
        self.notes: dict[UUID, list[OccupierNote]] = defaultdict(list)
        notes = OccupierNote.objects.filter(site__in=sites, unit__retired_at=None).select_related("unit")
        for note in notes.order_by("unit__sort", "pk"):
            self.notes[note.site_id].append(note)
        self.keys: dict[UUID, list[SiteKey]] = defaultdict(list)
        keys = SiteKey.objects.filter(site__in=sites, given_back_at=None).select_related("out_to", "site")
        for key in keys.order_by("tag"):
            self.keys[key.site_id].append(key)
        self.occupiers: dict[UUID, list[PartyAtUnit]] = defaultdict(list)
        self.others: dict[UUID, list[str]] = defaultdict(list)
        lines = VisitLine.objects.filter(visit__in=visits, active=True, settled_at=None)
        for line in lines.exclude(kind=LineKind.REMEDIAL).select_related("unit", "observation").order_by("pk"):
            self.others[line.visit_id].append(line_words(line))
        for row in [] if user.subcontractor else _occupiers(sites, clock.local_day(now)):
            self.occupiers[row.unit.site_id].append(row)

    def to_ring(self, visit: Visit) -> list[dict[str, str]]:
        """Whom to ring at the door: whoever was noted for the unit, who lives there, else the customer."""
        near = visit.start <= self.now + BEFORE and visit.end >= self.now - AFTER  # as long as the note is needed
        found = [(_whom(note), note.phone) for note in self.notes[visit.site_id] if near and note.phone]
        found += [(row.party.name, row.party.phone) for row in self.occupiers[visit.site_id] if row.party.phone]
        customer = visit.site.customer
        if not self.user.subcontractor and customer.phone:
            found.append((customer.name, customer.phone))
        by_number = {dialled(phone): whom for whom, phone in reversed(found)}
        first = list(dict.fromkeys(dialled(phone) for _, phone in found))[:MOST_TO_RING]
        return [{"whom": by_number[tel], "tel": tel} for tel in first]

    def must_keep_power(self, site: UUID) -> list[str]:
        """Whose power must not go off unprepared; not why."""
        said = [note for note in self.notes[site] if note.loses_power_badly]
        return [joined(of_unit(note.unit) or "Here", note.contact, by=": ") for note in said]


def _occupiers(sites: Iterable[UUID], on: date) -> Iterable[PartyAtUnit]:
    still = Q(until__isnull=True) | Q(until__gte=on)
    rows = PartyAtUnit.objects.filter(still, unit__site__in=sites, role=RoleAtUnit.OCCUPIER, since__lte=on)
    return rows.select_related("party", "unit").order_by("unit__sort", "pk")


def _whom(note: OccupierNote) -> str:
    return note.contact or of_unit(note.unit) or "the site"


def _when(visit: Visit, today: date) -> tuple[str, str]:
    """The hours, which stand large, and the day where it is not today."""
    start, end = london(visit.start), london(visit.end)
    if start.date() != end.date():
        return span(visit.start, visit.end), ""
    return f"{start:%H:%M}\u2013{end:%H:%M}", "" if start.date() == today else near_day(start.date(), today)


def _row(visit: Visit, work: list[Row], around: _Around) -> Row:
    today, site = clock.local_day(around.now), visit.site
    hours, on = _when(visit, today)
    dangers = around.grounds[visit.site_id].around(boards_of(work))["open"]
    outage = span(visit.outage_start, visit.outage_end) if visit.outage_start and visit.outage_end else ""
    return {
        "id": str(visit.pk),
        "number": str(visit.number),
        "address": address("visits:visit", visit.pk),
        "hours": hours,
        "day": on,
        "site": site.name,
        "where": site.one_line,
        "map": map_of(site),
        "ring": around.to_ring(visit),
        "access": [words for words in (visit.access, site.access_notes) if words],
        "keys": [_key(key, today) for key in around.keys[visit.site_id]],
        "outage": joined(visit.outage, outage),
        "told": visit.outage_with,
        "keep_power": around.must_keep_power(visit.site_id),
        "bare": [one for one in dangers if one["bare"]],
        "work": work,
        "others": around.others[visit.pk],
        "waits": " ".join([f"visit:{visit.pk}", *(f"remedial:{row['id']}" for row in work)]),
    }


def _key(key: SiteKey, today: date) -> str:
    row = key_row(key, today)
    return f"Key {row['tag']}, {row['what']}: {row['where']}"
