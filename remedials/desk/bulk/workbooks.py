"""Workbooks for people: a ZIP with one workbook for each part of the work, a sheet for each kind of row, in readable words.

Rows are streamed from the database into the sheets. Each cell that is text is typed as text, so that nothing in it is ever a
formula; what XML cannot hold is written as ECMA-376, part 1, 22.9.2.19 says (`_x000D_`), which spreadsheet programs read back.
"""

import hashlib
import json
import re
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time
from decimal import Decimal
from functools import partial
from itertools import chain, count, islice
from pathlib import Path
from typing import IO, Any
from uuid import UUID
from zipfile import ZIP_STORED, ZipFile, ZipInfo

from django.db.models import F
from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

from jobsite.people.models import User
from jobsite.refused import Refused
from jobsite.words import LONDON
from remedials.desk.bulk.heads import HEADS
from remedials.desk.bulk.kinds import BOOKS, Kind, kinds, unknown
from remedials.desk.bulk.writing import PIECE, snapshot
from remedials.status.record.history import verbs

AT_ONCE = 2_000
CONTENTS, COLUMNS = "Contents", "Columns"
WHICH_FIELD = "For programs: the field that each column of these sheets shows, as the archive names it."
OF_OTHERS = {
    "account.EmailAddress": "The e-mail address by which each person signs in.",
    "inspections.FactCorrection": "One correction of a published fact from a day on; the latest that holds is in force.",
    "people.SignIn": "What happened at the door, and by which means.",
    "quotes.Quote": "What is offered to one party, in one or several versions, under one number that is never used again.",
    "visits.Plan": "One asking for a plan: which days, whom it may send, how hard it searches.",
}
"""Kinds that say nothing of themselves, or speak to programmers."""
LONGEST = 32_767
"""Characters that a cell holds (Microsoft's published limits of worksheets)."""
MOST_ROWS = 1_048_575
"""Rows of a sheet below its heads (the same)."""
CUT = " … (cut here: a cell holds no more. The archive for programs has all of it.)"
FIRST_DAY = date(1900, 3, 1)
"""Earlier days are text: spreadsheet programs count from 1900 and take it for a leap year."""
ESCAPE = re.compile(r"[\x00-\x08\x0B\x0C\x0D\x0E-\x1F\uFFFE\uFFFF]|_(?=x[0-9A-Fa-f]{4}_)")
UNITS = {
    "a": "A",
    "ohm": "Ω",
    "ka": "kA",
    "mm2": "mm²",
    "kw": "kW",
    "ma": "mA",
    "wh": "Wh",
    "kmh": "km/h",
    "percent": "%",
}
# What a row is called where another points at it.
NAMES: dict[str, tuple[str, ...]] = {
    "people.User": ("name",),
    "people.Instrument": ("name", "serial_number"),
    "premises.Party": ("name",),
    "premises.Site": ("number", "name"),
    "premises.Unit": ("name",),
    "premises.Supply": ("name",),
    "premises.Board": ("designation",),
    "premises.Circuit": ("board__designation", "way", "phase", "designation"),
    "inspections.Inspection": ("number",),
    "inspections.Observation": ("number",),
    "inspections.DangerNotice": ("number",),
    "works.Remedial": ("number",),
    "quotes.Quote": ("number",),
    "quotes.Offer": ("quote__number", "number"),
    "quotes.StandardJob": ("name",),
    "visits.Visit": ("number",),
    "visits.Plan": ("number",),
    "visits.SiteKey": ("tag",),
    "ledger.Document": ("title",),
}
Say = Callable[[Any], Any]


@dataclass
class Made:
    """What came of it."""

    rows: int = 0
    sheets: int = 0
    fingerprint: str = ""


@dataclass(frozen=True)
class Column:
    """A column of a sheet: its head, the field that programs know it by, what is read for it, and how that is said."""

    head: str
    field: str
    reads: tuple[str, ...]
    say: Say


@dataclass(frozen=True)
class Sheet:
    """A sheet as the contents name it; one without rows is not made."""

    name: str
    kind: Kind
    rows: int


def write_workbooks(to: IO[bytes], *, now: datetime) -> Made:
    """Write the ZIP of all workbooks to `to`, as of one instant, without any secret. Raises Refused as `write_archive` does."""
    if odd := unknown():
        raise Refused(f"Nobody has said whether these are taken out: {', '.join(odd)}.")
    made = Made()
    with snapshot(), ZipFile(to, "w", ZIP_STORED) as archive:
        people = dict(User.objects.values_list("pk", "name").iterator())
        for book in BOOKS:
            with tempfile.TemporaryFile() as aside:
                _write_book(aside, [kind for kind in kinds(secrets=False) if kind.book == book], people, made)
                aside.seek(0)
                info = ZipInfo(f"{book}.xlsx", now.timetuple()[:6])
                info.create_system, info.external_attr = 3, 0o600 << 16
                with archive.open(info, "w", force_zip64=True) as out:
                    while piece := aside.read(PIECE):
                        out.write(piece)
    made.fingerprint = _fingerprint(to)
    return made


def _fingerprint(file: IO[bytes]) -> str:
    digest = hashlib.sha256()
    file.seek(0)
    while piece := file.read(PIECE):
        digest.update(piece)
    return digest.hexdigest()


def save_workbooks(path: Path, *, now: datetime) -> Made:
    """Write the ZIP of all workbooks to `path`; there is none before it is whole."""
    half = path.with_name(f"{path.name}.half")
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        half.unlink(missing_ok=True)
        half.touch(mode=0o600)
        with half.open("r+b") as file:
            made = write_workbooks(file, now=now)
        half.rename(path)
    except BaseException:
        half.unlink(missing_ok=True)
        raise
    return made


def _write_book(to: IO[bytes], held: Sequence[Kind], people: dict[UUID, str], made: Made) -> None:
    book = Workbook(write_only=True)
    there: list[Sheet] = []
    for kind in held:
        sheets = list(_write_sheets(book, kind, columns_of(kind, people)))
        made.sheets += len(sheets)
        made.rows += sum(sheet.rows for sheet in sheets)
        there += sheets or [Sheet(kind.sheet, kind, 0)]
    _write_contents(book, there, _write_columns(book, there, people))
    book.save(to)


def _write_sheets(book: Any, kind: Kind, columns: Sequence[Column]) -> Iterator[Sheet]:
    """The rows of one kind: no sheet for none, a second one where the first is full."""
    rows = iter(_rows(kind, columns))
    for number in count(1):
        some = islice(rows, MOST_ROWS)
        if (first := next(some, None)) is None:
            return
        name = kind.sheet if number == 1 else f"{kind.sheet[:26]} ({number})"
        sheet = headed(book, name[:31], [column.head for column in columns])
        written = 0
        for row in chain([first], some):
            sheet.append([cell(sheet, value) for value in row])
            written += 1
        yield Sheet(name[:31], kind, written)


def headed(book: Any, name: str, heads: Sequence[str], *, at: int | None = None) -> Any:
    """A new sheet with its heads, which stay in sight."""
    sheet = book.create_sheet(name, at)
    sheet.freeze_panes = "A2"
    for place, head in enumerate(heads, start=1):
        sheet.column_dimensions[get_column_letter(place)].width = min(40, max(12, len(head) + 2))
    bold = [WriteOnlyCell(sheet, head) for head in heads]
    for one in bold:
        one.font = Font(bold=True)
    sheet.append(bold)
    return sheet


def _write_contents(book: Any, there: Sequence[Sheet], columns: int) -> None:
    """The first sheet: what there is, and what there is none of."""
    sheet = headed(book, CONTENTS, ["Sheet", "What it holds", "Rows"], at=0)
    sheet.column_dimensions["A"].width, sheet.column_dimensions["B"].width = 34, 110
    for one in there:
        sheet.append([cell(sheet, one.name), cell(sheet, holds(one.kind)), one.rows or "none: no sheet"])
    sheet.append([cell(sheet, COLUMNS), cell(sheet, WHICH_FIELD), columns])


def _write_columns(book: Any, there: Sequence[Sheet], people: dict[UUID, str]) -> int:
    """The last sheet: by which name programs, and the archive, know each column. How many there are."""
    sheet = headed(book, COLUMNS, ["Sheet", "Column", "Field"])
    for letter in "ABC":
        sheet.column_dimensions[letter].width = 40
    named = [(one, column) for one in there if one.rows for column in columns_of(one.kind, people)]
    told = [(one.name, column.head, f"{one.kind.label}.{column.field}") for one, column in named]
    for words in told or [("none", "none", "none")]:
        sheet.append([cell(sheet, word) for word in words])
    return len(named)


def holds(kind: Kind) -> str:
    """What a kind of row is, in a sentence."""
    if kind.model._meta.auto_created:
        return "Which belong together: a row for each pair."
    said = " ".join((kind.model.__doc__ or "").split()).replace("`", "")
    return OF_OTHERS.get(kind.label) or f"{said.partition('. ')[0].removesuffix('.')}."


def _rows(kind: Kind, columns: Sequence[Column]) -> Iterator[list[Any]]:
    """What stands in each row of a sheet, streamed."""
    reads = [F(path) for column in columns for path in column.reads]
    order = ("chain", "number") if kind.label == "ledger.Entry" else ("pk",)
    found = kind.model._base_manager.order_by(*order).values_list(*reads)  # noqa: SLF001 - Django documents it
    for row in found.iterator(chunk_size=AT_ONCE):
        at, said = 0, []
        for column in columns:
            values = row[at : at + len(column.reads)]
            at += len(column.reads)
            said.append(column.say(values))
        yield said


# --- columns ----------------------------------------------------------------------------------------------------------


def columns_of(kind: Kind, people: dict[UUID, str]) -> list[Column]:
    """The columns of a kind's sheet: what it says itself, the rows that it points at by name, and last all keys."""
    own: list[Column] = []
    keys: list[Column] = []
    for field in kind.fields:
        if field.is_relation and field.related_model is not None:
            own += _pointing(kind, field)
        if field.primary_key or (field.is_relation and not _is_named(field)):
            keys.append(Column(_key_head(kind, field), field.name, (field.attname,), _one))
        elif not field.is_relation and field.name != "sort":
            own.append(Column(head_of(kind, field), field.name, (field.attname,), _say(kind, field, people)))
    return own + keys


def _is_named(field: Any) -> bool:
    return bool(field.is_relation) and field.related_model._meta.label in NAMES


def _pointing(kind: Kind, field: Any) -> Iterator[Column]:
    names = NAMES.get(field.related_model._meta.label, ())
    if names:
        reads = tuple(f"{field.name}__{name}" for name in names)
        yield Column(head_of(kind, field), field.name, reads, _joined)


def _key_head(kind: Kind, field: Any) -> str:
    return "Key" if field.primary_key and not field.is_relation else f"Key of {head_of(kind, field).lower()}"


def head_of(kind: Kind, field: Any) -> str:
    """A column's head in the words of the pages: "Ze (Ω)", "Recorded by"."""
    if said := HEADS.get(f"{kind.label}.{field.name}") or HEADS.get(field.name):
        return said
    words = str(field.name).split("_")
    unit = UNITS.get(words[-1]) if len(words) > 1 else None
    said = " ".join(words[:-1] if unit else words)
    return f"{said[:1].upper()}{said[1:]}{f' ({unit})' if unit else ''}"


def _joined(values: Sequence[Any]) -> Any:
    if len(values) == 1:
        return values[0]
    return " ".join(str(value) for value in values if value not in (None, ""))


def _one(values: Sequence[Any]) -> Any:
    return _plain(values[0])


def _say(kind: Kind, field: Any, people: dict[UUID, str]) -> Say:
    if kind.label == "ledger.Entry" and field.name == "verb":
        return partial(_chosen, verbs())
    if kind.label == "ledger.Entry" and field.name == "actor":
        return partial(_chosen, people)
    choices = dict(field.flatchoices)
    base = getattr(field, "base_field", None)
    if base is not None and base.flatchoices:
        choices = dict(base.flatchoices)
    return partial(_chosen, choices) if choices else _one


def _chosen(choices: dict[Any, Any], values: Sequence[Any]) -> Any:
    value = values[0]
    if isinstance(value, list):
        return ", ".join(str(_words(choices, one)) for one in value)
    return _plain(_words(choices, value))


def _words(choices: dict[Any, Any], value: Any) -> Any:
    """What a page calls it; before that what the trade does, where that is shorter: "C1: danger present"."""
    words = choices.get(value, value)
    shorter = isinstance(value, str) and value.isupper() and not str(words).startswith(value)
    return f"{value}: {words}" if shorter else words


def _plain(value: Any) -> Any:
    """What a cell takes for a value of a row: text, whole numbers, decimals, days and times as they are."""
    match value:
        case None | "":
            return None
        case bool():
            return "yes" if value else "no"
        case datetime():
            return value.astimezone(LONDON).replace(tzinfo=None) if value.date() >= FIRST_DAY else value.isoformat()
        case date():
            return value if value >= FIRST_DAY else value.isoformat()
        case bytes() | memoryview():
            return bytes(value).hex()
        case list() if all(isinstance(one, str | int) for one in value):
            return ", ".join(map(str, value))
        case list() | dict():
            return json.dumps(value, ensure_ascii=False)
        case int() if abs(value) > 10**15:
            return str(value)  # a spreadsheet counts in binary fractions
        case int() | Decimal() | time() | str():
            return value
    return str(value)


# --- cells ------------------------------------------------------------------------------------------------------------


def cell(sheet: Any, value: Any) -> Any:
    """A cell with `value`; text is typed as text whatever it begins with."""
    if not isinstance(value, str):
        return value
    text = escaped(value)
    if len(text) > LONGEST:
        text = f"{text[: LONGEST - len(CUT)]}{CUT}"
    made = WriteOnlyCell(sheet, text)
    made.data_type = "s"
    return made


def escaped(text: str) -> str:
    """`text` with each character that XML cannot hold, or would alter, as `_xHHHH_`; what looks like that already, too."""
    return ESCAPE.sub(lambda found: f"_x{ord(found[0]):04X}_", text)
