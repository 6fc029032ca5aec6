"""What a spreadsheet holds once it is read: sheets, rows, and cells that say when their value can't be trusted."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta

WINDOWS_DAY_NOUGHT = datetime(1899, 12, 30)  # noqa: DTZ001 - a day of the calendar, of no time zone
"""Day 0 of the usual date system of spreadsheets (ECMA-376 part 1, 18.17.4.1); the other one begins in 1904."""


@dataclass(frozen=True, slots=True)
class Formula:
    """A cell that is calculated. `value` is what the spreadsheet program last stored for it, None if nothing."""

    value: Plain


@dataclass(frozen=True, slots=True)
class Merged:
    """A cell covered by a merged area whose value belongs to the area's first cell only, `first` such as "A4"."""

    first: str


@dataclass(frozen=True, slots=True)
class CellError:
    """A cell that shows an error of the spreadsheet program, `shown` such as "#REF!"."""

    shown: str


Plain = str | int | float | bool | datetime | date | time | timedelta | None
Value = Plain | Formula | Merged | CellError


@dataclass(frozen=True, slots=True)
class Row:
    """One row that isn't empty; `number` is the number that the spreadsheet program shows beside it."""

    number: int
    cells: tuple[Value, ...]


@dataclass(frozen=True, slots=True)
class Sheet:
    """One sheet; empty rows are left out, so row numbers may jump."""

    name: str
    rows: list[Row]
    day_nought: datetime = WINDOWS_DAY_NOUGHT
    notes: list[str] = field(default_factory=list)


def trimmed(cells: list[Value]) -> tuple[Value, ...]:
    """The cells of a row up to the last that holds anything."""
    last = next((place for place in range(len(cells), 0, -1) if cells[place - 1] is not None), 0)
    return tuple(cells[:last])


def bare(value: Value) -> Plain:
    """The value without its wrapping: a formula's stored value, nothing for a covered cell, an error's text."""
    if isinstance(value, Formula):
        return value.value
    if isinstance(value, Merged):
        return None
    return value.shown if isinstance(value, CellError) else value


def as_text(value: Value) -> str:
    """The cell as a person would read it, trimmed; numbers without a needless ".0", days as 2026-11-24."""
    plain = bare(value)
    if plain is None:
        return ""
    if isinstance(plain, bool):
        return "yes" if plain else "no"
    if isinstance(plain, float):
        return f"{plain:.12g}"
    if isinstance(plain, datetime) and plain.time() == time():
        return plain.date().isoformat()
    return str(plain).strip()
