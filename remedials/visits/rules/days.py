"""Bank holidays of the four nations, from the `holidays` library's data: data, not a rule (one-off days are proclaimed)."""

from datetime import date, timedelta
from functools import lru_cache

import holidays

SUBDIVISION = {"england": "ENG", "wales": "WLS", "scotland": "SCT", "northern-ireland": "NIR"}
WEEKEND = (5, 6)


@lru_cache(maxsize=64)
def of_year(nation: str, year: int) -> dict[date, str]:
    """The bank holidays of `nation` (a value of premises' Nation) in `year`, with their names.

    The library also names the Saturday or Sunday for which another day is given: that is no bank holiday, and is left out.
    """
    found = holidays.country_holidays("GB", subdiv=SUBDIVISION[nation], years=year)
    return {on: name for on, name in sorted(found.items()) if on.weekday() not in WEEKEND}


def bank_holidays(nation: str, first: date, last: date) -> dict[date, str]:
    """The bank holidays of `nation` from `first` to `last`, both included, in order."""
    years = range(first.year, last.year + 1)
    return {on: name for year in years for on, name in of_year(nation, year).items() if first <= on <= last}


def days_of(first: date, last: date) -> list[date]:
    """Each day from `first` to `last`, both included."""
    return [first + timedelta(days=n) for n in range((last - first).days + 1)]
