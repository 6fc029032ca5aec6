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
from .routing import route
from .text import safe

LARGE = 1100  # wider than this in pixels, it takes paper lying across
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
    return SafeString(_Drawing(graph, marks or {}, safe(prefix), over).svg(title, description))


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

    def svg(self, title: str, description: str) -> str:
        heights = [0, self.layout.bottom - GRID, *(y for edge in self.edges for y in edge.heights)]
        top = min(heights) - MARGIN
        tall = max(heights) + MARGIN - top
        words = Line(self.words, "name", NAME, bold=True)
        wide = max(self.columns.width, round(words.width()) + 2 * MARGIN)
        named, described = f"{self.prefix}-title", f"{self.prefix}-desc"
        head = (
            f'<svg class="{"drawing large" if wide > LARGE else "drawing"}" xmlns="http://www.w3.org/2000/svg" width="{wide}" height="{tall}" '
            f'viewBox="0 {top} {wide} {tall}" role="group" aria-labelledby="{named}" aria-describedby="{described}">'
            f'<title id="{named}">{safe(title)}</title><desc id="{described}">{safe(description)}</desc>'
        )
        hatch = HATCH.format(id=f"{self.prefix}-hatch") if self.hatched else ""
        return "".join((head, hatch, *self._heading(wide), *self._lines(), *self._faces(), "</svg>"))

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
