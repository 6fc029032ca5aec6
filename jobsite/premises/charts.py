"""What a circuit chart and a sheet of labels are laid out by: ways in order with their gaps, sizes in millimetres. Pure."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import ceil

THREE = "3"
EDGE_MM = 5  # what most printers leave white
A4, A5 = "a4", "a5"
SIDES_MM = {A4: (210, 297), A5: (148, 210)}  # ISO 216
SIZES_PT = (11, 10, 9, 8, 7)  # of type, the largest that fits first; less cannot be read on a door
MM_OF_PT = 0.3528
# How chart.typ lies, in points or in sizes of its type; a page that holds one row less than foretold is no harm.
MARGINS_PT, BESIDE_PT = 94, 85
CODE_PT = 76  # the QR code, below it two lines
LINE, ROW_PT = 1.25, 6.5
WHAT, BESIDES = 0.33, 0.24  # shares of the width
LETTER = 0.5


@dataclass(frozen=True)
class Layout:
    """How a chart lies on its paper: turned to landscape or not, and the size of its type in points."""

    paper: str
    flipped: bool
    size_pt: int


@dataclass(frozen=True)
class Gap:
    """Places of which nothing is recorded: ways `first` to `last`, or one phase of one way."""

    first: int
    last: int
    phase: str = ""

    @property
    def name(self) -> str:
        """As it stands in the chart: "3", "3–8", "5L2"."""
        return f"{self.first}{self.phase}" if self.first == self.last else f"{self.first}\u2013{self.last}"


def gaps(ways: Iterable[tuple[int, str]], phases: Sequence[str]) -> list[Gap]:
    """The places before the last way of which nothing is recorded.

    `ways` as (way, phase), phase "3" for one that takes all. With a single phase every number is a place; with
    several, a number with some of its phases lacks the others.
    """
    taken: dict[int, set[str]] = {}
    for way, phase in ways:
        taken.setdefault(way, set()).add(phase)
    found: list[Gap] = []
    before = 0
    for way in sorted(taken):
        if way > before + 1:
            found.append(Gap(before + 1, way - 1))
        if len(phases) > 1 and THREE not in taken[way]:
            found += [Gap(way, way, phase) for phase in phases if phase not in taken[way]]
        before = way
    return found


def layout_for(rows: Sequence[tuple[str, str]], *, paper: str, turned: bool | None, facts: int, sources: int) -> Layout:
    """The layout in which `rows` (what it supplies, what stands besides) go on one page in the largest type; else the
    smallest type, upright unless turned is asked for.

    `turned`: landscape or portrait as asked for; None: as fits. `facts` and `sources`: how many stand above the table.
    """
    ways_round = (True, False) if turned is None else (turned,)
    for size in SIZES_PT:
        for flipped in ways_round:
            width, height = (side / MM_OF_PT for side in _sides(paper, flipped))
            above = _above_pt(size, facts, sources)
            if above + _rows_pt(rows, size, width - BESIDE_PT) <= height - MARGINS_PT:
                return Layout(paper, flipped, size)
    return Layout(paper, bool(turned), SIZES_PT[-1])


def _sides(paper: str, flipped: bool) -> tuple[int, int]:
    width, height = SIDES_MM[paper]
    return (height, width) if flipped else (width, height)


def _above_pt(size: int, facts: int, sources: int) -> float:
    """The head of the page and of the table, the warning, and the note and the record at the end."""
    head = max((3 + facts * LINE) * size, CODE_PT + 2 * size)
    warning = (LINE * size * (1 + 2 * sources) + 24) if sources else 0
    return head + warning + 2 * size + (4 * LINE * size + 30)


def _rows_pt(rows: Sequence[tuple[str, str]], size: int, width: float) -> float:
    letters = [max(1, int(width * share / (size * LETTER))) for share in (WHAT, BESIDES)]
    lines = sum(max(ceil(len(text) / most) or 1 for text, most in zip(row, letters, strict=True)) - 1 for row in rows)
    return len(rows) * (0.7 * size + ROW_PT) + lines * LINE * size


@dataclass(frozen=True)
class Sheet:
    """A sheet of labels on A4: their size, how many beside and below each other, the gaps between; millimetres."""

    width_mm: int
    height_mm: int
    columns: int
    rows: int
    gap_across_mm: int = 0
    gap_down_mm: int = 0

    @property
    def across_mm(self) -> int:
        """The width of all columns with their gaps."""
        return self.columns * self.width_mm + (self.columns - 1) * self.gap_across_mm

    @property
    def down_mm(self) -> int:
        """The height of all rows with their gaps."""
        return self.rows * self.height_mm + (self.rows - 1) * self.gap_down_mm


def sheet_of(
    width_mm: int,
    height_mm: int,
    *,
    columns: int | None,
    rows: int | None,
    gap_across_mm: int = 0,
    gap_down_mm: int = 0,
) -> Sheet:
    """A sheet with as many columns and rows as asked for; None: as many as go within a printer's edge of 5 mm."""
    room = [side - 2 * EDGE_MM for side in SIDES_MM[A4]]
    columns = columns or max(1, (room[0] + gap_across_mm) // (width_mm + gap_across_mm))
    rows = rows or max(1, (room[1] + gap_down_mm) // (height_mm + gap_down_mm))
    return Sheet(width_mm, height_mm, columns, rows, gap_across_mm, gap_down_mm)


def places(sheet: Sheet, *, start: int, count: int) -> list[tuple[int, int, int]]:
    """Where each of `count` labels lies from place `start` on (the first is 1, along the rows): page from 0, and left
    and top in tenths of a millimetre. The labels stand in the middle of the sheet.
    """
    width, height = SIDES_MM[A4]
    left, top = (width - sheet.across_mm) * 5, (height - sheet.down_mm) * 5
    found = []
    for at in range(start - 1, start - 1 + count):
        page, place = divmod(at, sheet.columns * sheet.rows)
        row, column = divmod(place, sheet.columns)
        across, down = sheet.width_mm + sheet.gap_across_mm, sheet.height_mm + sheet.gap_down_mm
        found.append((page, left + column * across * 10, top + row * down * 10))
    return found


def why_not_a_sheet(sheet: Sheet) -> tuple[str, str]:
    """Why the labels do not go on A4, and the field that it belongs to; "" twice where they do."""
    width, height = SIDES_MM[A4]
    if sheet.across_mm > width:
        return (
            f"{sheet.columns} columns of {sheet.width_mm} mm take {sheet.across_mm} mm; A4 is {width} mm wide.",
            "columns",
        )
    if sheet.down_mm > height:
        return f"{sheet.rows} rows of {sheet.height_mm} mm take {sheet.down_mm} mm; A4 is {height} mm high.", "rows"
    return "", ""
