"""Reads XLSX workbooks (ECMA-376) row by row, with what openpyxl's quick reader leaves out: formulas and merged areas."""

from __future__ import annotations

import re
import warnings
import zipfile
from bisect import bisect_left, bisect_right
from io import BytesIO
from typing import Any, cast

import openpyxl
from defusedxml.ElementTree import iterparse
from openpyxl.cell.read_only import EMPTY_CELL
from openpyxl.utils import get_column_letter
from openpyxl.utils.cell import coordinate_to_tuple, range_boundaries

from jobsite.refused import Refused

from .archive import DAMAGED, open_archive
from .limits import LAST_ROW, MOST_COLUMNS, count_row
from .table import CellError, Formula, Merged, Row, Sheet, Value, trimmed

MOST_MERGED = 200_000
Area = tuple[int, int, int, int]
"""First column, first row, last column, last row, counted from 1."""


def read_xlsx(data: bytes) -> list[Sheet]:
    """All sheets of a workbook. Refuses damaged, protected and oversized ones with a sentence."""
    with open_archive(data) as archive:
        try:
            return _sheets(data, archive)
        except Refused:
            raise
        except Exception as error:  # a hostile file makes the library raise nearly anything
            raise Refused(DAMAGED) from error


def _sheets(data: bytes, archive: zipfile.ZipFile) -> list[Sheet]:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # the library warns of drop-down lists and the like, which we don't need
        book = openpyxl.load_workbook(BytesIO(data), read_only=True, data_only=True, keep_links=False)
        try:
            kept = 0
            sheets = []
            for worksheet in book.worksheets:
                sheet, kept = _sheet(worksheet, archive, book.epoch, kept)
                sheets.append(sheet)
            return sheets
        finally:
            book.close()


def _sheet(worksheet: Any, archive: zipfile.ZipFile, day_nought: Any, kept: int) -> tuple[Sheet, int]:
    # openpyxl keeps the member's name to itself; the pinned version is held to it by the tests.
    formulas, areas = extras(archive.read(worksheet._worksheet_path))  # noqa: SLF001
    rows: dict[int, list[Value]] = {}
    # The limits keep a row numbered 10^12 or a cell in column XFD from filling the memory with empty cells.
    for number, cells in enumerate(worksheet.iter_rows(min_row=1, max_row=LAST_ROW, max_col=MOST_COLUMNS), start=1):
        if all(cell is EMPTY_CELL for cell in cells):
            continue
        values = [
            None if cell is EMPTY_CELL else _value(cell, (number, column) in formulas)
            for column, cell in enumerate(cells, start=1)
        ]
        if any(value is not None for value in values):
            kept = count_row(kept)
            rows[number] = values
    _cover(rows, areas)
    notes = ["This sheet is hidden; it was read all the same."] if worksheet.sheet_state != "visible" else []
    return Sheet(worksheet.title, [Row(n, trimmed(v)) for n, v in rows.items()], day_nought, notes), kept


def _value(cell: Any, is_formula: bool) -> Value:
    value = cell.value
    if isinstance(value, str) and not value.strip():
        value = None
    if cell.data_type == "e" and value is not None:
        return CellError(str(value))
    return Formula(value) if is_formula else value


def extras(xml: bytes) -> tuple[set[tuple[int, int]], list[Area]]:
    """Where a sheet's formulas stand (row, column) and its merged areas, from the sheet's own XML.

    The second pass over the XML is spared where a search of the bytes shows that there is nothing to find.
    """
    wide = xml.startswith((b"\xff\xfe", b"\xfe\xff"))
    if not wide and not re.search(rb"<(?:\w+:)?(?:f[\s/>]|mergeCell\b)", xml):
        return set(), []
    formulas: set[tuple[int, int]] = set()
    areas: list[Area] = []
    row = column = 0
    for event, element in iterparse(BytesIO(xml), events=("start", "end")):
        kind = element.tag.rpartition("}")[2]
        if event == "start" and kind == "row":
            row, column = int(element.get("r", row + 1)), 0
        elif event == "start" and kind == "c":
            row, column = _place(element.get("r"), row, column)
        elif event == "end" and kind == "f":
            formulas.add((row, column))
        elif event == "end" and kind == "mergeCell":
            areas.append(cast("Area", range_boundaries(element.get("ref"))))
        if event == "end" and kind in {"row", "mergeCell"}:
            element.clear()
    return formulas, areas


def _place(reference: str | None, row: int, column: int) -> tuple[int, int]:
    return coordinate_to_tuple(reference) if reference else (row, column + 1)


def _cover(rows: dict[int, list[Value]], areas: list[Area]) -> None:
    """Marks every cell of a merged area but its first; an area without a value covers nothing."""
    numbers = sorted(rows)
    covered = 0
    for left, top, right, bottom in areas:
        origin = rows.get(top)
        if origin is None or left > len(origin) or origin[left - 1] is None:
            continue
        for number in numbers[bisect_left(numbers, top) : bisect_right(numbers, bottom)]:
            for column in range(left, min(right, len(rows[number])) + 1):
                covered += 1
                if (number, column) != (top, left):
                    rows[number][column - 1] = Merged(f"{get_column_letter(left)}{top}")
        if covered > MOST_MERGED:
            raise Refused("This workbook merges cells over whole sheets. Unmerge them and send it again.")
