"""On which days and at what time the firm's people and customers are written to. Pure.

Times are those of the clock on the wall in Europe/London; instants are UTC. An hour that the wall clock skips in spring
moves what falls into it one hour on; of an hour that it shows twice in autumn the first counts.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta

from jobsite.clock import LONDON

MOST_DAYS = 400  # no firm closes longer: whoever looks further ahead or back has figures that make no sense


@dataclass(frozen=True, slots=True)
class Hours:
    """When the firm works: `working_days` (1 is Monday) but for `holidays`; quiet hours between two times of day.

    `quiet_from` later than `quiet_until`: over midnight. Both alike: no hour is quiet. Raises ValueError for a week
    without a working day: nobody would ever be written to.
    """

    digest_at: time
    working_days: frozenset[int]
    quiet_from: time
    quiet_until: time
    holidays: frozenset[date] = frozenset()

    def __post_init__(self) -> None:
        """Refuse a week in which nobody works."""
        if not self.working_days & frozenset(range(1, 8)):
            raise ValueError("a week needs at least one working day")


def is_working(day: date, hours: Hours) -> bool:
    """Whether the firm works on `day`: a working day of the week that is no bank holiday."""
    return day.isoweekday() in hours.working_days and day not in hours.holidays


def is_quiet(at: time, hours: Hours) -> bool:
    """Whether customers are left alone at the time of day `at`; `quiet_until` itself is no longer quiet."""
    if hours.quiet_from <= hours.quiet_until:
        return hours.quiet_from <= at < hours.quiet_until
    return at >= hours.quiet_from or at < hours.quiet_until


def digest_moment(day: date, hours: Hours) -> datetime:
    """The instant (UTC) from which the digest of `day` is written."""
    return _instant(day, hours.digest_at)


def digest_day_before(day: date, hours: Hours) -> date:
    """The last working day before `day`. Raises ValueError where there is none in more than a year."""
    for n in range(1, MOST_DAYS):
        if is_working(earlier := day - timedelta(days=n), hours):
            return earlier
    raise ValueError(f"no working day in the {MOST_DAYS} days before {day}")


def digest_days(first: date, last: date, hours: Hours) -> list[date]:
    """Each working day from `first` to `last`, both included."""
    return [day for n in range((last - first).days + 1) if is_working(day := first + timedelta(days=n), hours)]


def may_go(now: datetime, hours: Hours) -> bool:
    """Whether a polite message may go out at `now`: on a working day and outside the quiet hours."""
    local = now.astimezone(LONDON)
    return is_working(local.date(), hours) and not is_quiet(local.time(), hours)


def next_moment(now: datetime, hours: Hours) -> datetime:
    """When a polite message may go out: `now`, or the first instant (UTC) after it at which it may.

    Raises ValueError where there is none in more than a year (every hour quiet, every day a holiday).
    """
    if may_go(now, hours):
        return now
    first = now.astimezone(LONDON).date()
    for n in range(MOST_DAYS):
        found = [at for at in _openings(first + timedelta(days=n), hours) if at > now and may_go(at, hours)]
        if found:
            return min(found)
    raise ValueError(f"no time for polite messages in the {MOST_DAYS} days after {first}")


def _openings(day: date, hours: Hours) -> Iterator[datetime]:
    """The instants of `day` at which it can become allowed to write: midnight, the end of the quiet hours, a clock change.

    In the United Kingdom clocks change at 01:00 UTC (Summer Time Order 2002, from memory).
    """
    yield _instant(day, time(0))
    yield datetime.combine(day, time(1), UTC)
    yield _instant(day, hours.quiet_until)
    yield _instant(day, hours.quiet_until.replace(fold=1))


def _instant(day: date, at: time) -> datetime:
    return datetime.combine(day, at, LONDON).astimezone(UTC)
