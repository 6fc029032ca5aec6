"""A calendar of visits by RFC 5545, with the names of RFC 7986. The same facts make the same bytes.

It has no METHOD: that makes a message by RFC 5546 of a calendar, which must name an organizer by e-mail, and this one is
read from its address. Without METHOD, DTSTAMP is the last change of the entry (RFC 5545, 3.8.7.2), not the moment of reading.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from icalendar import Calendar, Event, Timezone, TimezoneDaylight, TimezoneStandard

from jobsite.words import LONDON

PRODID = "-//Jobsite//Visits//EN"
REFRESH = timedelta(hours=1)
HOUR, NONE = timedelta(hours=1), timedelta()


@dataclass(frozen=True)
class Entry:
    """One visit as a calendar shows it. Instants in UTC; `sequence` grows with each change; texts may have several lines."""

    uid: str
    sequence: int
    changed: datetime
    start: datetime
    end: datetime
    summary: str
    location: str
    url: str
    description: str
    cancelled: bool = False
    tentative: bool = False
    place: tuple[float, float] | None = None


def calendar(name: str, entries: Iterable[Entry]) -> bytes:
    """The calendar called `name` with `entries` in the order of their beginning, as its file."""
    made = Calendar()
    made.add("prodid", PRODID)
    made.add("version", "2.0")
    made.add("calscale", "GREGORIAN")
    made.add("name", name)
    made.add("x-wr-calname", name)  # common practice: what many phones read instead of NAME
    made.add("refresh-interval", REFRESH, parameters={"VALUE": "DURATION"})
    made.add_component(_london())
    for entry in sorted(entries, key=lambda one: (one.start, one.uid)):
        made.add_component(_event(entry))
    return bytes(made.to_ical())


def _event(entry: Entry) -> Event:
    event = Event()
    event.add("uid", entry.uid)
    event.add("dtstamp", entry.changed.astimezone(UTC))
    event.add("last-modified", entry.changed.astimezone(UTC))
    event.add("sequence", entry.sequence)
    event.add("dtstart", _local(entry.start))
    event.add("dtend", _local(entry.end))
    event.add("status", "CANCELLED" if entry.cancelled else "TENTATIVE" if entry.tentative else "CONFIRMED")
    event.add("summary", printable(entry.summary))
    event.add("location", printable(entry.location))
    event.add("url", entry.url)
    if entry.description:
        event.add("description", printable(entry.description))
    if entry.place:
        event.add("geo", entry.place)
    return event


def _local(instant: datetime) -> datetime:
    """In London time; in UTC where that hour comes a second time in autumn: local, it would mean the first (3.3.5)."""
    local = instant.astimezone(LONDON)
    return instant.astimezone(UTC) if local.fold else local


def printable(text: str) -> str:
    """`text` without the control characters that TEXT may not hold (RFC 5545, 3.3.11); lines end in a line feed."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(char for char in lines if char == "\n" or (ord(char) >= 32 and ord(char) != 127))


def _london() -> Timezone:
    """The present rule of the zone, of the EU's directive 2000/84/EC as the UK keeps it: since 1996, both changes at 01:00 UTC."""
    zone = Timezone()
    zone.add("tzid", "Europe/London")
    summer, winter = TimezoneDaylight(), TimezoneStandard()
    for part, name, begins, before, after, month in (
        (summer, "BST", datetime(1996, 3, 31, 1), NONE, HOUR, 3),  # noqa: DTZ001
        (winter, "GMT", datetime(1996, 10, 27, 2), HOUR, NONE, 10),  # noqa: DTZ001
    ):
        part.add("dtstart", begins)
        part.add("tzoffsetfrom", before)
        part.add("tzoffsetto", after)
        part.add("tzname", name)
        part.add("rrule", {"freq": "yearly", "bymonth": month, "byday": "-1su"})
        zone.add_component(part)
    return zone
