"""Minutes of a plan and instants. A plan's minutes are London's clock: 1440 a day from midnight of its first day.

So each day begins at a whole multiple, also in the weeks in which the clocks change. The hour that is skipped in spring or
comes twice in autumn is no hour to plan in (`odd_hours`): outside it, minutes and instants correspond one to one.
"""

from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta

from jobsite.words import LONDON

MINUTES_A_DAY = 1440
NEAR = timedelta(hours=4)
"""How long before a visit and after it somebody may be there for it, also across midnight. Our own choice."""
Window = tuple[int, int]  # from, up to


def midnight(on: date) -> datetime:
    """The instant at which the day `on` begins in London, in UTC."""
    return datetime.combine(on, time.min, tzinfo=LONDON).astimezone(UTC)


def there_for(start: datetime, end: datetime, at: datetime) -> bool:
    """Whether who is there at the instant `at` may be there for the visit from `start` to `end`.

    So on each of its days in London, and near it at night: who comes at a quarter to twelve for half past midnight, or
    works on after it, is there alone all the same.
    """
    same_day = start.astimezone(LONDON).date() <= at.astimezone(LONDON).date() <= end.astimezone(LONDON).date()
    return same_day or start - NEAR <= at <= end + NEAR


def minute_of(instant: datetime, first: date) -> int:
    """The plan's minute at `instant`, rounded down; negative before the day `first`."""
    here = instant.astimezone(LONDON)
    return (here.date() - first).days * MINUTES_A_DAY + here.hour * 60 + here.minute


def instant_of(minute: int, first: date) -> datetime:
    """The instant in UTC at which London's clock shows that minute; of a minute that comes twice, the earlier."""
    days, minutes = divmod(minute, MINUTES_A_DAY)
    clock = datetime.combine(first + timedelta(days=days), time(minutes // 60, minutes % 60), tzinfo=LONDON)
    return clock.astimezone(UTC)


def span_of(start: datetime, end: datetime, first: date) -> Window:
    """The minutes from `start` up to `end`, rounded outward; one that touches an odd hour takes in all of it."""
    begin, until = minute_of(start, first), minute_of(end + timedelta(seconds=59), first)
    until = max(until, begin + 1)
    day, last = begin // MINUTES_A_DAY, until // MINUTES_A_DAY
    for odd, after in odd_hours(first + timedelta(days=day), last - day + 1):
        low, high = odd + day * MINUTES_A_DAY, after + day * MINUTES_A_DAY
        if begin < high and until > low:
            begin, until = min(begin, low), max(until, high)
    return begin, until


def odd_hours(first: date, days: int) -> list[Window]:
    """The hours of London's clock, in minutes of the plan, that are skipped or come twice on one of the days."""
    found = []
    for number in range(days):
        on = first + timedelta(days=number)
        hours = (midnight(on + timedelta(days=1)) - midnight(on)).total_seconds() / 3600
        if hours != 24:
            start = number * MINUTES_A_DAY + _changes_at(on)
            found.append((start, start + 60))
    return found


def _changes_at(on: date) -> int:
    """The first minute of the day whose clock reading is not one instant."""
    for hour in range(24):
        early, late = (datetime.combine(on, time(hour), tzinfo=LONDON).replace(fold=fold) for fold in (0, 1))
        if early.utcoffset() != late.utcoffset():
            return hour * 60
    return 0


def both(one: Iterable[Window], other: Iterable[Window]) -> list[Window]:
    """What lies in a window of each, in order."""
    mine, theirs = joined(one), joined(other)
    found = [(max(a, c), min(b, d)) for a, b in mine for c, d in theirs]
    return sorted((low, high) for low, high in found if low < high)


def without(windows: Iterable[Window], gaps: Iterable[Window]) -> list[Window]:
    """The windows with the gaps cut out of them, in order."""
    found = joined(windows)
    for low, high in gaps:
        if high > low:
            cut = [part for a, b in found for part in ((a, min(b, low)), (max(a, high), b))]
            found = [(a, b) for a, b in cut if a < b]
    return found


def joined(windows: Iterable[Window]) -> list[Window]:
    """The windows in order, those that overlap or meet made one; empty ones left out."""
    found: list[Window] = []
    for low, high in sorted(window for window in windows if window[0] < window[1]):
        if found and low <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], high))
        else:
            found.append((low, high))
    return found
