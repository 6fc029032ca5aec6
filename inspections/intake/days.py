"""Reads days as people and spreadsheets write them: day before month, never the other way round in silence."""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date, datetime, timedelta

from .table import WINDOWS_DAY_NOUGHT, Plain, as_text
from .trouble import Unfit

EXPECTED = "a day such as 03/02/2025, 3 Feb 2025 or 2025-02-03, day before month"
FIRST_YEAR, LAST_YEAR = 1950, 2099
MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
FULL = (
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
)
IN_NUMBERS = re.compile(r"(\d{1,2})\s?[./\- ]\s?(\d{1,2})\s?[./\- ]\s?(\d{4}|\d{2})")
ISO = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
IN_WORDS = re.compile(r"(\d{1,2})(?:st|nd|rd|th)?[\s\-.]*(?:of )?([a-z]{3,9})[\s\-.,]*(\d{4}|\d{2})")
MONTH_IN_WORDS_FIRST = re.compile(r"([a-z]{3,9})[\s\-.]*(\d{1,2})(?:st|nd|rd|th)?[\s\-.,]+(\d{4})")
WEEKDAY = re.compile(r"^(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?[\s.,]+")
CLOCK = re.compile(r"[t\s]+\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?\s?(?:z|am|pm)?$")


def day(value: Plain, *, day_nought: datetime = WINDOWS_DAY_NOUGHT) -> date:
    """The day that a cell says, as a date, a spreadsheet's day number or text. `day_nought` is the workbook's day 0.

    Two-digit years from 70 count as 1970 to 1999, the others as 2000 to 2069 (as POSIX has it).
    """
    if isinstance(value, datetime):
        return _sensible(value.date(), value)
    if isinstance(value, date):
        return _sensible(value, value)
    if isinstance(value, int | float) and not isinstance(value, bool):
        return _from_serial(float(value), day_nought)
    return _from_text(value, day_nought)


def _from_serial(number: float, day_nought: datetime) -> date:
    least = (date(FIRST_YEAR, 1, 1) - day_nought.date()).days
    most = (date(LAST_YEAR, 12, 31) - day_nought.date()).days
    if not least <= number < most + 1:
        raise Unfit(f"“{number:.12g}” isn't a day.", EXPECTED)
    return day_nought.date() + timedelta(days=int(number))


def _from_text(value: Plain, day_nought: datetime) -> date:
    said = CLOCK.sub("", WEEKDAY.sub("", as_text(value).casefold()))
    if re.fullmatch(r"\d{5}", said):
        return _from_serial(float(said), day_nought)
    if found := ISO.fullmatch(said):
        return _made(found[1], found[2], found[3], value)
    if found := IN_NUMBERS.fullmatch(said):
        if month_first(value):
            raise Unfit(
                f"“{as_text(value)}” has no month {int(found[2])}: it seems to be written month first.", EXPECTED
            )
        return _made(found[3], found[2], found[1], value)
    if found := IN_WORDS.fullmatch(said):
        return _made(found[3], _month(found[2], value), found[1], value)
    if found := MONTH_IN_WORDS_FIRST.fullmatch(said):
        return _made(found[3], _month(found[1], value), found[2], value)
    raise Unfit(f"“{as_text(value)}” isn't a day.", EXPECTED)


def _month(name: str, value: Plain) -> str:
    for number, (short, full) in enumerate(zip(MONTHS, FULL, strict=True), start=1):
        if name in {short, full, "sept" if short == "sep" else short}:
            return str(number)
    raise Unfit(f"“{as_text(value)}” names no month.", EXPECTED)


def _made(year: str, month: str, day_of_month: str, value: Plain) -> date:
    number = int(year)
    if len(year) == 2:
        number += 1900 if number >= 70 else 2000
    try:
        return _sensible(date(number, int(month), int(day_of_month)), value)
    except ValueError:
        raise Unfit(f"“{as_text(value)}” isn't a day of the calendar.", EXPECTED) from None


def _sensible(found: date, value: Plain) -> date:
    if not FIRST_YEAR <= found.year <= LAST_YEAR:
        raise Unfit(f"“{as_text(value)}” is in the year {found.year}.", f"a year from {FIRST_YEAR} to {LAST_YEAR}")
    return found


def month_first(value: Plain) -> bool:
    """Whether a day written in numbers makes sense only with the month before the day."""
    found = isinstance(value, str) and IN_NUMBERS.fullmatch(CLOCK.sub("", value.strip().casefold()))
    return bool(found) and int(found[1]) <= 12 < int(found[2]) <= 31  # type: ignore[index]


def either_way(value: Plain) -> bool:
    """Whether a day written in numbers would be another day with the month first."""
    found = isinstance(value, str) and IN_NUMBERS.fullmatch(CLOCK.sub("", value.strip().casefold()))
    return bool(found) and int(found[1]) != int(found[2]) and max(int(found[1]), int(found[2])) <= 12  # type: ignore[index]


def swapped_by_program(values: Iterable[Plain]) -> bool:
    """Whether a column looks as if a spreadsheet program set to month-first had turned some of its days round.

    Such a program makes real dates of those it can read month first, all with days up to 12 then,
    and leaves the others as text with days from 13 on.
    """
    values = list(values)
    real = [value for value in values if isinstance(value, date)]
    left = [found for value in values if isinstance(value, str) and (found := IN_NUMBERS.fullmatch(value.strip()))]
    return bool(real and left) and all(d.day <= 12 for d in real) and all(int(found[1]) > 12 for found in left)
