"""A list as a file: CSV, or a workbook of Office Open XML, with the same heads and rows as on the page."""

import csv
import io
import re
from collections.abc import Iterable, Sequence
from typing import Any

from django.http import HttpRequest, HttpResponse
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.utils import get_column_letter

from jobsite.ledger.files import read_file
from jobsite.ledger.models import StoredFile
from jobsite.ledger.photographs import small

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
# Should a browser open it all the same: as a page of nobody, that loads, runs and sends nothing.
SANDBOX = "sandbox; default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
KEEP_A_DAY = "private, max-age=86400, immutable"
WIDEST = 60  # letters: what is longer is cut at the next cell, or read above
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r")


def as_file(kind: str, name: str, heads: Sequence[str], rows: Iterable[Sequence[Any]]) -> HttpResponse:
    """`rows` below `heads` as the file NAME.csv or NAME.xlsx. `kind` is "csv" or "xlsx"; else ValueError.

    Cells may be text, int, Decimal, date or None. Text is never a formula for the program that opens it:
    in the workbook it is typed as text, in CSV a leading sign gets an apostrophe (OWASP, "CSV Injection").
    """
    makers = {"csv": (_csv, "text/csv; charset=utf-8"), "xlsx": (_xlsx, XLSX)}
    if kind not in makers:
        raise ValueError(f"no file of kind {kind!r}")
    make, content_type = makers[kind]
    stem = _stem(name) or "list"
    response = HttpResponse(make(heads, rows), content_type=content_type)
    response["Content-Disposition"] = f'attachment; filename="{stem}.{kind}"'
    return response


def _csv(heads: Sequence[str], rows: Iterable[Sequence[Any]]) -> bytes:
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(heads)
    writer.writerows([_harmless(cell) for cell in row] for row in rows)
    return out.getvalue().encode("utf-8-sig")  # with the mark, office programs read it as UTF-8


def _harmless(cell: Any) -> Any:
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA_STARTS) else cell


def _xlsx(heads: Sequence[str], rows: Iterable[Sequence[Any]]) -> bytes:
    book = Workbook(write_only=True)
    sheet = book.create_sheet("List")
    sheet.freeze_panes = "A2"
    rows = list(rows)
    for at, column in enumerate(zip(heads, *rows, strict=False), start=1):
        longest = max(len(str(cell)) for cell in column if cell is not None)
        sheet.column_dimensions[get_column_letter(at)].width = min(longest + 2, WIDEST)
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(heads))}{len(rows) + 1}"
    sheet.append([text_cell(sheet, head) for head in heads])
    for row in rows:
        sheet.append([text_cell(sheet, cell) if isinstance(cell, str) else cell for cell in row])
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def text_cell(sheet: Any, text: str) -> Any:
    """A cell that is text whatever it begins with, without the control characters that XML forbids."""
    cell = WriteOnlyCell(sheet, ILLEGAL_CHARACTERS_RE.sub("", str(text)))
    cell.data_type = "s"
    return cell


def as_pdf(data: bytes, name: str) -> HttpResponse:
    """A PDF of our own making as the file NAME.pdf, shown by the browser where it can.

    Kept by no cache: whoever uses the computer next must not find it there.
    """
    response = HttpResponse(data, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{_stem(name) or "document"}.pdf"'
    response["Cache-Control"] = "private, no-store"
    response["X-Content-Type-Options"] = "nosniff"
    return response


def as_received(data: bytes, name: str) -> HttpResponse:
    """What somebody sent us, byte for byte, as the file `name`: always a download, of no type that a browser would run."""
    stem, dot, ending = name.rpartition(".")
    safe = f"{_stem(stem) or 'file'}.{_stem(ending)[:10] or 'bin'}" if dot else f"{_stem(name) or 'file'}.bin"
    response = HttpResponse(data, content_type="application/octet-stream")
    response["Content-Disposition"] = f'attachment; filename="{safe}"'
    response["Cache-Control"] = "private, no-store"
    response["X-Content-Type-Options"] = "nosniff"
    response["Content-Security-Policy"] = SANDBOX
    return response


def as_picture(request: HttpRequest, stored: StoredFile, *, keep: str = KEEP_A_DAY) -> HttpResponse:
    """The cleaned photograph `stored`, or with `?small` the one for phones: at most 800 pixels a side, about 70 kB.

    Its content never changes, so that a browser may keep it for itself. `keep`: what its Cache-Control says instead.
    """
    data = small(stored) if "small" in request.GET else read_file(stored)
    return HttpResponse(data, content_type="image/jpeg", headers={"Cache-Control": keep})


def _stem(name: str) -> str:
    """A file's name of plain letters and digits."""
    return re.sub(r"[^A-Za-z0-9]+", "-", name).strip("-").lower()[:100]
