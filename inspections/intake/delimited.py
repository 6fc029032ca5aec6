"""Reads comma, semicolon or tab separated text (RFC 4180 for the quoting)."""

from __future__ import annotations

import csv
from collections.abc import Iterator
from io import StringIO
from itertools import islice

from jobsite.refused import Refused

from .limits import MOST_COLUMNS, count_row
from .table import Formula, Row, Sheet, Value, trimmed

BYTE_ORDER_MARKS = ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
NOT_A_SPREADSHEET = "This isn't a spreadsheet: it is neither XLSX nor separated text (CSV)."


def read_delimited(data: bytes, name: str) -> Sheet:
    """One sheet from the text of a CSV file. Refuses what isn't text or has a stray quotation mark."""
    text, notes = decode(data)
    text, delimiter = _said_delimiter(text)
    rows = list(_rows(text, delimiter or sniff(text)))
    return Sheet(name, rows, notes=notes)


def decode(data: bytes) -> tuple[str, list[str]]:
    """The text, and a note where its encoding had to be guessed (Windows-1252, as older programs write)."""
    for mark, encoding in BYTE_ORDER_MARKS:
        if data.startswith(mark):
            return _tidy(data.decode(encoding, errors="replace")), []
    try:
        return _tidy(data.decode("utf-8")), []
    except UnicodeDecodeError:
        text = _tidy(data.decode("cp1252", errors="replace"))
    return text, ["The file doesn't say how its letters are written; it was read as Windows-1252. Check £, °, ² and Ω."]


def _tidy(text: str) -> str:
    odd = sum(1 for letter in text if letter < " " and letter not in "\t\r\n\f\v")
    if "\0" in text or odd > len(text) // 100 or text.count("\ufffd") > len(text) // 20:
        raise Refused(NOT_A_SPREADSHEET)
    return text


def _said_delimiter(text: str) -> tuple[str, str | None]:
    """Some programs write a first line "sep=;" that isn't data; it is blanked, so that row numbers stay."""
    first, _, rest = text.partition("\n")
    said = first.strip().strip('"').casefold()
    if said.startswith("sep=") and len(said) == 5:
        return "\n" + rest, said[4]
    return text, "\t" if said == "sep=" and "\t" in first else None


def sniff(text: str) -> str:
    """The delimiter by which most of the first lines have equally many cells; the comma where nothing tells."""
    return max(",;\t|", key=lambda mark: _evenness(text, mark))


def _evenness(text: str, mark: str) -> tuple[float, int]:
    widths = [len(cells) for cells in islice(_first_records(text, mark), 30) if cells]
    usual = max(set(widths), key=lambda width: (widths.count(width), width), default=1)
    return (widths.count(usual) / len(widths), usual) if usual > 1 else (0.0, 1)


def _first_records(text: str, mark: str) -> Iterator[list[str]]:
    try:
        yield from csv.reader(StringIO(text[:20_000], newline=""), delimiter=mark)
    except csv.Error:
        return


def _rows(text: str, delimiter: str) -> Iterator[Row]:
    reader = csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True)
    kept = number = 0
    try:
        for number, cells in enumerate(reader, start=1):
            if any(cell and not cell.isspace() for cell in cells):
                kept = count_row(kept)
                yield Row(number, trimmed([_value(cell) for cell in cells[:MOST_COLUMNS]]))
    except csv.Error as error:
        raise Refused(
            f"Row {number + 1} can't be read as separated text: a quotation mark is left open or stands in the wrong place, "
            "or a cell is far too long. Mend it in a spreadsheet program and save it again."
        ) from error


def _value(cell: str) -> Value:
    text = cell.strip()
    if text.startswith("=") and len(text) > 1:
        return Formula(None)
    return text or None
