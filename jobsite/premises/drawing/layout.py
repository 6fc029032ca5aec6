"""How high each box stands: what a board feeds stands behind it, in columns, close but never overlapping.

Every top is a whole step of the grid, and so is every gap, so that lines, which keep off the steps, never touch boxes
and lines of different feeders never lie on each other (see routing).
"""

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from jobsite.premises.graph import Depths, SupplyGraph

from .boxes import GRID, Box

LEAST_COLUMNS = 4  # how many boards that nothing joins to a supply stand side by side
HEADING = 3 * GRID


@dataclass(frozen=True)
class Layout:
    """Where the heading over boards without a feed stands (None: there are none), and the lowest edge of all."""

    heading: int | None
    bottom: int


@dataclass(slots=True)
class _Block:
    """A box with all that stands behind it: tops below its own, and for each column the edges of what is there."""

    tops: dict[str, int]
    above: dict[int, int]
    below: dict[int, int]


def place(graph: SupplyGraph, where: Depths, boxes: dict[str, Box]) -> Layout:
    """Sets the `top` of every box; boards that nothing joins to an origin stand in a band of their own below."""
    behind = _behind(graph, where)
    blocks = _blocks(behind, boxes)
    bottom = _stack([origin.id for origin in graph.origins], blocks, boxes, 0)
    roots = [board for board in where.unfed if where.feeder[board] is None]
    if not roots:
        return Layout(None, bottom)
    heading = bottom + GRID if graph.origins else 0
    bottom = _stack([root for root in roots if behind[root]], blocks, boxes, heading + HEADING)
    alone = [root for root in roots if not behind[root]]
    return Layout(heading, _tile(alone, boxes, bottom))


def _behind(graph: SupplyGraph, where: Depths) -> dict[str, list[str]]:
    """What stands behind each origin and board: the boards that it feeds, then its second sources."""
    behind: dict[str, list[str]] = defaultdict(list)
    for board, feeder in where.feeder.items():
        if feeder is not None:
            behind[feeder].append(board)
    for source in graph.sources:
        behind[source.on_board].append(source.id)
    return behind


def _blocks(behind: Mapping[str, list[str]], boxes: Mapping[str, Box]) -> dict[str, _Block]:
    """A block for every box, the farthest first, so that no depth exhausts the stack."""
    blocks: dict[str, _Block] = {}
    for box in sorted(boxes.values(), key=lambda b: -b.column):
        blocks[box.id] = _block(box, [boxes[b] for b in behind.get(box.id, ())], blocks)
    return blocks


def _block(box: Box, children: Sequence[Box], blocks: Mapping[str, _Block]) -> _Block:
    """The children's blocks one below the other, as close as their outlines allow, the first level with the box.

    So the origin is at the top left, where a tall drawing is first seen.
    """
    tops: dict[str, int] = {}
    above, below = {box.column: 0}, {box.column: box.height}
    for child in children:
        block = blocks[child.id]
        shift = max((below[column] + GRID - y for column, y in block.above.items() if column in below), default=0)
        tops[child.id] = shift
        for column, y in block.above.items():
            above.setdefault(column, y + shift)
        below |= {column: y + shift for column, y in block.below.items()}
    return _Block(tops, above, below)


def _stack(roots: Sequence[str], blocks: Mapping[str, _Block], boxes: Mapping[str, Box], start: int) -> int:
    """The blocks of these roots one below the other; returns where the next thing may begin."""
    for root in roots:
        block = blocks[root]
        boxes[root].top = start
        waiting = [root]
        while waiting:
            box = boxes[waiting.pop()]
            for child, y in blocks[box.id].tops.items():
                boxes[child].top = box.top + y
                waiting.append(child)
        start += max(block.below.values()) + GRID
    return start


def _tile(alone: Sequence[str], boxes: Mapping[str, Box], start: int) -> int:
    """Boards with nothing behind them side by side in rows, in columns 1, 2, 3 ...; returns the lowest edge."""
    columns = max(LEAST_COLUMNS, *(box.column for box in boxes.values()))
    for first in range(0, len(alone), columns):
        row = [boxes[board] for board in alone[first : first + columns]]
        for column, box in enumerate(row, 1):
            box.column, box.top = column, start
        start += max(box.height for box in row) + GRID
    return start
