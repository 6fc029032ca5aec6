"""How the electricity gets here, in a customer's words: boards with their names and places, and what is open at them.

No ratings, ways or earthing; of one unit only what serves it, and what feeds that without anybody else's items or names.
"""

from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import replace

from django.db.models import F
from django.utils.safestring import SafeString

from inspections.models import Observation
from jobsite.premises.drawing import draw, nested
from jobsite.premises.graph import BoardNode, FeedEdge, Mark, Marks, Origin, SourceNode, SupplyGraph, depths, led_to
from jobsite.premises.models import Unit
from jobsite.premises.queries.graph import supply_graph
from jobsite.premises.supply_words import Item, board_name, marks_words, summary
from remedials.status import facts, shown

MOST_DRAWN = (
    12  # boards and sources: more weigh too much for the page that opens first, and are drawn on one of their own
)
MOST_LISTED = 40
TITLE = "How the electricity gets here"
ELSEWHERE = "a board in another part of the building"
UNFED = "Where these boards are fed from is not on record"
KINDS = {
    "pv": "solar panels: their cables stay live in daylight",
    "battery": "battery: it can keep parts live when the mains are off",
    "generator": "generator: it can keep parts live when the mains are off",
    "wind": "wind generator: it can keep parts live when the mains are off",
}


def supply_in(scope: facts.Scope, items: Iterable[Observation], *, by_itself: bool = False) -> shown.Supply | None:
    """The supply of `scope` with what of `items` is open at each board; None where no board is on record. Six statements.

    `by_itself`: on a page of its own, where a drawing of any size has room.
    """
    units = _units_by_board(scope)
    graph = _plain(supply_graph(scope.site))
    if scope.part:
        keys = {str(key) for key in scope.keys}
        graph = _serving(graph, {board for board, its in units.items() if keys & {str(u.pk) for u in its}}, units, keys)
    if not graph.boards:
        return None
    marks = _marks(graph, items)
    size = len(graph.boards) + len(graph.sources)
    small = by_itself or size <= MOST_DRAWN
    served = {} if scope.part else {board: [u.name for u in its if not u.whole_site] for board, its in units.items()}
    return shown.Supply(
        drawing=draw(graph, marks, TITLE, summary(graph)) if small else SafeString(""),
        listing=nested(_told(graph, marks, served)) if by_itself or size <= MOST_LISTED else SafeString(""),
        key=tuple(_key(graph)) if small else (),
    )


def _units_by_board(scope: facts.Scope) -> dict[str, list[Unit]]:
    found: dict[str, list[Unit]] = defaultdict(list)
    serving = Unit.objects.filter(site=scope.site, retired_at=None).exclude(boards=None).annotate(board=F("boards"))
    for unit in serving.order_by("sort", "pk"):
        found[str(unit.board)].append(unit)
    return found


def _plain(graph: SupplyGraph) -> SupplyGraph:
    """The same without what only the trade reads."""
    return SupplyGraph(
        origins=tuple(Origin(origin.id, origin.name) for origin in graph.origins),
        boards=tuple(_board(board) for board in graph.boards),
        feeds=tuple(replace(feed, way="", circuit=None, changeover="") for feed in graph.feeds),
        sources=tuple(SourceNode(s.id, s.kind, s.name, s.on_board, plain=KINDS[s.kind]) for s in graph.sources),
    )


def _board(board: BoardNode) -> BoardNode:
    label = "" if board.name else board.label_found
    return BoardNode(board.id, board.name, board.name_verified, label_found=label, place=board.place)


def _serving(
    graph: SupplyGraph, own: set[str], units: Mapping[str, list[Unit]], keys: set[str]
) -> SupplyGraph:  # fmt: skip
    """What serves the boards `own`: themselves and all that feeds them, back to where the supply comes in."""
    kept = led_to(own & {board.id for board in graph.boards}, ((feed.child, feed.feeder) for feed in graph.feeds))
    hidden = {board for board in kept if _is_of_others(units.get(board, ()), keys)}
    return SupplyGraph(
        origins=tuple(origin for origin in graph.origins if origin.id in kept),
        boards=tuple(BoardNode(b.id, ELSEWHERE) if b.id in hidden else b for b in graph.boards if b.id in kept),
        feeds=tuple(feed for feed in graph.feeds if feed.child in kept),
        sources=tuple(source for source in graph.sources if source.on_board in kept - hidden),
    )


def _is_of_others(its: Iterable[Unit], keys: set[str]) -> bool:
    """Whether a board serves other people's units only, so that its name and place are nobody else's business."""
    its = list(its)
    return bool(its) and not any(u.common_parts or u.whole_site or str(u.pk) in keys for u in its)


def _marks(graph: SupplyGraph, items: Iterable[Observation]) -> Marks:
    count = Counter((str(o.board_id), o.code or "not coded", bool(o.safe_at)) for o in items if not o.ended)  # type: ignore[attr-defined]
    there = {board.id for board in graph.boards if board.name != ELSEWHERE}
    found: dict[str, list[Mark]] = defaultdict(list)
    for (board, code, safe), many in count.items():
        if board in there:
            found[board].append(Mark(code, many, safe))
    return found


def _told(graph: SupplyGraph, marks: Marks, served: Mapping[str, list[str]]) -> tuple[Item, ...]:
    """The drawing as nested lines, the farthest first, so that no depth of feeds exhausts the stack."""
    where = depths(graph)
    names = {board.id: board_name(board) for board in graph.boards} | {o.id: o.name for o in graph.origins}
    below: dict[str, list[Item]] = defaultdict(list)
    feeds: dict[str, list[FeedEdge]] = defaultdict(list)
    sources: dict[str, list[Item]] = defaultdict(list)
    boards = {board.id: board for board in graph.boards}
    for feed in graph.feeds:
        feeds[feed.child].append(feed)
    for source in graph.sources:
        sources[source.on_board].append(Item(source.name, "", (source.plain,)))
    for id_ in sorted(where.column, key=where.column.__getitem__, reverse=True):
        board, feeder = boards[id_], where.feeder[id_] or ""
        units = ", ".join(served.get(id_, ()))
        said = (
            "" if board.name_verified else "name not verified",
            board.place,
            f"serves {units}" if units else "",
            marks_words(marks.get(id_, ())),
            *(_fed(feed, feeder, names) for feed in feeds[id_]),
        )
        below[feeder].append(Item(names[id_], "", tuple(filter(None, said)), (*below[id_], *sources[id_])))
    supplies = [
        Item(origin.name, "", ("the supply comes in here",), tuple(below[origin.id])) for origin in graph.origins
    ]
    return (*supplies, *([Item(UNFED, "", (), tuple(below[""]))] if below[""] else []))


def _fed(feed: FeedEdge, feeder: str, names: Mapping[str, str]) -> str:
    """What must be said of a feed: nothing of the one that the list's own order shows, where it is verified."""
    if feed.kind == "alternative":
        return f"can also be fed from {names[feed.feeder]}{'' if feed.verified else ', as we believe: not verified'}"
    if feed.feeder == feeder:
        return "" if feed.verified else f"fed from {names[feed.feeder]}, as we believe: not verified"
    return f"or fed from {names[feed.feeder]}{'' if feed.verified else ', not verified'}"


def _key(graph: SupplyGraph) -> Iterable[str]:
    """What the signs of this drawing mean; only those that it shows."""
    if any(not feed.verified for feed in graph.feeds):
        yield "Dashed line: believed, and not verified yet."
    if any(not board.name_verified for board in graph.boards):
        yield "Name in quotes: not verified."
    if any(feed.kind == "alternative" for feed in graph.feeds):
        yield "Open contact on a line: a second way in which a board can be fed."
    if graph.sources:
        yield "Double border: a source besides the mains."
