"""What checking a file answers: rows that can be taken in, rows that can't and why, and things worth knowing."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any, Generic, TypeVar

Taken = TypeVar("Taken")
Corrections = Mapping[str, Mapping[str, str]]
"""What a person put in place of cells: by the name of the row, then by the key of the column."""
UNKEEPABLE = re.compile("[\0\ud800-\udfff]")
"""What a JSON column of PostgreSQL can't hold."""


def key_of(sheet: str, row: int) -> str:
    """The name of a row: "Circuits, row 5"."""
    return str(keepable(f"{sheet}, row {row}"))


def keepable(value: Any) -> Any:
    """The value with the characters replaced that the database can't hold."""
    if isinstance(value, str):
        return UNKEEPABLE.sub("\N{REPLACEMENT CHARACTER}", value)
    if isinstance(value, list):
        return [keepable(one) for one in value]
    if isinstance(value, dict):
        return {keepable(name): keepable(one) for name, one in value.items()}
    return value


class Unfit(Exception):
    """A cell that can't be used: `wrong` is what is the matter with it, `expected` what would do."""

    def __init__(self, wrong: str, expected: str) -> None:
        super().__init__(wrong)
        self.wrong = wrong
        self.expected = expected


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing wrong in one cell, or in a whole row (`column` is then empty)."""

    sheet: str
    row: int
    column: str
    wrong: str
    expected: str

    @property
    def sentence(self) -> str:
        """The trouble for a person: where, what, and what would do."""
        where = f"{self.sheet}, row {self.row}" + (f", {self.column}" if self.column else "")
        return f"{where}: {self.wrong}" + (f" Expected: {self.expected}" if self.expected else "")


@dataclass(frozen=True, slots=True)
class RefusedRow:
    """A row that can't be taken in, with what stood in it by column head; `keys` are the columns that the heads name."""

    sheet: str
    row: int
    cells: dict[str, str]
    troubles: list[Trouble]
    keys: dict[str, str] = field(default_factory=dict)


@dataclass(slots=True)
class Checked(Generic[Taken]):
    """The answer of a check. Rows appear in the order of the file."""

    accepted: list[Taken] = field(default_factory=list)
    refused: list[RefusedRow] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)

    @property
    def may_be_taken_in(self) -> bool:
        """All or nothing: there is something to take in and no row is refused."""
        return bool(self.accepted) and not self.refused
