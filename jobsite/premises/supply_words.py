"""The supply graph in words: short ones for the drawing, full ones as a nested list for screen readers and phones.

The list says everything that the drawing shows, so that nobody depends on seeing it.
"""

from collections import defaultdict
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from .graph import (
    PHASES,
    BoardNode,
    BorrowedLink,
    Depths,
    FeedEdge,
    Mark,
    Marks,
    Origin,
    Phases,
    SourceNode,
    SupplyGraph,
    depths,
    loops,
    phases_lacking,
)

SOURCE_WORDS = {"pv": "solar", "battery": "battery", "generator": "generator", "wind": "wind"}
CODE_ORDER = ("C1", "C2", "FI", "C3")
UNFED_WORDS = "No feed recorded that joins these boards to a supply"
DAYLIGHT = "DC side live in daylight"


@dataclass(frozen=True)
class Item:
    """One line of the list: a name (with its page, if any), facts about it, and what it feeds."""

    name: str
    href: str
    facts: tuple[str, ...]
    below: tuple["Item", ...] = ()


# What people write where there is no isolator, or where they found none: words, but no place to switch anything off.
NO_PLACE = {
    "", "none", "no", "nil", "nothing", "na", "unknown", "not known", "not found", "none found", "not recorded", "not fitted",
    "no isolator", "no isolator found", "without isolator", "missing", "tbc", "tba", "to be confirmed", "to be found",
    "dont know", "do not know", "unsure", "not sure", "see notes",
}  # fmt: skip


def names_no_place(words: str) -> bool:
    """Whether words about where something is isolated name no place: "none", "n/a", "not known", "?"."""
    said = "".join(letter for letter in words.casefold() if letter.isalnum() or letter.isspace())
    return " ".join(said.split()) in NO_PLACE


def quoted(words: str) -> str:
    """Words that nobody has verified stand in quotes."""
    return f"“{words}”"


def board_name(board: BoardNode) -> str:
    """What to call a board: the verified name plainly, any other in quotes."""
    name = board.name or board.label_found
    if not name:
        return "board without a name"
    return name if board.name_verified and board.name else quoted(name)


def label_words(board: BoardNode) -> str:
    """The label found on it, where that is not what it is called."""
    differs = board.label_found and board.name and board.label_found != board.name
    return f"labelled {quoted(board.label_found)}" if differs else ""


def phase_words(phases: Phases) -> str:
    """ "3-ph", "L2", "L1 L3", or nothing where no phase is recorded."""
    if phases >= set(PHASES):
        return "3-ph"
    return " ".join(sorted(phases))


def phases_in_full(phases: Phases) -> str:
    """ "three-phase", "phase L2", "phases L1 and L3", or nothing where no phase is recorded."""
    if phases >= set(PHASES):
        return "three-phase"
    return f"phase{'s' * (len(phases) > 1)} {' and '.join(sorted(phases))}" if phases else ""


def origin_words(origin: Origin) -> tuple[str, ...]:
    """Main fuse and phases, earthing and what else is to be said, leaving out what isn't recorded."""
    fuse = f"{origin.fuse_a} A" if origin.fuse_a is not None else ""
    count = f"× {len(origin.phases)}" if fuse and len(origin.phases) > 1 else phase_words(origin.phases)
    lines = (" ".join(filter(None, (fuse, count))), origin.earthing, origin.detail)
    return tuple(line for line in lines if line)


def source_words(source: SourceNode) -> tuple[str, ...]:
    """What it is, what of it stays live, where it is isolated and how long to wait after."""
    if source.plain:
        return (source.plain,)
    kind = " · ".join(filter(None, (f"second source: {SOURCE_WORDS[source.kind]}", source.rating)))
    wait = f"wait {source.wait_minutes} min" if source.wait_minutes else ""
    isolate = f"isolate: {source.isolate}" if source.isolate else ""
    off = " · ".join(filter(None, (isolate, wait)))
    return tuple(line for line in (kind, DAYLIGHT if source.kind == "pv" else "", off) if line)


def in_order(marks: Iterable[Mark]) -> list[Mark]:
    """Worst code first, what is made safe after what is not."""
    rank = {code: place for place, code in enumerate(CODE_ORDER)}
    return sorted(marks, key=lambda m: (rank.get(m.code, len(rank)), m.code, m.made_safe))


def mark_words(mark: Mark) -> str:
    """ "C2 ×3", "C1 ×1 made safe"."""
    return f"{mark.code} ×{mark.count}" + (" made safe" if mark.made_safe else "")


def marks_words(marks: Iterable[Mark]) -> str:
    """All open items of a board in one phrase; empty when there are none."""
    words = ", ".join(mark_words(mark) for mark in in_order(marks))
    return f"open: {words}" if words else ""


def feed_words(feed: FeedEdge, feeder: str) -> str:
    """ "fed from Main intake, way 2 · C63 (believed, not verified)"."""
    also = "alternative feed from" if feed.kind == "alternative" else "fed from"
    doubt = "" if feed.verified else " (believed, not verified)"
    return ", ".join(filter(None, (f"{also} {feeder}", feed.way, feed.changeover))) + doubt


def link_words(link: BorrowedLink, board: str, names: dict[str, str]) -> str:
    """The link as seen from one of its boards: "2L1 shares a neutral with Chandlery 3L2"."""
    here, there, other = link.way_a, link.way_b, link.board_b
    if board != link.board_a:
        here, there, other = link.way_b, link.way_a, link.board_a
    verb = "shares a neutral with" if link.kind == "neutral" else "also fed from or feeding"
    return " ".join(filter(None, (here or "a circuit", verb, names[other], there)))


def links_by_board(graph: SupplyGraph) -> dict[str, list[str]]:
    """Words on borrowed neutrals and second feeds for each board that has any; both ends say it."""
    names = {board.id: board_name(board) for board in graph.boards}
    words: dict[str, list[str]] = defaultdict(list)
    for link in graph.links:
        for board in dict.fromkeys((link.board_a, link.board_b)):
            words[board].append(link_words(link, board, names))
    return words


def summary(graph: SupplyGraph) -> str:
    """One sentence on what the drawing holds, for those who don't see it."""
    counts = ((len(graph.origins), "supply", "supplies"), (len(graph.boards), "board", "boards"))
    more = (len(graph.sources), "second source", "second sources")
    said = [f"{n} {one if n == 1 else many}" for n, one, many in (*counts, *((more,) if more[0] else ()))]
    return f"{', '.join(said)}. The same facts stand in a list beside the drawing."


def key(graph: SupplyGraph) -> tuple[str, ...]:
    """What the signs of this drawing mean; only those that it shows."""
    signs = (
        (any(not feed.verified for feed in graph.feeds), "Dashed line: feed believed, not verified."),
        (any(not board.name_verified for board in graph.boards), "Name in quotes: not verified."),
        (any(feed.kind == "alternative" for feed in graph.feeds), "Open contact on a line: alternative feed."),
        (bool(graph.sources), "Double border: second source."),
    )
    return tuple(words for shown, words in signs if shown)


def nothing_more(_id: str) -> tuple[str, ...]:
    """What there is to say of a thing besides what the graph holds: nothing."""
    return ()


def as_list(
    graph: SupplyGraph, marks: Marks | None = None, more: Callable[[str], tuple[str, ...]] = nothing_more
) -> tuple[Item, ...]:
    """Origins with what they feed, nested as drawn; boards that nothing joins to an origin last, called out.

    `more` gives what else is to be said of the origin, board or source with an id; it stands before the other facts.
    """
    return _Lister(graph, marks or {}, more).items()


class _Lister:
    def __init__(self, graph: SupplyGraph, marks: Marks, more: Callable[[str], tuple[str, ...]]) -> None:
        self.graph, self.marks, self.more = graph, marks, more
        self.where: Depths = depths(graph)
        self.names = {b.id: board_name(b) for b in graph.boards} | {o.id: o.name for o in graph.origins}
        self.links = links_by_board(graph)
        self.feeds: dict[str, list[FeedEdge]] = defaultdict(list)
        for feed in graph.feeds:
            self.feeds[feed.child].append(feed)
        self.lacking: dict[str, list[str]] = defaultdict(list)
        for gap in phases_lacking(graph):
            self.lacking[gap.child].append(f"has {' '.join(gap.phases)}, which {self.names[gap.feeder]} lacks")
        self.in_ring = {board for ring in loops(graph.feeds) for board in ring}

    def items(self) -> tuple[Item, ...]:
        below = self._nested()
        supplies = [
            Item(o.name, "", (*self.more(o.id), *origin_words(o)), tuple(below[o.id])) for o in self.graph.origins
        ]
        if unfed := below[""]:
            supplies.append(Item(UNFED_WORDS, "", (), tuple(unfed)))
        return tuple(supplies)

    def _nested(self) -> dict[str, list[Item]]:
        """Items by feeder, the farthest first, so that no depth of feeds exhausts the stack."""
        below: dict[str, list[Item]] = defaultdict(list)
        sources: dict[str, list[Item]] = defaultdict(list)
        for source in self.graph.sources:
            facts = tuple(filter(None, (*self.more(source.id), source.way, *source_words(source))))
            sources[source.on_board].append(Item(source.name, "", facts))
        boards = {board.id: board for board in self.graph.boards}
        for id_ in sorted(self.where.column, key=self.where.column.__getitem__, reverse=True):
            board = boards[id_]
            item = Item(self.names[id_], board.href, self._facts(board), (*below[id_], *sources[id_]))
            below[self.where.feeder[id_] or ""].append(item)
        return below

    def _facts(self, board: BoardNode) -> tuple[str, ...]:
        facts: Sequence[str] = (
            *self.more(board.id),
            "retired" if board.retired else "",
            "" if board.name_verified else "name not verified",
            label_words(board),
            board.place,
            phases_in_full(board.phases),
            marks_words(self.marks.get(board.id, ())),
            *(feed_words(feed, self.names[feed.feeder]) for feed in self.feeds[board.id]),
            *self.lacking[board.id],
            *self.links[board.id],
            "its feeds run in a ring: put that right" if board.id in self.in_ring else "",
        )
        return tuple(fact for fact in facts if fact)
