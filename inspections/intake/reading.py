"""From the bytes of an uploaded file to sheets of rows, whatever the file is."""

from __future__ import annotations

from pathlib import PurePath

from jobsite.refused import Refused

from .archive import is_packed, refuse_by_head
from .delimited import read_delimited
from .heads import HELP_SHEET
from .table import Sheet
from .workbook import read_xlsx


def read_workbook(data: bytes, name: str) -> list[Sheet]:
    """The sheets of an XLSX or CSV file; what the file is decides its content, not its name.

    Raises Refused, and nothing else, with a sentence for the person: not a spreadsheet, empty, too large, too many
    rows, protected, damaged, an older form.
    """
    refuse_by_head(data)
    sheets = read_xlsx(data) if is_packed(data) else [read_delimited(data, PurePath(name).stem[:60] or "Sheet")]
    sheets = [sheet for sheet in sheets if sheet.name != HELP_SHEET]
    if not any(sheet.rows for sheet in sheets):
        raise Refused("This file has no rows with anything in them.")
    return sheets
