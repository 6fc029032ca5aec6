"""Builds the empty workbooks that people fill in: a sheet for each table, and one that says what each column expects."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import datetime
from io import BytesIO
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

from openpyxl import Workbook
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.worksheet import Worksheet

from .columns import BOARDS, CIRCUITS, OBSERVATIONS
from .heads import HELP_SHEET, Column

SHEETS = {
    "boards": (("Boards", BOARDS), ("Circuits", CIRCUITS)),
    "report": (("Observations", OBSERVATIONS),),
}
"""The sheets of each template, by the kind of file that is taken in."""
AS_TEXT = {"way", "feed_way", "other_feed_way", "item", "board", "fed_from"}
"""Columns formatted as text: else a spreadsheet program makes a date of 5/1."""
MADE = datetime(2000, 1, 1)  # noqa: DTZ001 - any fixed moment, so that the same template has the same bytes
MODIFIED = re.compile(rb"(<dcterms:modified[^>]*>)[^<]*")


def template(kind: str) -> bytes:
    """An empty workbook for `kind`, "boards" or "report", as XLSX."""
    book = Workbook()
    book.remove(book.worksheets[0])
    for title, columns in SHEETS[kind]:
        _heads(book.create_sheet(title), columns)
    _help(book.create_sheet(HELP_SHEET), SHEETS[kind])
    return saved(book)


def saved(book: Workbook) -> bytes:
    """The workbook's bytes, with a fixed date of making: the writer stamps the moment into each part and its own page."""
    book.properties.created = MADE
    stamped, out = BytesIO(), BytesIO()
    book.save(stamped)
    with ZipFile(stamped) as parts, ZipFile(out, "w", ZIP_DEFLATED) as fixed:
        for part in parts.infolist():
            data = MODIFIED.sub(rb"\g<1>2000-01-01T00:00:00Z", parts.read(part))
            fixed.writestr(ZipInfo(part.filename, MADE.timetuple()[:6]), data, ZIP_DEFLATED)
    return out.getvalue()


def _heads(sheet: Worksheet, columns: Sequence[Column]) -> None:
    sheet.freeze_panes = "A2"
    for place, column in enumerate(columns, start=1):
        cell = sheet.cell(1, place, column.head)
        cell.font = Font(bold=True)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        letter = get_column_letter(place)
        sheet.column_dimensions[letter].width = max(12, min(40, len(column.example) + 4))
        if column.key in AS_TEXT:
            sheet.column_dimensions[letter].number_format = "@"


def _help(sheet: Worksheet, tables: Sequence[tuple[str, Sequence[Column]]]) -> None:
    sheet.append(
        ["Sheet", "Heading", "Must be filled", "What is expected below it", "Such as", "Other headings that do as well"]
    )
    for title, columns in tables:
        for column in columns:
            needed = "yes" if column.needed else ""
            sheet.append([title, column.head, needed, column.expected, column.example, ", ".join(column.others)])
    for letter, width in zip("ABCDEF", (14, 28, 14, 60, 28, 80), strict=True):
        sheet.column_dimensions[letter].width = width
    for cell in sheet[1]:
        cell.font = Font(bold=True)
