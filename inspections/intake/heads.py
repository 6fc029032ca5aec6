"""The columns that are read, and the heads by which they are known. This one table feeds matching, templates and docs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cache

from jobsite.refused import Refused

from .cells import plain_head
from .table import Row, Sheet, Value, as_text
from .trouble import Corrections, key_of

HELP_SHEET = "What is expected"
"""The sheet of our templates that explains the others; it is left out of account."""
HEAD_ROWS = 20
"""The column heads stand within this many rows that aren't empty."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column: the head that our templates use, other heads taken for it, and what is expected below it."""

    key: str
    head: str
    expected: str
    needed: bool = False
    others: tuple[str, ...] = ()
    example: str = ""

    @property
    def heads(self) -> tuple[str, ...]:
        return (self.head, *self.others)


@dataclass(frozen=True, slots=True)
class Table:
    """A sheet in which the column heads were found. `places` says where each column stands, counted from 0.

    `corrected` holds, by the number of a row and the key of a column, what a person here put in a cell's place.
    """

    sheet: Sheet
    columns: tuple[Column, ...]
    heads: Row
    places: dict[str, int]
    corrected: Mapping[int, Mapping[str, str]] = field(default_factory=dict)

    @property
    def rows(self) -> list[Row]:
        """The rows below the heads; a repeated row of heads (long prints have them) isn't one."""
        return [row for row in self.sheet.rows if row.number > self.heads.number and row.cells != self.heads.cells]

    def cell(self, row: Row, key: str) -> Value:
        """The cell under a column as it counts: corrected, or as the file has it; nothing where the file has none."""
        if row.number in self.corrected and key in self.corrected[row.number]:
            return self.corrected[row.number][key] or None
        return self.in_file(row, key)

    def in_file(self, row: Row, key: str) -> Value:
        """The cell under a column as the file has it; nothing where the column is missing or the row is shorter."""
        place = self.places.get(key)
        return row.cells[place] if place is not None and place < len(row.cells) else None

    def written(self, key: str) -> str:
        """The head of a column as the file has it, or as ours has it where the file lacks the column."""
        if key in self.places:
            return as_text(self.heads.cells[self.places[key]])
        return next(column.head for column in self.columns if column.key == key)

    @property
    def unread(self) -> list[tuple[str, str]]:
        """Heads that aren't read, each with the head that was taken in its stead, empty where it isn't known at all."""
        left = [cell for place, cell in enumerate(self.heads.cells) if place not in self.places.values()]
        heads = dict.fromkeys(filter(None, map(as_text, left)))
        return [(head, next((self.written(key) for key in _fitting(head, self.columns)), "")) for head in heads]


def find_table(sheet: Sheet, columns: tuple[Column, ...]) -> Table | None:
    """The table of a sheet whose heads fit `columns` best, or None where fewer than two of them are found.

    Raises Refused where two columns have the same head, and it is one that is needed to tell them apart.
    """
    best = max(sheet.rows[:HEAD_ROWS], key=lambda row: len(match(row, columns)), default=None)
    if best is None or len(match(best, columns)) < 2:
        return None
    table = Table(sheet, columns, best, match(best, columns))
    for head, instead in table.unread:
        if instead and plain_head(head) == plain_head(instead):
            raise Refused(f"Sheet “{sheet.name}”: two columns have the head “{instead}”. Rename or remove one of them.")
    return table


def corrected_by(table: Table, corrections: Corrections) -> Table:
    """The table with what was corrected in its rows; `corrections` are by the name of the row ("Circuits, row 5")."""
    if not corrections:
        return table
    rows = {row.number: corrections.get(key_of(table.sheet.name, row.number)) for row in table.rows}
    return replace(table, corrected={number: cells for number, cells in rows.items() if cells})


def match(row: Row, columns: tuple[Column, ...]) -> dict[str, int]:
    """Where in a row each column's head stands, counted from 0.

    A head that only one column answers to is placed before one that several do; of two heads for one column, the one
    that its list names first wins.
    """
    fits = []
    for place, cell in enumerate(row.cells):
        keys = _fitting(as_text(cell), columns)
        fits += [(len(keys), rank, place, key) for key, rank in keys.items()]
    places: dict[str, int] = {}
    for _, _, place, key in sorted(fits):
        if key not in places and place not in places.values():
            places[key] = place
    return places


def _fitting(head: str, columns: tuple[Column, ...]) -> dict[str, int]:
    """The columns that answer to a head, each with the head's rank in its list."""
    for said in (plain_head(head), plain_head(head, without_brackets=True)):
        if said and (found := {column.key: _ranks(column)[said] for column in columns if said in _ranks(column)}):
            return found
    return {}


@cache
def _ranks(column: Column) -> dict[str, int]:
    return {plain_head(head): rank for rank, head in reversed(list(enumerate(column.heads)))}


def refuse_missing(table: Table) -> None:
    """Refuses a table that lacks a needed column, naming all that it lacks in one sentence."""
    missing = [column for column in table.columns if column.needed and column.key not in table.places]
    if missing:
        heads = " and ".join(f"“{column.head}”" for column in missing)
        raise Refused(
            f"Sheet “{table.sheet.name}” has no column {heads}. The template shows the heads, and which others are taken."
        )


def notes_on(table: Table) -> list[str]:
    """What a person should know of how a table was read: columns and rows left unread, a hidden sheet."""
    start = f"Sheet “{table.sheet.name}”: "
    notes = [start + note for note in table.sheet.notes]
    if unknown := [head for head, instead in table.unread if not instead]:
        notes.append(
            f"{start}these columns aren't known and weren't read: {', '.join(f'“{head}”' for head in unknown)}."
        )
    notes += [
        f"{start}the column “{head}” wasn't read, because “{instead}” stands for the same."
        for head, instead in table.unread
        if instead
    ]
    if any(row.number < table.heads.number for row in table.sheet.rows):
        notes.append(f"{start}what stands above the column heads in row {table.heads.number} wasn't read.")
    return notes
