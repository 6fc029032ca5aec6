"""Reads the observations of an earlier report."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date
from functools import partial

from jobsite.refused import Refused

from . import cells, codes
from .circuits import name
from .columns import OBSERVATIONS
from .days import day, either_way, month_first, swapped_by_program
from .heads import Table, corrected_by, find_table, notes_on, refuse_missing
from .known import KnownBoard, KnownSite, Names, find_way
from .rows import Remarks, RowReader
from .table import Plain, Row, Sheet, as_text, bare
from .trouble import Checked, Corrections, Unfit, key_of
from .ways import LINES, SINGLE, Way, circuit_phase, way


@dataclass(frozen=True, slots=True)
class ObservationRow:
    """An observation as a report has it; `code_written` is the cell's own wording, `code` what it was taken for."""

    sheet: str
    row: int
    item: str
    code: str
    code_written: str
    text: str
    board: str
    way: Way | None
    place: str
    first_recorded: date | None


@dataclass
class _Check:
    """What the rows of one table are checked against; `seen` are the item numbers so far and where they stood."""

    table: Table
    names: Names
    boards: dict[str, KnownBoard]
    seen: dict[str, str]
    inspected_on: date | None
    month_first_row: int | None


def check_observations(
    sheets: Sequence[Sheet],
    known: KnownSite,
    *,
    inspected_on: date | None = None,
    left_out: Collection[str] = (),
    corrections: Corrections | None = None,
) -> Checked[ObservationRow]:
    """Which observations can be taken in, and what is wrong with the others.

    `inspected_on` is the report's own date: nothing in it can have been recorded later. Raises Refused where no sheet
    has the columns for code and observation. `left_out` names the rows that a person decided against; `corrections` are
    what a person put in place of cells.
    """
    remarks = Remarks()
    answer: Checked[ObservationRow] = Checked()
    tables = [(sheet, find_table(sheet, OBSERVATIONS)) for sheet in sheets]
    if not any(table for _, table in tables):
        raise Refused("No sheet of this file has the column heads of observations. The template shows them.")
    answer.notes += [
        f"Sheet “{sheet.name}” has no column heads of observations and wasn't read."
        for sheet, table in tables
        if not table
    ]
    seen: dict[str, str] = {}
    found = [corrected_by(table, corrections or {}) for _, table in tables if table]
    for table in _wanted(found, answer.notes):
        refuse_missing(table)
        answer.notes += notes_on(table) + _notes_on_days(table)
        names = Names(board.name for board in known.boards)
        boards = {board.name: board for board in known.boards}
        check = _Check(table, names, boards, seen, inspected_on, _month_first_row(table))
        for row in table.rows:
            _check_row(check, row, remarks, answer, left_out=key_of(table.sheet.name, row.number) in left_out)
    answer.notes += remarks.notes()
    return answer


def _wanted(tables: list[Table], notes: list[str]) -> list[Table]:
    """The tables with both needed columns; where none has them, the fullest is kept to say what it lacks."""
    full = [table for table in tables if {"code", "text"} <= table.places.keys()]
    if not full:
        return [max(tables, key=lambda table: len(table.places))]
    notes += [
        f"Sheet “{table.sheet.name}” lacks the code or the observation and wasn't read."
        for table in tables
        if table not in full
    ]
    return full


def _check_row(check: _Check, row: Row, remarks: Remarks, answer: Checked[ObservationRow], *, left_out: bool) -> None:
    reader = RowReader(check.table, row, remarks)
    board, found = _where(check, reader)
    observation = ObservationRow(
        sheet=reader.sheet,
        row=row.number,
        item=_item(check, reader),
        code=_code(reader),
        code_written=as_text(reader.value("code"))[:50],
        text=reader.read("text", partial(cells.text, most=4000), ""),
        board=board,
        way=found,
        place=reader.read("place", partial(cells.line, most=200), ""),
        first_recorded=_first_recorded(check, reader),
    )
    if left_out:
        reader.leave_out()
    if reader.troubles:
        answer.refused.append(reader.refused())
    else:
        answer.accepted.append(observation)


def _item(check: _Check, reader: RowReader) -> str:
    if "item" not in check.table.places and not reader.has("item"):
        item = str(len(check.seen) + 1)
        reader.note("the report's item numbers are missing; the rows were counted instead.")
    else:
        item = reader.read("item", partial(cells.line, most=20), "")
        if not item and not reader.troubles:
            reader.trouble("item", "is empty.", "the observation's number in the report")
    here = f"{reader.sheet}, row {reader.row.number}"
    if item and (earlier := check.seen.setdefault(item.casefold(), here)) != here:
        reader.trouble("item", f"“{item}” is there twice: it is also in {earlier}.", "each number once")
    return item


def _code(reader: RowReader) -> str:
    found = reader.read("code", codes.code, "")
    if found and codes.in_words(bare(reader.value("code"))):
        reader.note(
            f"“{as_text(reader.value('code'))}” was taken for {found}. Reports of before the letters came in meant other "
            "things by their numbers: check it against the report."
        )
    return found


def _where(check: _Check, reader: RowReader) -> tuple[str, Way | None]:
    said = reader.read("board", name, "")
    asked = _way(reader)
    if not said:
        if asked and not reader.troubles:
            reader.trouble("board", "is empty, though a way is given.", "the board that has that way")
        return "", None
    board = check.names.find(said)
    if board is None:
        reader.trouble("board", f"“{said}” isn't a board of this site.", check.names.near(said))
        return "", None
    try:
        return board, find_way(asked, check.boards[board].ways, board) if asked else None
    except Unfit as unfit:
        reader.trouble("way", unfit.wrong, unfit.expected)
        return board, None


def _way(reader: RowReader) -> Way | None:
    asked = reader.read("way", way, None)
    phase = reader.read("phase", circuit_phase, "")
    if asked and phase in LINES and not asked.phase:
        return Way(asked.number, phase)
    if asked and phase and phase not in {SINGLE, asked.phase} and asked.phase:
        reader.trouble("phase", f"“{phase}” isn't the phase that way {asked} says.", "the same phase in both")
    return asked


def _first_recorded(check: _Check, reader: RowReader) -> date | None:
    found = reader.read("first_recorded", partial(day, day_nought=check.table.sheet.day_nought), None)
    if found and check.month_first_row and either_way(bare(reader.value("first_recorded"))):
        said = as_text(reader.value("first_recorded"))
        reader.trouble(
            "first_recorded",
            f"“{said}” may be month first, as row {check.month_first_row} is.",
            "the month in words, or 2025-02-03",
        )
    elif found and check.inspected_on and found > check.inspected_on:
        reader.trouble(
            "first_recorded", f"{found:%d/%m/%Y} is after the inspection.", f"a day up to {check.inspected_on:%d/%m/%Y}"
        )
    return found


def _days(table: Table) -> list[tuple[int, Plain]]:
    if "first_recorded" not in table.places:
        return []
    return [(row.number, bare(table.cell(row, "first_recorded"))) for row in table.rows]


def _month_first_row(table: Table) -> int | None:
    return next((number for number, value in _days(table) if month_first(value)), None)


def _notes_on_days(table: Table) -> list[str]:
    if not swapped_by_program([value for _, value in _days(table)]):
        return []
    head = table.written("first_recorded")
    note = (
        f"Sheet “{table.sheet.name}”: in “{head}” the real dates all have days up to 12 and the others are text. A spreadsheet "
        "program may have swapped day and month. Compare a few with the report."
    )
    return [note]
