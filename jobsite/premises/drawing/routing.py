"""How lines run: right-angled, in the channels between columns, never through a box, never two on one another.

A line leaves its feeder on the right and enters a board on the left. Between columns it runs up or down on a track
of its channel; past a column it runs in a lane, a gap between two boxes. Three kinds of height in each step of the
grid keep level stretches of different feeders apart: 0 where lines leave, 10 where they enter, 5 and 15 for lanes.
Only where a line can run straight does it enter at the height at which it left.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field

from .boxes import GRID, Box

ENTER = GRID // 2
LANES = (5, 15)
CLEAR = 8  # least distance between two lines on one track


@dataclass(slots=True)
class Edge:
    """A line to draw: `heights` are those of its level stretches in turn, `nets` its net in each channel passed."""

    id: str
    src: Box
    dst: Box
    label: str = ""
    title: str = ""
    alternative: bool = False
    believed: bool = False
    state: str = ""
    off: bool = False
    heights: list[int] = field(default_factory=list)
    nets: list["Net"] = field(default_factory=list)

    def passed(self) -> list[int]:
        """Columns that it has to run past, in order."""
        i, j = self.src.column, self.dst.column
        return list(range(i + 1, j)) if j > i else list(range(i, j - 1, -1))

    def channels(self) -> list[int]:
        """Channels that it runs up or down in; channel n is on the right of column n."""
        i, j = self.src.column, self.dst.column
        return list(range(i, j)) if j > i else list(range(i, j - 2, -1))


@dataclass(slots=True)
class Net:
    """What shares one track of a channel: all lines that come in at one point. Heights on either side of the track."""

    channel: int
    left: set[int] = field(default_factory=set)
    right: set[int] = field(default_factory=set)
    track: int = 0

    @property
    def span(self) -> tuple[int, int]:
        heights = self.left | self.right
        return min(heights), max(heights)

    def crossings(self, other: "Net") -> int:
        """How often the two cross when this one's track is on the left of the other's."""
        (a, b), (c, d) = self.span, other.span
        return sum(c < y < d for y in self.right) + sum(a < y < b for y in other.left)


def route(edges: Sequence[Edge], boxes: Iterable[Box], blocked: Iterable[int] = ()) -> dict[int, list[Net]]:
    """Fills in the edges' heights and nets; returns the nets of each channel. `blocked`: rows of the grid for words."""
    lanes = _Lanes(boxes, blocked)
    for edge in edges:
        edge.heights = [edge.src.out_y, *(lanes.take(column, edge.dst.out_y) for column in edge.passed())]
    _enter(edges)
    nets = _nets(edges)
    for channel in nets.values():
        _give_tracks(channel)
    return nets


class _Lanes:
    """Free heights to run past a column, each given once, and none to a neighbouring column's line as well."""

    def __init__(self, boxes: Iterable[Box], blocked: Iterable[int]) -> None:
        self.full: dict[int, set[int]] = defaultdict(set)
        self.blocked = set(blocked)
        self.taken: dict[int, set[int]] = defaultdict(set)
        for box in boxes:
            self.full[box.column] |= set(range(box.top // GRID, box.bottom // GRID))

    def take(self, column: int, near: int) -> int:
        """The free height nearest to `near`."""
        step = 0
        while True:
            rows = {near // GRID - step, near // GRID + step} - self.full[column] - self.blocked
            free = [row * GRID + lane for row in rows for lane in LANES if self._is_free(column, row * GRID + lane)]
            if free:
                height = min(free, key=lambda y: abs(y - near))
                self.taken[column].add(height)
                return height
            step += 1

    def _is_free(self, column: int, height: int) -> bool:
        return not any(height in self.taken[c] for c in (column - 1, column, column + 1))


def _enter(edges: Sequence[Edge]) -> None:
    """At which height each line enters its box: straight on if it can, else in the order in which they arrive."""
    ends: dict[str, list[Edge]] = defaultdict(list)
    for edge in edges:
        ends[edge.dst.id].append(edge)
    for arriving in ends.values():
        arriving.sort(key=lambda e: e.heights[-1])
        straight = next((e for e in arriving if _runs_straight(e)), None)
        others = [e for e in arriving if e is not straight]
        middle = straight.heights[-1] if straight else None
        for edge, height in zip(others, _heights(arriving[0].dst, others, middle), strict=True):
            edge.heights.append(height)
        if straight:
            straight.heights.append(straight.heights[-1])


def _runs_straight(edge: Edge) -> bool:
    inside = edge.dst.top + ENTER <= edge.heights[-1] <= edge.dst.enter_below - ENTER
    return inside and edge.dst.column == edge.src.column + 1


def _heights(box: Box, others: Sequence[Edge], middle: int | None) -> list[int]:
    """Heights to enter at, a label's height apart: above and below the straight line, or around the box's middle."""
    count = len(others)
    free = range(box.top + ENTER, box.enter_below, GRID)
    if middle is None:
        first = (len(free) - count) // 2
        return list(free[first : first + count])
    apart = [y for y in free if abs(y - middle) >= GRID]
    upper = sum(edge.heights[-1] < middle for edge in others)
    return apart[:upper] + apart[len(apart) - (count - upper) :]


def _nets(edges: Sequence[Edge]) -> dict[int, list[Net]]:
    """Nets by channel. Lines of one feeder share the first; after a lane each has its own."""
    channels: dict[int, list[Net]] = defaultdict(list)
    first: dict[str, Net] = {}
    for edge in edges:
        forward = edge.dst.column > edge.src.column
        for turn, channel in enumerate(edge.channels()):
            net = first.get(edge.src.id) if turn == 0 else None
            if net is None:
                net = Net(channel)
                channels[channel].append(net)
            if turn == 0:
                first[edge.src.id] = net
            last = turn + 1 == len(edge.heights) - 1
            (net.left if forward or turn == 0 else net.right).add(edge.heights[turn])
            (net.right if forward or last else net.left).add(edge.heights[turn + 1])
            edge.nets.append(net)
    return channels


def _give_tracks(nets: list[Net]) -> None:
    """Tracks from left to right: neighbours swap while that saves crossings; only nets that would touch are kept apart."""
    nets.sort(key=lambda net: net.span)
    for _ in nets:
        if not _swap_neighbours(nets):
            break
    for place, net in enumerate(nets):
        before = [other.track + 1 for other in nets[:place] if _touch(net, other)]
        net.track = max(before, default=0)


def _swap_neighbours(nets: list[Net]) -> bool:
    swapped = False
    for i in range(len(nets) - 1):
        here, there = nets[i], nets[i + 1]
        if there.crossings(here) < here.crossings(there):
            nets[i], nets[i + 1] = there, here
            swapped = True
    return swapped


def _touch(one: Net, other: Net) -> bool:
    (a, b), (c, d) = one.span, other.span
    return a - CLEAR < d and c - CLEAR < b


def junctions(net: Net) -> list[int]:
    """Heights at which three or more stretches of one net meet: there a dot tells a branch from a crossing."""
    low, high = net.span
    arms = {y: (y in net.left) + (y in net.right) + (y > low) + (y < high) for y in net.left | net.right}
    return sorted(y for y, meeting in arms.items() if meeting >= 3)


def tracks(nets: Mapping[int, Sequence[Net]], channel: int) -> int:
    """How many tracks a channel needs."""
    return max((net.track + 1 for net in nets.get(channel, ())), default=0)
