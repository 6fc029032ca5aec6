"""When a site may be entered: the customer's times of the week without the days on which it is closed. Local times."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

LONDON = ZoneInfo("Europe/London")
Span = tuple[datetime, datetime]
MIDNIGHT = time(0, 0)


@dataclass(frozen=True)
class Times:
    """From `start` up to `end` on each of `weekdays` (0 is Monday)."""

    weekdays: frozenset[int]
    start: time
    end: time


@dataclass(frozen=True)
class Closed:
    """From the day `first` to the day `last`, both included."""

    first: date
    last: date


def days_between(first: date, last: date) -> Iterator[date]:
    """Each day from `first` to `last`, both included."""
    return (first + timedelta(days=n) for n in range((last - first).days + 1))


def windows(times: Iterable[Times], closed: Iterable[Closed], first: date, last: date) -> list[Span]:
    """The spans, as instants in UTC, within which somebody is let in from `first` to `last`, in order, none overlapping.

    Without `times` it is open at all hours, but on closed days. A clock change moves the instants, not the hours.
    """
    times, closed = list(times), list(closed)
    found: list[Span] = []
    for on in days_between(first, last):
        if not any(one.first <= on <= one.last for one in closed):
            found += _of_day(times, on)
    return joined(found)


def _of_day(times: list[Times], on: date) -> list[Span]:
    if not times:
        return [(instant(on, MIDNIGHT), instant(on + timedelta(days=1), MIDNIGHT))]
    return [(instant(on, one.start), instant(on, one.end)) for one in times if on.weekday() in one.weekdays]


def instant(on: date, at: time) -> datetime:
    """The instant at which London's clock shows `at` on the day `on`, in UTC; the first of two in October."""
    return datetime.combine(on, at, tzinfo=LONDON).astimezone(UTC)


def joined(spans: Iterable[Span]) -> list[Span]:
    """`spans` in order; those that touch or overlap made one."""
    found: list[Span] = []
    for start, end in sorted(span for span in spans if span[1] > span[0]):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], end))
        else:
            found.append((start, end))
    return found
