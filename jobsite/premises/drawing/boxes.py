"""What stands in the drawing: a box for each origin, board and second source, with the words in it and its size."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field

from jobsite.premises.graph import BoardNode, Depths, Mark, Marks, Origin, SourceNode, SupplyGraph
from jobsite.premises.supply_words import (
    board_name,
    in_order,
    label_words,
    links_by_board,
    mark_words,
    marks_words,
    origin_words,
    phase_words,
    source_words,
)

from .overlay import NOTHING, Overlay
from .symbols import code_shape
from .text import BOLD, fold, shorten, width, wrap

GRID = 20  # tops and heights of boxes, and the gaps between them, are whole steps of this
NAME, SMALL = 13, 11  # sizes of type in pixels
PAD = 12
PANEL_GAP = 6
SYMBOL = 40  # side of a second source's frame

PANEL_PAD = 6  # on either side of a panel's words
SIGN = 14  # room for the sign beside a code

# Least and greatest width of a box in pixels; words that need more are shortened, except those on isolation: where a
# second source is isolated and what a board's circuit shares with another are folded into as many lines as they need.
LIMITS = {"origin": (90, 160), "board": (140, 220), "source": (190, 270)}
PANEL_MOST = LIMITS["board"][1] - 2 * PAD


@dataclass(slots=True)
class Line:
    """One line of words: its class, which sets its look, and its size."""

    words: str
    style: str = "place"
    size: int = SMALL
    bold: bool = False

    def width(self) -> float:
        return width(self.words, self.size, bold=self.bold)

    def shortened(self, room: float) -> str:
        return shorten(self.words, room, self.size, bold=self.bold)


@dataclass(slots=True)
class Box:
    """A node of the drawing; `top` is set by the layout. All lengths in pixels."""

    id: str
    kind: str
    column: int
    lines: list[Line]
    title: str
    indent: int = PAD
    panels: list[list[Mark]] = field(default_factory=list)
    href: str = ""
    retired: bool = False
    symbol: str = ""
    dead: bool = False
    live: bool = False
    height: int = 2 * GRID
    width: int = 0
    top: int = 0

    @property
    def out_y(self) -> int:
        """Where lines leave on its right."""
        return self.top + GRID

    @property
    def enter_below(self) -> int:
        """Lines enter on its left above this: anywhere on a board, at its frame for a second source."""
        return self.top + SYMBOL if self.kind == "source" else self.bottom

    @property
    def room(self) -> int:
        """Pixels that its words have."""
        return self.width - self.indent - PAD

    def needs(self) -> float:
        """Width that all its words and panels would take."""
        rows = [sum(panel_width(mark) + PANEL_GAP for mark in row) - PANEL_GAP for row in self.panels]
        return max(*(line.width() for line in self.lines), *rows, 0) + self.indent + PAD

    @property
    def bottom(self) -> int:
        return self.top + self.height


def panel_words(mark: Mark) -> Line:
    """Code, count, and the words where it is made safe."""
    return Line(mark_words(mark), "code", SMALL, bold=True)


def panel_width(mark: Mark) -> int:
    """Width of the panel of one code on a board, with its sign; never wider than a board."""
    return min(round(panel_words(mark).width()) + 1 + words_at(mark) + PANEL_PAD, PANEL_MOST)


def words_at(mark: Mark) -> int:
    """Where the words of a panel begin: after its sign, if it has one."""
    return PANEL_PAD + (SIGN if code_shape(mark.code, made_safe=mark.made_safe) else 0)


def make_boxes(graph: SupplyGraph, marks: Marks, where: Depths, over: Overlay = NOTHING) -> dict[str, Box]:
    """A box for each thing of the graph, tall enough for its words, its panels and the feeds that end at it."""
    ends: dict[str, int] = defaultdict(int)
    for feed in graph.feeds:
        ends[feed.child] += 1
    links = links_by_board(graph)
    boxes = [_origin(origin) for origin in graph.origins]
    for board in graph.boards:
        box = _board(board, where.column[board.id], in_order(marks.get(board.id, ())), links[board.id])
        boxes.append(box)
    boxes += [_source(source, where.column[source.on_board] + 1) for source in graph.sources]
    for box in boxes:
        _note(box, over)
        if ends[box.id] > 1:
            box.height = max(box.height, GRID * (ends[box.id] + 1))
    return {box.id: box for box in boxes}


def _note(box: Box, over: Overlay) -> None:
    """What an isolation says of it, in full, before its lesser words; the box is hatched or red accordingly."""
    box.dead, box.live = box.id in over.dead, box.id in over.live
    said = over.notes.get(box.id, ())
    rows = [Line(row, style, SMALL, bold=True) for style, words in said for row in _folded(box.kind, words, box.indent)]
    at = sum(line.style == "name" for line in box.lines)
    box.lines[at:at] = rows
    box.height += _grid_up(16 * len(rows))
    box.title = ", ".join((box.title, *over.said_of(box.id)))


def _folded(kind: str, words: str, indent: int) -> list[str]:
    room = (LIMITS[kind][1] - indent - PAD) / BOLD
    return fold(words, room, SMALL)


def widen(boxes: Collection[Box]) -> None:
    """Boxes of one kind in one column are equally wide: as wide as the widest needs, within the limits."""
    needed: dict[tuple[str, int], float] = defaultdict(float)
    for box in boxes:
        needed[box.kind, box.column] = max(needed[box.kind, box.column], box.needs())
    for box in boxes:
        least, most = LIMITS[box.kind]
        box.width = min(max(least, round(needed[box.kind, box.column]) + 1), most)


def _grid_up(height: int) -> int:
    return -(-height // GRID) * GRID


def _lines(kind: str, name: str, small: Iterable[str], indent: int) -> list[Line]:
    """The words in a box: its name, then lesser ones; each on one row or two."""
    room = LIMITS[kind][1] - indent - PAD
    names = [Line(row, "name", NAME, bold=True) for row in wrap(name, room, NAME, bold=True)]
    return names + [Line(row) for line in small if line for row in wrap(line, room, SMALL)]


def _in_full(kind: str, words: Iterable[str], indent: int) -> list[Line]:
    """Words on isolation, of which nothing is cut off."""
    room = LIMITS[kind][1] - indent - PAD
    return [Line(row) for line in words for row in fold(line, room, SMALL)]


def _origin(origin: Origin) -> Box:
    words = origin_words(origin)
    lines = _lines("origin", origin.name, words, 0)
    title = ", ".join((origin.name, *words))
    return Box(origin.id, "origin", 0, lines, title, indent=0, height=_grid_up(40 + 16 * len(lines)))


def _board(board: BoardNode, column: int, marks: list[Mark], links: list[str]) -> Box:
    facts = tuple(filter(None, ("retired" if board.retired else "", phase_words(board.phases), board.place)))
    lines = _lines("board", board_name(board), (" · ".join(facts), label_words(board)), PAD)
    lines += _in_full("board", links, PAD)
    panels = _rows(marks, PANEL_MOST)
    title = ", ".join(filter(None, (board_name(board), *facts, label_words(board), marks_words(marks), *links)))
    box = Box(board.id, "board", column, lines, title, panels=panels, href=board.href, retired=board.retired)
    box.height = max(2 * GRID, _grid_up(16 * len(lines) + 8 + GRID * len(panels)))
    return box


def _rows(marks: list[Mark], room: int) -> list[list[Mark]]:
    """Panels in as many rows as they need."""
    rows: list[list[Mark]] = []
    left = 0
    for mark in marks:
        if not rows or left < panel_width(mark):
            rows.append([])
            left = room
        rows[-1].append(mark)
        left -= panel_width(mark) + PANEL_GAP
    return rows


def _source(source: SourceNode, column: int) -> Box:
    words = source_words(source)
    indent = SYMBOL + 10
    lines = _lines("source", source.name, (), indent) + _in_full("source", words, indent)
    title = ", ".join((source.name, *words))
    height = _grid_up(max(SYMBOL, 16 * len(lines) + 8))
    return Box(source.id, "source", column, lines, title, indent, symbol=source.kind, height=height)
