"""The last day of a period, by the words of the rule that sets it.

Calendar days only. Nothing here moves a day off a weekend or a bank holiday: no provision was
found that does so, pages warn instead.
"""

from calendar import monthrange
from datetime import date, timedelta

_MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"]
_TOO_FAR = "This period ends after the year 9999: check the date."


def last_day_starting_with(first: date, days: int) -> date:
    """Last day of "within N days starting with" (or "beginning with"): the first day counts.

    That "starting with" includes the day is from memory of case law; the phrase itself was read
    (England, SI 2020/312 reg 3, in reproductions; Wales, WSI 2022/6 reg 6).
    Raises ValueError for fewer than 1 day.
    """
    if days < 1:
        raise ValueError("A period that starts with a day has at least 1 day.")
    return _shift(first, days - 1)


def last_day_of(event: date, days: int) -> date:
    """Last day of "within N days of" (or "after"): the day of the event does not count.

    Raises ValueError for a negative number of days.
    """
    if days < 0:
        raise ValueError("A period after an event has no negative number of days.")
    return _shift(event, days)


def years_beginning_with(first: date, years: int) -> date:
    """Last day of "N years beginning with": 10 Mar 2025 and 5 years end on 9 Mar 2030.

    From 29 February the last day is 28 February, in a leap year too (the cautious reading).
    """
    if (first.month, first.day) == (2, 29):
        return years_after(first.replace(day=28), years)
    return years_after(first, years) - timedelta(days=1)


def years_after(event: date, years: int) -> date:
    """The same day N years later, for "at intervals of no more than N years".

    29 February becomes 28 February where that year has none (the cautious reading).
    """
    return months_after(event, 12 * years)


def months_after(event: date, months: int) -> date:
    """The same day N months later, or the month's last day where it has no such day."""
    years, month = divmod(event.month - 1 + months, 12)
    year = event.year + years
    if year > date.max.year:
        raise ValueError(_TOO_FAR)
    return date(year, month + 1, min(event.day, monthrange(year, month + 1)[1]))


def day_words(day: date) -> str:
    """A day as people write it, "24 Nov 2026", whatever the machine's language."""
    return f"{day.day} {_MONTHS[day.month - 1]} {day.year}"


def _shift(day: date, days: int) -> date:
    try:
        return day + timedelta(days=days)
    except OverflowError as too_far:
        raise ValueError(_TOO_FAR) from too_far
