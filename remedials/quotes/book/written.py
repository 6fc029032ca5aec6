"""Writes a price book as a workbook of two sheets."""

from collections.abc import Iterable
from io import BytesIO
from typing import Any

from openpyxl import Workbook

from jobsite.downloads import text_cell
from remedials.quotes.book.columns import HEADS, ITEMS, JOBS
from remedials.quotes.operations.book import Job


def written(jobs: Iterable[tuple[Job, bool]]) -> bytes:
    """The workbook of `jobs`, each with whether it is retired. Text is text there, whatever it begins with."""
    book = Workbook(write_only=True)
    sheets = {name: book.create_sheet(name) for name in (JOBS, ITEMS)}
    for name, sheet in sheets.items():
        sheet.freeze_panes = "A2"
        _row(sheet, HEADS[name].values())
    for job, retired in jobs:
        _row(
            sheets[JOBS],
            [
                job.name,
                job.plain,
                job.minutes,
                job.crew,
                job.skill,
                "; ".join(job.retests),
                job.certificate_kind,
                str(job.treatment),
                "yes" if retired else "",
            ],
        )
        for one in job.items:
            cells = [job.name, str(one.kind), one.what, one.quantity, one.unit, one.cost_each, one.markup_percent]
            _row(sheets[ITEMS], [*cells, one.supplier, one.reference])
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def _row(sheet: Any, cells: Iterable[Any]) -> None:
    sheet.append([text_cell(sheet, cell) if isinstance(cell, str) else cell for cell in cells])
