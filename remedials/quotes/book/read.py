"""Reads a price book from the sheets of a workbook: the jobs in it, and what is faulty, by sheet and row."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from decimal import Decimal, InvalidOperation
from typing import Any

from inspections.intake.cells import NO, YES, plain_head
from inspections.intake.table import CellError, Row, Sheet, Value, as_text
from jobsite.refused import Refused
from remedials.quotes.book.columns import HEADS, ITEM_HEADS, ITEMS, JOB_HEADS, JOBS, NEEDED
from remedials.quotes.models import fold
from remedials.quotes.operations.book import Job, in_order
from remedials.works.operations.taking import Take

MOST_JOBS = 2_000


@dataclass(frozen=True, slots=True)
class Fault:
    """What is wrong in a row of the file, as a sentence."""

    sheet: str
    row: int
    name: str
    sentence: str


@dataclass(frozen=True, slots=True)
class Found:
    """A job of the file: its row on the sheet of jobs, what it says, whether it is retired there."""

    row: int
    job: Job
    retired: bool


@dataclass(slots=True)
class Read:
    """What a file says, in its order."""

    jobs: list[Found] = field(default_factory=list)
    faults: list[Fault] = field(default_factory=list)


class _Unreadable(Exception):
    """A cell that says nothing that can be used."""


def read_book(sheets: Iterable[Sheet]) -> Read:
    """The jobs of a workbook. Raises Refused where a sheet or a column is not there; what is wrong in a row is a fault."""
    named = {plain_head(sheet.name): sheet for sheet in sheets}
    rows = {}
    for name in (JOBS, ITEMS):
        if (sheet := named.get(plain_head(name))) is None:
            raise Refused(
                f"This file has no sheet named {name}. Take the price book away as a file first, and change that.",
                field="file",
            )
        rows[name] = _records(sheet, name)
    if len(rows[JOBS]) > MOST_JOBS:
        raise Refused(f"This file has more than {MOST_JOBS:,} jobs.", field="file")
    read = Read()
    items = _items(rows[ITEMS], {fold(as_text(cells.get("name"))) for _, cells in rows[JOBS]}, read)
    _jobs(rows[JOBS], items, read)
    read.faults.sort(key=lambda fault: (fault.sheet != JOBS, fault.row))
    return read


def _records(sheet: Sheet, name: str) -> list[tuple[int, dict[str, Value]]]:
    """The rows below the heads, their cells by the keys of their columns. Raises Refused for a column not there."""
    heads = sheet.rows[0] if sheet.rows else Row(1, ())
    keys = {plain_head(words): key for key, words in HEADS[name].items()}
    places = {keys[head]: n for n, cell in enumerate(heads.cells) if (head := plain_head(as_text(cell))) in keys}
    if missing := [HEADS[name][key] for key in NEEDED[name] if key not in places]:
        raise Refused(f"The sheet {name} has no column “{missing[0]}” in its first row.", field="file")
    found = [
        (row.number, {key: row.cells[n] for key, n in places.items() if n < len(row.cells)}) for row in sheet.rows[1:]
    ]
    return [(number, cells) for number, cells in found if any(as_text(cell) for cell in cells.values())]


Items = dict[str, list[tuple[int, Take]]]


def _items(rows: Sequence[tuple[int, dict[str, Value]]], jobs: set[str], read: Read) -> Items:
    found: Items = {}
    for number, cells in rows:
        name = as_text(cells.get("job"))
        try:
            if fold(name) not in jobs:
                sentence = f"The sheet {JOBS} has no job named “{name}”." if name else "Say of which job it is."
                raise _Unreadable(sentence)
            found.setdefault(fold(name), []).append((number, _take(cells)))
        except _Unreadable as wrong:
            read.faults.append(Fault(ITEMS, number, as_text(cells.get("what")), str(wrong)))
    return found


def _take(cells: dict[str, Value]) -> Take:
    return Take(
        what=_text(cells, "what", ITEM_HEADS),
        kind=_text(cells, "kind", ITEM_HEADS).casefold() or Take._field_defaults["kind"],
        quantity=_number(cells, "quantity", ITEM_HEADS, Decimal(1)),
        unit=_text(cells, "unit", ITEM_HEADS),
        cost_each=_number(cells, "cost_each", ITEM_HEADS, Decimal(0)),
        markup_percent=_number(cells, "markup_percent", ITEM_HEADS, None),
        supplier=_text(cells, "supplier", ITEM_HEADS),
        reference=_text(cells, "reference", ITEM_HEADS),
    )


def _jobs(rows: Sequence[tuple[int, dict[str, Value]]], items: Items, read: Read) -> None:
    seen: dict[str, int] = {}
    for number, cells in rows:
        name = as_text(cells.get("name"))
        try:
            if first := seen.get(fold(name)):
                raise _Unreadable(f"This name stands in row {first} already.")
            seen[fold(name)] = number
            mine = items.get(fold(name), [])
            job = _job(cells, tuple(one for _, one in mine))
            read.jobs.append(Found(number, in_order(job), _yes(cells)))
        except _Unreadable as wrong:
            read.faults.append(Fault(JOBS, number, name, str(wrong)))
        except Refused as wrong:
            read.faults.append(_where(wrong, number, name, mine))


def _where(wrong: Refused, number: int, name: str, items: Sequence[tuple[int, Take]]) -> Fault:
    """The fault of what the house's own rules refuse, at the row of the item where it is one of its items."""
    if wrong.field and wrong.field.startswith("items-"):
        _, place, key = wrong.field.split("-")
        row, one = items[int(place)]
        return Fault(ITEMS, row, one.what, f"{ITEM_HEADS[key]}: {wrong.sentence}")
    head = JOB_HEADS.get(wrong.field or "", "")
    return Fault(JOBS, number, name, f"{head}: {wrong.sentence}" if head else wrong.sentence)


def _job(cells: dict[str, Value], items: tuple[Take, ...]) -> Job:
    minutes = _number(cells, "minutes", JOB_HEADS, None)
    crew = _number(cells, "crew", JOB_HEADS, Decimal(1))
    retests = [key.strip().casefold() for key in _text(cells, "retests", JOB_HEADS).split(";") if key.strip()]
    return Job(
        name=_text(cells, "name", JOB_HEADS),
        plain=_text(cells, "plain", JOB_HEADS),
        minutes=None if minutes is None else _whole(minutes, "minutes"),
        crew=_whole(crew, "crew"),
        skill=_text(cells, "skill", JOB_HEADS),
        retests=tuple(retests),
        certificate_kind=_text(cells, "certificate_kind", JOB_HEADS),
        treatment=_text(cells, "treatment", JOB_HEADS).casefold() or Job._field_defaults["treatment"],
        items=items,
    )


def _text(cells: dict[str, Value], key: str, heads: dict[str, str]) -> str:
    cell = cells.get(key)
    if isinstance(cell, CellError):
        raise _Unreadable(f"{heads[key]}: the cell shows the error {cell.shown}.")
    found = as_text(cell)
    if any(ord(letter) < 32 and letter not in "\n\t" for letter in found):
        raise _Unreadable(f"{heads[key]}: holds characters that aren't text.")
    return found


def _number(cells: dict[str, Value], key: str, heads: dict[str, str], empty: Any) -> Any:
    """The number in a cell; `empty` where there is none."""
    if not (found := _text(cells, key, heads).removeprefix("£").removesuffix("%").strip()):
        return empty
    try:
        number = Decimal(found)
    except InvalidOperation:
        raise _Unreadable(f"{heads[key]}: “{found}” is no number.") from None
    if not number.is_finite():
        raise _Unreadable(f"{heads[key]}: “{found}” is no number.")
    return number


def _whole(number: Decimal, key: str) -> int:
    if number != number.to_integral_value() or abs(number) > 10**9:
        raise _Unreadable(f"{JOB_HEADS[key]}: write a whole number.")
    return int(number)


def _yes(cells: dict[str, Value]) -> bool:
    said = _text(cells, "retired", JOB_HEADS).casefold()
    if said in NO or said in {"", "-"}:
        return False
    if said in YES:
        return True
    raise _Unreadable(f"{JOB_HEADS['retired']}: “{said}” is neither yes nor no.")
