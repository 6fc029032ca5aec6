"""A figure as a table of plain values: the page shows it in words, a file holds the same heads and rows.

Where a cell is empty on the page it is empty in the file. Percent are whole numbers, sums are pounds.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Any

from jobsite.words import money

COUNT, POUNDS, PERCENT, TEXT = "count", "pounds", "percent", "text"
UNITS = {POUNDS: ", £", PERCENT: ", %"}


@dataclass(frozen=True)
class Column:
    """One column: its head, and what its values are."""

    head: str
    kind: str = COUNT


@dataclass(frozen=True)
class Table:
    """A figure. `says`: what is counted and how, a paragraph each. The last `totals` rows are sums. `empty`: said of no row. `drawn_as`: how its
    drawings are to be read.

    `folded`: too long for a page, its numbers are what a drawing shows: only as a file.
    """

    key: str
    title: str
    columns: tuple[Column, ...]
    rows: tuple[tuple[Any, ...], ...]
    empty: str
    says: tuple[str, ...] = ()
    totals: int = 0
    drawings: Sequence[Any] = field(default=())
    drawn_as: str = ""
    folded: bool = False

    @property
    def heads(self) -> list[str]:
        """The heads for a file."""
        return [column.head + UNITS.get(column.kind, "") for column in self.columns]


def shown(table: Table) -> dict[str, Any]:
    """`table` in ready strings."""
    sums = len(table.rows) - table.totals
    return {
        "key": table.key,
        "title": table.title,
        "says": table.says,
        "heads": [(column.head, column.kind != TEXT) for column in table.columns],
        "rows": [_row(table, row, total=at >= sums) for at, row in enumerate(table.rows)],
        "drawings": table.drawings,
        "drawn_as": table.drawn_as if table.drawings else "",
        "empty": table.empty,
        "folded": table.folded,
        "beside": len(table.drawings) == 1 and bool(table.rows),
    }


def _row(table: Table, row: tuple[Any, ...], *, total: bool) -> dict[str, Any]:
    cells = [
        {"head": column.head, "text": in_words(value, column.kind), "num": column.kind != TEXT}
        for column, value in zip(table.columns, row, strict=True)
    ]
    return {"head": cells[0], "cells": cells[1:], "total": total}


def in_words(value: Any, kind: str) -> str:
    """A cell in words; "" for None."""
    if value is None:
        return ""
    if kind == POUNDS:
        return money(value)
    return f"{value} %" if kind == PERCENT else f"{value:,}" if kind == COUNT else str(value)
