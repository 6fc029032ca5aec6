"""Whether work fits an empty stretch of somebody's day, and when it would begin."""

from collections.abc import Iterable
from datetime import datetime, timedelta

QUARTER = timedelta(minutes=15)
Span = tuple[datetime, datetime]


def when_in(stretch: Span, minutes: int, there: int, onward: int, windows: Iterable[Span] | None = None) -> Span | None:
    """From when until when work of `minutes` is done in `stretch`, or None where it does not fit.

    Driving takes `there` minutes before it and `onward` minutes after it, both within the stretch. It begins at a quarter
    of an hour, the earliest that is possible, within one of `windows` (instants; None: at any time).
    """
    first, last = stretch[0] + timedelta(minutes=there), stretch[1] - timedelta(minutes=onward)
    lasts = timedelta(minutes=minutes)
    for begin, end in sorted(windows) if windows is not None else [stretch]:
        start = _quarter(max(first, begin))
        if start + lasts <= min(last, end):
            return start, start + lasts
    return None


def _quarter(at: datetime) -> datetime:
    """The quarter of an hour at or after `at`. London's clock is whole hours from UTC, so that theirs are the same."""
    over = timedelta(minutes=at.minute % 15, seconds=at.second, microseconds=at.microsecond)
    return at if not over else at - over + QUARTER
