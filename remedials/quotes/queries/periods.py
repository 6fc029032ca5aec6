"""Periods of whole days, as the figures and the accounts are read by."""

from datetime import date, datetime, time, timedelta

from jobsite import clock


def instants(first: date, last: date) -> tuple[datetime, datetime]:
    """The instants between which lie the days of London from `first` to `last`: from the one, before the other."""
    start = datetime.combine(first, time(), tzinfo=clock.LONDON)
    return start, datetime.combine(last + timedelta(days=1), time(), tzinfo=clock.LONDON)
