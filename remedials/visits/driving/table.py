"""The firm's table of driving times as a spreadsheet: read with a sentence for each faulty row, and written back."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation

from inspections.intake.cells import plain_head
from inspections.intake.table import CellError, Row, Sheet, Value, as_text
from jobsite.refused import Refused

HEADS = ("From district", "To district", "Minutes", "Kilometres")
LONGEST = Decimal(600)  # minutes
FARTHEST = Decimal(1500)  # kilometres: farther than any two places of Great Britain are apart by road
# The part of a postcode before the space: one or two letters, a digit, and a digit or a letter at most.
# From memory of the general form of UK postcodes in BS 7666.
DISTRICT = re.compile(r"[A-Z]{1,2}[0-9][A-Z0-9]?")


@dataclass(frozen=True, slots=True)
class Drive:
    """From one postcode district to another; within one where both are the same."""

    start: str
    end: str
    minutes: int
    km: Decimal


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong in a row of the file, as a sentence."""

    row: int
    which: str
    sentence: str


class _Unreadable(Exception):
    """A cell that says nothing that can be used."""


def read_table(sheets: Sequence[Sheet]) -> tuple[list[Drive], list[Fault]]:
    """The drives on the first sheet and what is faulty there. Raises Refused where a column is not there, or no row."""
    sheet = next((sheet for sheet in sheets if sheet.rows), None)
    rows = sheet.rows if sheet else []
    heads = [plain_head(as_text(cell)) for cell in rows[0].cells] if rows else []
    wanted = [plain_head(head) for head in HEADS]
    if missing := [HEADS[n] for n, head in enumerate(wanted) if head not in heads]:
        raise Refused(f"This file has no column “{missing[0]}” in its first row.", field="file")
    places = [heads.index(head) for head in wanted]
    found, faults = _read(rows[1:], places)
    if not found and not faults:
        raise Refused("This file has no row below its heads.", field="file")
    return found, faults


def _read(rows: Iterable[Row], places: Sequence[int]) -> tuple[list[Drive], list[Fault]]:
    found: list[Drive] = []
    faults: list[Fault] = []
    seen: dict[tuple[str, str], int] = {}
    for row in rows:
        cells = [row.cells[n] if n < len(row.cells) else None for n in places]
        if not any(as_text(cell) for cell in cells):
            continue
        try:
            drive = _drive(cells)
            if first := seen.get((drive.start, drive.end)):
                raise _Unreadable(f"Row {first} says already how long that takes.")
        except _Unreadable as wrong:
            which = " – ".join(as_text(cell)[:20] for cell in cells[:2])
            faults.append(Fault(row.number, which, str(wrong)))
        else:
            seen[drive.start, drive.end] = row.number
            found.append(drive)
    return found, faults


def _drive(cells: Sequence[Value]) -> Drive:
    for head, cell in zip(HEADS, cells, strict=True):
        if isinstance(cell, CellError):
            raise _Unreadable(f"{head}: the cell shows the error {cell.shown}.")
    start, end = (_district(head, cell) for head, cell in zip(HEADS[:2], cells[:2], strict=True))
    minutes = _figure(HEADS[2], cells[2], LONGEST)
    if minutes != minutes.to_integral_value():
        raise _Unreadable(f"{HEADS[2]}: write a whole number.")
    km = _figure(HEADS[3], cells[3], FARTHEST)
    if km != round(km, 1):
        raise _Unreadable(f"{HEADS[3]}: write at most one digit after the point.")
    return Drive(start, end, int(minutes), km.quantize(Decimal("0.1")))


def _district(head: str, cell: Value) -> str:
    found = as_text(cell).upper()
    if not found:
        raise _Unreadable(f"{head}: write the postcode district, such as QX1.")
    if not DISTRICT.fullmatch(found):
        raise _Unreadable(f"{head}: “{found[:20]}” is no postcode district, such as QX1: the part before the space.")
    return found


def _figure(head: str, cell: Value, most: Decimal) -> Decimal:
    text = as_text(cell)
    if not text:
        raise _Unreadable(f"{head}: write a number.")
    try:
        number = Decimal(text)
    except InvalidOperation:
        raise _Unreadable(f"{head}: “{text[:20]}” is no number.") from None
    if not number.is_finite() or not 0 <= number <= most:
        raise _Unreadable(f"{head}: write a number from 0 to {most}.")
    return number
