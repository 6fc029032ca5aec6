"""Rows of boards and circuits on their way through a check."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal
from typing import Generic, TypeVar

from .cells import fold
from .circuits import CircuitRow
from .known import KnownBoard, KnownSite
from .rows import RowReader
from .trouble import RefusedRow
from .ways import Way


@dataclass(frozen=True, slots=True)
class FeedAsked:
    """A feed as a board's row words it; `from_key` and `way_key` are the columns that say so."""

    from_key: str
    way_key: str
    said: str
    way: Way | None
    how: str
    on: date | None


@dataclass(frozen=True, slots=True)
class FeedRow:
    """A feed of a board: from a supply by its name, or from a way of a board. Verified where `verified_on` is set."""

    supply: str
    board: str
    way: Way | None
    alternative: bool
    verified_how: str
    verified_on: date | None


@dataclass(slots=True)
class BoardRow:
    """A board as a file has it. Ohms and kiloamps."""

    sheet: str
    row: int
    designation: str
    label_found: str
    place: str
    phases: tuple[str, ...]
    main_switch: str
    main_switch_kind: str
    zdb_ohm: Decimal | None
    fault_current_ka: Decimal | None
    notes: str
    feeds: list[FeedRow] = field(default_factory=list)


Kind = TypeVar("Kind", BoardRow, CircuitRow)


@dataclass(eq=False, slots=True)
class Entry(Generic[Kind]):
    """A row on its way: what was read, what it needs, and its reader, which gathers the troubles."""

    reader: RowReader
    row: Kind
    asked: list[FeedAsked] = field(default_factory=list)
    needs: list[Entry] = field(default_factory=list)


@dataclass
class Plan:
    """All rows of a file, and what is on record."""

    known: KnownSite
    boards: list[Entry[BoardRow]] = field(default_factory=list)
    circuits: list[Entry[CircuitRow]] = field(default_factory=list)
    refused_besides: list[RefusedRow] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.on_record: dict[str, KnownBoard] = {fold(board.name): board for board in self.known.boards}
        self.by_name: dict[str, Entry[BoardRow]] = {}
        self.on_board: dict[str, list[Entry[CircuitRow]]] = defaultdict(list)
        self.taken: dict[str, dict[int, dict[str, Entry[CircuitRow] | None]]] = {}

    def add_board(self, entry: Entry[BoardRow]) -> None:
        """Adds a board; one whose name is taken, in the file or on record, is refused."""
        self.boards.append(entry)
        folded = fold(entry.row.designation)
        if not folded:
            return
        if folded in self.on_record:
            name = self.on_record[folded].name
            entry.reader.trouble(
                "board",
                f"“{name}” is already on record at this site.",
                "leave this row out; its circuits can still be taken in",
            )
        elif folded in self.by_name:
            earlier = self.by_name[folded].row
            entry.reader.trouble(
                "board",
                f"“{entry.row.designation}” is there twice: it is also in {earlier.sheet}, row {earlier.row}.",
                "each board once",
            )
        else:
            self.by_name[folded] = entry

    def add_circuits(self, entries: list[Entry[CircuitRow]]) -> None:
        self.circuits += entries
