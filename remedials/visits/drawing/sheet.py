"""What is drawn: values only, with every word ready."""

from collections.abc import Mapping
from dataclasses import dataclass, field


@dataclass(frozen=True)
class Block:
    """A visit, or a proposal of the planner (`proposed`), on one day of one engineer. Minutes of that day."""

    key: str
    start: int
    end: int
    times: str  # "09:00–11:00"
    site: str
    words: str  # all of it in a sentence: the title and the name for screen readers
    href: str
    code: str = ""
    held: bool = False  # made safe, still open
    off: bool = False  # an outage goes with it
    earlier: bool = False
    later: bool = False
    proposed: bool = False
    moves: Mapping[str, str] | None = None  # what the moving needs, by data-name; None: it cannot be moved here


@dataclass(frozen=True)
class Drive:
    """Driving of `minutes` between visits, from `start` at the earliest up to `end`; `short`: there is less time than that."""

    start: int
    end: int
    minutes: int
    short: bool
    words: str


@dataclass(frozen=True)
class Gap:
    """An empty stretch of somebody's hours, and where to ask what fits there."""

    start: int
    end: int
    href: str
    words: str


@dataclass(frozen=True)
class Cell:
    """One engineer's day."""

    engineer: str
    day: str  # 2026-02-03
    label: str  # "Edwin Wireman, Tue 3 Feb"
    works: tuple[int, int] | None = None  # from when until when, None: not at work
    away: str = ""  # "leave", "bank holiday: Good Friday", "not a working day"
    blocks: tuple[Block, ...] = ()
    drives: tuple[Drive, ...] = ()
    gaps: tuple[Gap, ...] = ()


@dataclass(frozen=True)
class Sheet:
    """The whole drawing: `rows` are the names, `columns` the heads of the days, with a note such as a bank holiday."""

    title: str
    description: str
    rows: tuple[str, ...]
    columns: tuple[tuple[str, str], ...]
    cells: tuple[tuple[Cell, ...], ...] = field(default=())  # by row, then by column
    today: int | None = None  # which column is today
