"""From clock times to places on the sheet. A day is 1440 minutes of London's clock, whatever it lasts."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta

from jobsite.words import london

DAY = 24 * 60
HOUR = 60
EARLIEST, LATEST = 6 * HOUR, 20 * HOUR  # the hours drawn at most: what lies outside stands at the edge and says so
LEAST = 15  # pixels: one line of words


@dataclass(frozen=True)
class Part:
    """What falls on one day: minutes of that day, and whether it began before the day or goes on after it."""

    start: int
    end: int
    earlier: bool = False
    later: bool = False


def part_on(start: datetime, end: datetime, on: date) -> Part | None:
    """The part of `start` up to `end` (instants) that falls on the day `on` in London, or None.

    In the night in which the clocks go back an end can show an earlier time than its start: then it is as long as it lasts.
    """
    first, last = london(start), london(end)
    if end <= start or first.date() > on or last.date() < on:
        return None
    begin = _minute(first) if first.date() == on else 0
    until = _minute(last) if last.date() == on else DAY
    if first.date() == on == last.date() and until <= begin:
        until = min(DAY, begin + max(1, round((end - start).total_seconds() / 60)))
    if until <= begin:
        return None  # it ends at this day's midnight
    later = london(end - timedelta(microseconds=1)).date() > on  # what ends at midnight is not of the next day
    return Part(begin, until, earlier=first.date() < on, later=later)


def _minute(at: datetime) -> int:
    return at.hour * HOUR + at.minute


@dataclass(frozen=True)
class Axis:
    """The hours of a day that are drawn, from `first` up to `last` (minutes, whole hours), on `length` pixels."""

    first: int
    last: int
    length: float

    def at(self, minute: int) -> float:
        """How many pixels from the day's beginning `minute` lies; at the edge where it is outside."""
        inside = min(max(minute, self.first), self.last)
        return (inside - self.first) * self.length / (self.last - self.first)

    def extent(self, start: int, end: int) -> tuple[float, float]:
        """From where to where `start` up to `end` is drawn: at least LEAST pixels, never beyond the edges."""
        low, high = self.at(start), self.at(end)
        if high - low < LEAST:
            low = min(low, self.length - LEAST)
            high = low + LEAST
        return low, high

    @property
    def hours(self) -> range:
        """The whole hours that are drawn, as minutes."""
        return range(self.first, self.last, HOUR)


def axis_for(times: Iterable[tuple[int, int]], *, a_minute: float) -> Axis:
    """The hours that take in all of `times` (minutes of a day), but within EARLIEST and LATEST; 8 to 17 where none.

    `a_minute`: its length in pixels.
    """
    kept = [(max(start, EARLIEST), min(end, LATEST)) for start, end in times if start < LATEST and end > EARLIEST]
    first = min([start for start, _ in kept] + [8 * HOUR]) // HOUR * HOUR
    last = -(-max([end for _, end in kept] + [17 * HOUR]) // HOUR) * HOUR
    return Axis(first, last, (last - first) * a_minute)


def lanes(extents: Sequence[tuple[float, float]]) -> list[tuple[int, int]]:
    """For each of `extents` (in the order of their beginnings) its lane and how many lanes its group has.

    Those that overlap stand beside each other; those that hang together have the same number of lanes.
    """
    found: list[tuple[int, int]] = []
    group: list[int] = []  # the lanes of the group so far, one an extent
    ends: list[float] = []  # where each lane is free again
    for low, high in extents:
        if ends and low >= max(ends):
            found += [(lane, len(ends)) for lane in group]
            group, ends = [], []
        lane = next((n for n, end in enumerate(ends) if end <= low), len(ends))
        ends[lane : lane + 1] = [high]
        group.append(lane)
    return found + [(lane, len(ends)) for lane in group]


def placed(spans: Sequence[tuple[int, int]], axis: Axis) -> list[tuple[tuple[float, float], tuple[int, int]]]:
    """For each of `spans` (minutes, in the order of their beginnings) its extent in pixels and its lane of how many.

    Only what is at the same time stands beside each other. What is drawn longer than it lasts, so that its words can be
    read, moves what comes after it down a little; where that would be more than LEAST, or over the edge, lanes are made.
    """
    found: list[tuple[tuple[float, float], tuple[int, int]]] = []
    floor, ends = 0.0, dict[int, float]()
    until = 0
    for span, lane in zip(spans, lanes(spans), strict=True):
        if span[0] >= until:  # nothing before it lasts into it: a new group, below all that is drawn
            floor, ends = max([floor, *ends.values()]), {}
        until = max(until, span[1])
        low, high = axis.extent(*span)
        moved = max(floor, ends.get(lane[0], 0.0), low)
        if moved - low > LEAST or (moved > low and moved + LEAST > axis.length):
            extents = [axis.extent(*one) for one in spans]
            return list(zip(extents, lanes(extents), strict=True))
        ends[lane[0]] = max(high, moved + LEAST)
        found.append(((moved, ends[lane[0]]), lane))
    return found


@dataclass(frozen=True)
class Box:
    """A rectangle in pixels."""

    x: float
    y: float
    width: float
    height: float


@dataclass(frozen=True)
class Grid:
    """Where the cells lie: `names` pixels of names, `head` pixels of heads, then rows by columns.

    `across`: the hours run from left to right, else downward inside each cell.
    """

    axis: Axis
    across: bool
    names: float
    head: float
    breadth: float  # of a cell, across the hours
    pad: float = 4

    @property
    def cell_width(self) -> float:
        """How wide a column is."""
        return self.axis.length + 2 * self.pad if self.across else self.breadth

    @property
    def cell_height(self) -> float:
        """How high a row is."""
        return self.breadth if self.across else self.axis.length + 2 * self.pad

    def cell(self, row: int, column: int) -> Box:
        """The cell of an engineer (`row`) on a day (`column`)."""
        x, y = self.names + column * self.cell_width, self.head + row * self.cell_height
        return Box(x, y, self.cell_width, self.cell_height)

    def block(self, row: int, column: int, extent: tuple[float, float], lane: int = 0, of: int = 1) -> Box:
        """What is drawn on `extent` of that cell, in one of its lanes."""
        cell, inner = self.cell(row, column), self.breadth - 2 * self.pad
        side, low, length = inner / of, extent[0], extent[1] - extent[0]
        along, beside = self.pad + low, self.pad + lane * side
        if self.across:
            return Box(cell.x + along, cell.y + beside, length, side)
        return Box(cell.x + beside, cell.y + along, side, length)
