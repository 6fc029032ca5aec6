"""Reads the sheets of boards and circuits, and checks them against each other and against what the site has."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from functools import partial
from typing import Any

from jobsite.refused import Refused

from . import cells
from .circuits import CircuitRow, name, read_circuit
from .columns import BOARDS, COMBINED, ONLY_BOARDS_HAVE, ONLY_CIRCUITS_HAVE
from .days import day
from .heads import Table, corrected_by, find_table, notes_on, refuse_missing
from .known import KnownSite
from .plan import BoardRow, Entry, FeedAsked, Plan
from .rows import Remarks, RowReader
from .supply import settle
from .table import Plain, Row, Sheet, Value, as_text
from .trouble import Checked, Corrections, RefusedRow, Unfit, key_of
from .ways import board_phases, way

SWITCH_KINDS = {
    "all": "all", "alllive": "all", "allliveconductors": "all", "lines": "lines", "linesonly": "lines", "line": "lines",
    "contactor": "control", "control": "control", "electroniccontrol": "control", "nomainswitch": "none", "noswitch": "none",
}  # fmt: skip
HOW_VERIFIED = {"traced": "traced", "switched": "switched", "switchedoff": "switched", "read": "read", "told": "told"}


def check_boards(
    sheets: Sequence[Sheet],
    known: KnownSite,
    *,
    left_out: Collection[str] = (),
    corrections: Corrections | None = None,
) -> Checked[BoardRow | CircuitRow]:
    """Which rows of boards and circuits can be taken in at a site, and what is wrong with the others.

    Raises Refused where no sheet has the needed columns. A row that needs a refused row is refused with it.
    `left_out` names the rows ("Circuits, row 5") that a person decided against: they count as refused. `corrections` are
    what a person put in place of cells.
    """
    remarks = Remarks()
    plan = Plan(known)
    notes: list[str] = []
    found = [table_of(sheet, notes) for sheet in sheets]
    tables = [corrected_by(table, corrections or {}) for table in found if table]
    if not tables:
        raise Refused("No sheet of this file has the column heads of boards or circuits. The template shows them.")
    for table in tables:
        notes += notes_on(table)
        _read_boards(table, plan, remarks)
    for table in tables:
        if is_of_circuits(table):
            plan.add_circuits([_circuit(table, row, remarks) for row in table.rows])
    entries: list[Entry[Any]] = [*plan.boards, *plan.circuits]
    for entry in entries:
        if key_of(entry.row.sheet, entry.row.row) in left_out:
            entry.reader.leave_out()
    settle(plan)
    return _answer(plan, [sheet.name for sheet in sheets], notes + remarks.notes())


def table_of(sheet: Sheet, notes: list[str]) -> Table | None:
    """The table of boards or circuits in a sheet; None, with a note, where there is none."""
    combined, boards = find_table(sheet, COMBINED), find_table(sheet, BOARDS)
    table = combined if combined and _looks_like_circuits(combined, boards) else boards
    if table is None or ("board" not in table.places and not is_of_circuits(table)):
        if sheet.rows:
            notes.append(f"Sheet “{sheet.name}” has no column heads of boards or circuits and wasn't read.")
        return None
    refuse_missing(table)
    return table


def _looks_like_circuits(combined: Table, boards: Table | None) -> bool:
    """A sheet of boards may have a column "Way" too, for the feeding way: what else there is decides."""
    has = set(combined.places)
    of_circuits = has & (ONLY_CIRCUITS_HAVE | {"designation"})
    if "way" not in has:
        return len(of_circuits) > 1 and len(has) > len(boards.places if boards else ())
    return bool(of_circuits) or not has & ONLY_BOARDS_HAVE


def is_of_circuits(table: Table) -> bool:
    """Whether a table's rows are circuits (with or without what is known of their boards beside them)."""
    return table.columns is COMBINED


def _circuit(table: Table, row: Row, remarks: Remarks) -> Entry[CircuitRow]:
    reader = RowReader(table, row, remarks)
    return Entry(reader, read_circuit(reader))


def _read_boards(table: Table, plan: Plan, remarks: Remarks) -> None:
    if not is_of_circuits(table):
        rows = table.rows
    elif table.places.keys() & ONLY_BOARDS_HAVE:
        rows = _boards_beside_circuits(table, plan, remarks)
    else:
        return
    for row in rows:
        reader = RowReader(table, row, remarks)
        plan.add_board(_board(reader))


@dataclass
class _Gathered:
    """What the rows of one board say of it: the first that says a thing counts."""

    first: Row
    cells: list[Value] = field(default_factory=list)
    said_in: dict[str, int] = field(default_factory=dict)


def _boards_beside_circuits(table: Table, plan: Plan, remarks: Remarks) -> list[Row]:
    """One row for each board of a combined sheet. Rows that contradict an earlier one are refused."""
    boards: dict[str, _Gathered] = {}
    keys = [key for key in table.places if key in ONLY_BOARDS_HAVE]
    for row in table.rows:
        reader = RowReader(table, row, remarks)
        folded = cells.fold(as_text(reader.value("board")))
        if not folded:
            continue
        board = boards.setdefault(folded, _Gathered(row, list(row.cells)))
        for key in filter(reader.has, keys):
            _gather(board, key, reader)
        if reader.troubles:
            plan.refused_besides.append(reader.refused())
    return [Row(board.first.number, tuple(board.cells)) for board in boards.values()]


def _gather(board: _Gathered, key: str, reader: RowReader) -> None:
    place = reader.table.places[key]
    if key not in board.said_in:
        board.said_in[key] = reader.row.number
        board.cells += [None] * (place + 1 - len(board.cells))
        board.cells[place] = reader.value(key)
    elif cells.fold(as_text(board.cells[place])) != cells.fold(as_text(reader.value(key))):
        row = board.said_in[key]
        reader.trouble(
            key,
            f"“{as_text(reader.value(key))}” contradicts row {row}, which says “{as_text(board.cells[place])}”.",
            "the same in all rows of a board",
        )


def _board(reader: RowReader) -> Entry[BoardRow]:
    label_key = "board_label"
    board = BoardRow(
        sheet=reader.sheet,
        row=reader.row.number,
        designation=reader.read("board", name, ""),
        label_found=reader.read(label_key, partial(cells.line, most=200), ""),
        place=reader.read("board_place", partial(cells.line, most=200), ""),
        phases=reader.read("board_phases", board_phases, ()),
        main_switch=reader.read("main_switch", partial(cells.line, most=200), ""),
        main_switch_kind=reader.read("main_switch_kind", switch_kind, ""),
        zdb_ohm=_amount(reader, "zdb_ohm", cells.OHMS),
        fault_current_ka=_amount(reader, "fault_current_ka", cells.KILOAMPS),
        notes=reader.read("board_notes", partial(cells.text, most=2000), ""),
    )
    how, on = _verified(reader)
    entry = Entry(reader, board)
    entry.asked = _feed(reader, "fed_from", "feed_way", how, on) + _feed(
        reader, "other_feed", "other_feed_way", "", None
    )
    return entry


def _amount(reader: RowReader, key: str, measure: cells.Measure) -> Decimal | None:
    return reader.read(key, partial(cells.quantity, measure=measure), None)


def _verified(reader: RowReader) -> tuple[str, date | None]:
    how = reader.read("feed_verified", how_verified, "")
    on = reader.read("feed_verified_on", partial(day, day_nought=reader.table.sheet.day_nought), None)
    if how and on is None and not reader.has("feed_verified_on"):
        reader.trouble(
            "feed_verified_on", "is empty, though the feed is said to be verified.", "the day on which it was verified"
        )
    return how, on


def switch_kind(value: Plain) -> str:
    """What a main switch disconnects; only what is said: nothing is read out of its poles or its name."""
    said = cells.fold(as_text(value))
    if said not in SWITCH_KINDS:
        raise Unfit(f"“{as_text(value)}” doesn't say what it disconnects.", "all, lines, contactor, or no main switch")
    return SWITCH_KINDS[said]


def how_verified(value: Plain) -> str:
    """traced, switched, read or told; empty for a feed that is only believed."""
    said = cells.fold(as_text(value))
    if said in {"no", "believed", "notverified", "unverified", "false"}:
        return ""
    if said not in HOW_VERIFIED:
        raise Unfit(
            f"“{as_text(value)}” doesn't say how it was verified.",
            "traced, switched, read or told; nothing where it is only believed",
        )
    return HOW_VERIFIED[said]


def _feed(reader: RowReader, from_key: str, way_key: str, how: str, on: date | None) -> list[FeedAsked]:
    said = reader.read(from_key, partial(cells.line, most=120), "")
    if not said:
        if reader.has(way_key):
            reader.trouble(from_key, "is empty, though a feeding way is given.", "the board that has that way")
        return []
    return [FeedAsked(from_key, way_key, said, reader.read(way_key, way, None), how, on)]


def _answer(plan: Plan, sheets: list[str], notes: list[str]) -> Checked[BoardRow | CircuitRow]:
    order = {sheet: place for place, sheet in enumerate(sheets)}
    entries: list[Entry[Any]] = sorted(
        [*plan.boards, *plan.circuits], key=lambda entry: (order[entry.row.sheet], entry.row.row)
    )
    refused: dict[tuple[str, int], RefusedRow] = {}
    for row in [*plan.refused_besides, *(entry.reader.refused() for entry in entries if entry.reader.troubles)]:
        earlier = refused.setdefault((row.sheet, row.row), row)
        if earlier is not row:
            earlier.troubles.extend(trouble for trouble in row.troubles if trouble not in earlier.troubles)
    accepted = [entry.row for entry in entries if (entry.row.sheet, entry.row.row) not in refused]
    return Checked(accepted, sorted(refused.values(), key=lambda row: (order[row.sheet], row.row)), notes)
