"""The supply drawing put together: boxes placed, lines routed, all of it written as SVG."""

from collections.abc import Iterator

from django.utils.safestring import SafeString

from jobsite.premises.graph import Marks, SupplyGraph, depths
from jobsite.premises.supply_words import UNFED_WORDS

from .boxes import GRID, NAME, Line, make_boxes, widen
from .columns import MARGIN, Columns
from .faces import face
from .layout import HEADING, place
from .lines import dots, line, make_edges
from .overlay import NOTHING, Overlay
from .paper import LARGE, parts
from .routing import route
from .text import safe

EMPTY = "No board recorded yet"
HATCH = (
    '<defs><pattern id="{id}" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path class="hatch" d="M0 0V7" fill="none"/></pattern></defs>'
)


def draw(
    graph: SupplyGraph,
    marks: Marks | None = None,
    title: str = "",
    description: str = "",
    prefix: str = "supply",
    over: Overlay = NOTHING,
) -> SafeString:
    """The supply drawing as one <svg> at fixed scale: a unit is a CSS pixel, the size is in `width` and `height`.

    `marks` gives the open items by board id. `prefix` starts every id, for pages with more than one drawing.
    `over`: an isolation laid over it.
    """
    return draw_for_paper(graph, marks, title, description, prefix, over=over)[0]


def draw_for_paper(
    graph: SupplyGraph,
    marks: Marks | None = None,
    title: str = "",
    description: str = "",
    prefix: str = "supply",
    over: Overlay = NOTHING,
) -> tuple[SafeString, SafeString]:
    """As `draw`; besides, the same in parts of which each goes on a sheet of A4, "" where all goes on one.

    The parts only refer to what the drawing holds: they need it in the same page.
    """
    drawing = _Drawing(graph, marks or {}, safe(prefix), over)
    return SafeString(drawing.svg(title, description)), SafeString(drawing.in_parts())


class _Drawing:
    def __init__(self, graph: SupplyGraph, marks: Marks, prefix: str, over: Overlay = NOTHING) -> None:
        self.prefix, self.hatched = prefix, bool(over.dead)
        where = depths(graph)
        boxes = make_boxes(graph, marks, where, over)
        self.layout = place(graph, where, boxes)
        self.boxes = boxes.values()
        widen(self.boxes)
        self.words = "" if boxes else EMPTY
        blocked = range(0)
        if self.layout.heading is not None:
            self.words = f"{UNFED_WORDS}: {len(where.unfed)}"
            blocked = range(self.layout.heading // GRID, (self.layout.heading + HEADING) // GRID)
        self.edges = make_edges(graph, boxes, over)
        self.nets = route(self.edges, self.boxes, blocked)
        self.columns = Columns(self.boxes, self.edges, self.nets)
        heights = [0, self.layout.bottom - GRID, *(y for edge in self.edges for y in edge.heights)]
        self.top, self.bottom = min(heights) - MARGIN, max(heights) + MARGIN
        words = Line(self.words, "name", NAME, bold=True)
        self.wide = max(self.columns.width, round(words.width()) + 2 * MARGIN)
        self.parts = parts(((box.top, box.bottom) for box in self.boxes), self.top, self.bottom, self.wide)

    def in_parts(self) -> str:
        """The parts for paper, each with a line above; hidden from screen readers, which have the drawing."""
        if len(self.parts) == 1:
            return ""
        return "".join(
            f'<div class="part"><p class="soft">Drawing, part {number} of {len(self.parts)}</p>'
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.wide}" height="{bottom - top}" '
            f'viewBox="0 {top} {self.wide} {bottom - top}"><use href="#{self.prefix}-all"/></svg></div>'
            for number, (top, bottom) in enumerate(self.parts, 1)
        )

    def svg(self, title: str, description: str) -> str:
        top, tall, wide = self.top, self.bottom - self.top, self.wide
        named, described = f"{self.prefix}-title", f"{self.prefix}-desc"
        head = (
            f'<svg class="{"drawing large" if wide > LARGE else "drawing"}" xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{tall}" '
            f'viewBox="0 {top} {wide} {tall}" role="group" aria-labelledby="{named}" aria-describedby="{described}">'
            f'<title id="{named}">{safe(title)}</title><desc id="{described}">{safe(description)}</desc>'
        )
        hatch = HATCH.format(id=f"{self.prefix}-hatch") if self.hatched else ""
        # With the class again, since in a part the drawing's own element is not around it.
        whole = (f'<g id="{self.prefix}-all" class="drawing">', "</g>") if len(self.parts) > 1 else ("", "")
        body = (whole[0], *self._heading(wide), *self._lines(), *self._faces(), whole[1])
        return "".join((head, hatch, *body, "</svg>"))

    def _heading(self, wide: int) -> Iterator[str]:
        if not self.words:
            return
        y = 0 if self.layout.heading is None else self.layout.heading + 38
        if y > GRID * 2:
            yield f'<path class="rule" d="M{MARGIN} {y - 30}H{wide - MARGIN}" fill="none"/>'
        yield f'<text class="name" x="{MARGIN}" y="{y}">{safe(self.words)}</text>'

    def _lines(self) -> Iterator[str]:
        """Hidden from screen readers, which have the list: a line says nothing without seeing where it ends."""
        yield '<g aria-hidden="true">'
        for edge in self.edges:
            yield from line(edge, self.columns, f"{self.prefix}-{safe(edge.id)}")
        for channel in self.nets.values():
            yield from dots(channel, self.columns)
        yield "</g>"

    def _faces(self) -> Iterator[str]:
        for box in self.boxes:
            yield from face(box, self.columns.left[box.column], f"{self.prefix}-{safe(box.id)}", f"{self.prefix}-hatch")
