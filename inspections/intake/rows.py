"""Reads one row of a table cell by cell, and gathers what is wrong with it and what is worth noting."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable
from typing import TypeVar

from .cells import is_nothing
from .heads import Column, Table
from .table import CellError, Formula, Merged, Plain, Row, Value, as_text, bare
from .trouble import RefusedRow, Trouble, Unfit

Read = TypeVar("Read")
Fallback = TypeVar("Fallback")
MOST_SHOWN = 2_000
LEFT_OUT = "is left out, as somebody here decided."


class Remarks:
    """Notes on many rows, one sentence for each kind, with the rows it is about."""

    def __init__(self) -> None:
        self._rows: dict[tuple[str, str], list[int]] = defaultdict(list)

    def add(self, sheet: str, row: int, sentence: str) -> None:
        self._rows[sheet, sentence].append(row)

    def notes(self) -> list[str]:
        """“Sheet “Circuits”, rows 4 and 9: …”"""
        return [f"Sheet “{sheet}”, {rows_in_words(rows)}: {said}" for (sheet, said), rows in self._rows.items()]


def rows_in_words(rows: list[int], most: int = 8) -> str:
    """“row 4”, “rows 4, 5 and 9”, “rows 4, 5, … and 12 more”."""
    if len(rows) == 1:
        return f"row {rows[0]}"
    if len(rows) > most:
        return f"rows {', '.join(map(str, rows[:most]))} and {len(rows) - most} more"
    return f"rows {', '.join(map(str, rows[:-1]))} and {rows[-1]}"


class RowReader:
    """One row under a table's heads. `troubles` is empty as long as the row can be taken in."""

    def __init__(self, table: Table, row: Row, remarks: Remarks) -> None:
        self.table = table
        self.row = row
        self.remarks = remarks
        self.troubles: list[Trouble] = []

    @property
    def sheet(self) -> str:
        return self.table.sheet.name

    def value(self, key: str) -> Value:
        """The cell under a column, as it counts."""
        return self.table.cell(self.row, key)

    def has(self, key: str) -> bool:
        """Whether the cell says anything."""
        return not is_nothing(bare(self.value(key)))

    def read(self, key: str, parse: Callable[[Plain], Read], otherwise: Fallback) -> Read | Fallback:
        """What `parse` makes of the cell; `otherwise` where it is empty or unfit, an unfit cell being noted as trouble."""
        column = next(column for column in self.table.columns if column.key == key)
        try:
            plain = self._usable(self.value(key), column)
            if is_nothing(plain):
                if column.needed:
                    raise Unfit(
                        "is empty." if not as_text(plain) else f"“{as_text(plain)}” says nothing.", column.expected
                    )
                return otherwise
            return parse(plain)
        except Unfit as unfit:
            self.trouble(key, unfit.wrong, unfit.expected)
            return otherwise

    def _usable(self, value: Value, column: Column) -> Plain:
        if isinstance(value, CellError):
            raise Unfit(f"shows the error {value.shown}.", column.expected)
        if isinstance(value, Merged):
            self._refuse_covered(value, column)
        if isinstance(value, Formula):
            if value.value is None:
                raise Unfit("is a formula without a stored value.", "the value itself: paste it in the formula's place")
            if isinstance(value.value, str) and value.value.startswith("#"):
                raise Unfit(f"is a formula that shows {value.value}.", column.expected)
            self.note(
                f"“{self.table.written(column.key)}” is a formula; the value it showed when last saved was taken."
            )
        return bare(value)

    def _refuse_covered(self, value: Merged, column: Column) -> None:
        if column.needed:
            raise Unfit(
                f"belongs to the merged cell {value.first}, whose value counts for its first row only.",
                "unmerge the cell and write its value in each row",
            )
        self.note(f"“{self.table.written(column.key)}” belongs to a merged cell and counts as empty here.")

    def trouble(self, key: str, wrong: str, expected: str = "") -> None:
        """Records that a cell (or, with an empty key, the row) can't be taken in."""
        head = self.table.written(key) if key else ""
        self.troubles.append(Trouble(self.sheet, self.row.number, head, wrong, expected))

    def leave_out(self) -> None:
        """Records that a person decided against this row; what needs it is then refused with it."""
        self.troubles.append(Trouble(self.sheet, self.row.number, "", LEFT_OUT, ""))

    @property
    def left_out(self) -> bool:
        """Whether a person decided against this row."""
        return any(trouble.wrong == LEFT_OUT for trouble in self.troubles)

    def note(self, sentence: str) -> None:
        """Records something worth knowing of this row."""
        self.remarks.add(self.sheet, self.row.number, sentence)

    def refused(self) -> RefusedRow:
        """The row with its troubles and what stood in the columns that are read."""
        places = dict(self.table.places) | dict.fromkeys(self.table.corrected.get(self.row.number, {}), 0)
        cells = {self.table.written(key): as_text(self.value(key))[:MOST_SHOWN] for key in places}
        order = {self.table.written(key): place for key, place in self.table.places.items()}
        troubles = sorted(self.troubles, key=lambda trouble: order.get(trouble.column, len(order)))
        missing = {self.table.written(column.key): column.key for column in self.table.columns}
        return RefusedRow(
            self.sheet, self.row.number, cells, troubles, missing | {self.table.written(key): key for key in places}
        )
