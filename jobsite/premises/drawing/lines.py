"""The lines of the drawing: what each joins and says, and how it is written as SVG."""

from collections.abc import Iterable, Iterator, Mapping

from jobsite.premises.graph import SupplyGraph
from jobsite.premises.supply_words import board_name, feed_words

from .boxes import Box, Line
from .columns import CONTACT, Columns
from .overlay import MAY, NOTHING, OFF, Overlay
from .routing import Edge, Net, junctions
from .text import safe


def make_edges(graph: SupplyGraph, boxes: Mapping[str, Box], over: Overlay = NOTHING) -> list[Edge]:
    """A line for every feed, then one for every second source."""
    names = {b.id: board_name(b) for b in graph.boards} | {o.id: o.name for o in graph.origins}
    edges = []
    for number, feed in enumerate(graph.feeds, 1):
        state, off = over.state_of(number - 1), number - 1 in over.off_feeds
        said = (OFF if off else "", MAY if state == "live" else "")
        label = " · ".join(filter(None, (*said, "alternative" if feed.kind == "alternative" else "", feed.way)))
        title = f"{names[feed.child]}: {feed_words(feed, names[feed.feeder])}"
        ends = boxes[feed.feeder], boxes[feed.child]
        doubt = feed.kind == "alternative", not feed.verified
        edges.append(Edge(f"feed-{number}", *ends, label, title, *doubt, state, off))
    for source in graph.sources:
        title = ", ".join(filter(None, (f"{source.name} on {names[source.on_board]}", source.way)))
        state = "live" if source.id in over.live else ""
        ends = boxes[source.on_board], boxes[source.id]
        edges.append(Edge(f"tail-{source.id}", *ends, source.way, title, state=state))
    return edges


def line(edge: Edge, columns: Columns, id_: str) -> Iterator[str]:
    """One line with its label; an alternative feed ends in an open contact, a believed one is dashed."""
    yield f'<g id="{id_}"><title>{safe(edge.title)}</title>'
    end, y = columns.left[edge.dst.column], edge.heights[-1]
    if edge.alternative:
        yield f'<path class="contact" d="M{end - CONTACT} {y}l16 -8M{end - 8} {y}H{end}" fill="none"/>'
        end -= CONTACT
    first, *later = zip((columns.track_x(net) for net in edge.nets), edge.heights[1:], strict=True)
    shared = f"M{columns.out_x(edge.src)} {edge.heights[0]}H{first[0]}V{first[1]}"
    own = "".join(f"H{x}V{height}" for x, height in later) + f"H{end}"
    kind = "feed believed" if edge.believed else "feed"
    if edge.state:
        # The stretch that it shares with the other lines of its feeder is not what goes dead or stays live.
        yield f'<path class="{kind}" d="{shared}" fill="none"/>'
        yield f'<path class="{kind} {edge.state}" d="M{first[0]} {first[1]}{own}" fill="none"/>'
    else:
        yield f'<path class="{kind}" d="{shared}{own}" fill="none"/>'
    if edge.label:
        channel = edge.dst.column - 1
        words = Line(edge.label, bold=edge.off or edge.state == "live").shortened(columns.label_room[channel])
        style = " ".join(filter(None, ("on-line", "point" if edge.off else "", "live" if edge.state == "live" else "")))
        yield f'<text class="{style}" x="{columns.first_label[channel]}" y="{y - 4}">{safe(words)}</text>'
    yield "</g>"


def dots(nets: Iterable[Net], columns: Columns) -> Iterator[str]:
    """A dot where a line branches; where lines merely cross there is none."""
    for net in nets:
        for y in junctions(net):
            yield f'<circle class="dot" cx="{columns.track_x(net)}" cy="{y}" r="2.6"/>'
