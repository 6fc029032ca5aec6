"""Small workbooks for the tests of intake."""

import zipfile
from collections.abc import Sequence
from io import BytesIO

from openpyxl import Workbook

from inspections.intake.known import KnownBoard, KnownSite
from inspections.intake.table import Row, Sheet
from inspections.intake.ways import Way

OBSERVATION_HEADS = ("Item", "Code", "Observation", "Board", "Way", "First recorded")
BOARD_HEADS = ("Board", "Phases", "Fed from", "From way")
CIRCUIT_HEADS = ("Board", "Way", "Designation", "Device")
SITE = KnownSite((
    KnownBoard("Main intake", ways=frozenset({Way(1, "3"), Way(2, "L1"), Way(2, "L2"), Way(3, "L3")})),
    KnownBoard("Café", ("L3",), frozenset({Way(1, "L3")})),
))  # fmt: skip


def workbook(*rows: Sequence[object], title: str = "Sheet", merge: Sequence[str] = ()) -> bytes:
    """An XLSX workbook of one sheet."""
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = title
    for row in rows:
        sheet.append(list(row))
    for area in merge:
        sheet.merge_cells(area)
    return saved(book)


def saved(book: Workbook) -> bytes:
    out = BytesIO()
    book.save(out)
    return out.getvalue()


def changed(data: bytes, member: str, old: str, new: str) -> bytes:
    """The archive with text replaced in one member."""
    out = BytesIO()
    with zipfile.ZipFile(BytesIO(data)) as archive, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as copy:
        for name in archive.namelist():
            content = archive.read(name)
            if name == member:
                assert old.encode() in content
                content = content.replace(old.encode(), new.encode())
            copy.writestr(name, content)
    return out.getvalue()


def sheet(*rows: Sequence[object], name: str = "Sheet") -> Sheet:
    """A sheet as reading gives it."""
    return Sheet(name, [Row(number, tuple(cells)) for number, cells in enumerate(rows, start=1)])
