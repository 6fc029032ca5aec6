"""Calendar months, as figures are counted by."""

from datetime import date

from jobsite.words import MONTHS


def month_of(day: date) -> date:
    """The first day of its month."""
    return day.replace(day=1)


def months_from(first: date, count: int) -> list[date]:
    """The first days of `count` months, that of `first` before all."""
    start = first.year * 12 + first.month - 1
    return [date((start + n) // 12, (start + n) % 12 + 1, 1) for n in range(count)]


def months_between(first: date, last: date) -> list[date]:
    """The first days of all months that have a day from `first` to `last`."""
    return months_from(first, (last.year - first.year) * 12 + last.month - first.month + 1)


def month_in_words(month: date) -> str:
    """ "Nov 2026"."""
    return f"{MONTHS[month.month - 1]} {month.year}"
