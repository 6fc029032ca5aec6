"""What the circuit chart of a board says: what is verified as it is, what is only believed marked so."""

import hashlib
from typing import Any
from uuid import UUID

from jobsite.ledger.rules import canonical
from jobsite.premises.charts import gaps
from jobsite.premises.choices import FeedKind
from jobsite.premises.graph import SupplyGraph, led_to
from jobsite.premises.models import Board, Circuit, Feed, SecondSource
from jobsite.premises.queries.boards import (
    boards_fed,
    feeder_words,
    feeds_words,
    links_of,
    rcd_words,
    sizes_words,
    source_lines,
)
from jobsite.premises.queries.graph import supply_graph
from jobsite.premises.queries.labels import board_label, circuit_words
from jobsite.premises.supply_words import quoted
from jobsite.words import joined, many, measure

Fact = tuple[str, str, bool]  # head, words, whether it is verified or needs no verifying


def chart_facts(board: Board) -> dict[str, Any]:
    """All that the chart says of the board and its ways, as ready strings. Eleven statements whatever the size.

    The same board as recorded gives the same facts: by them the page says whether a chart that was made is out of date.
    """
    graph = supply_graph(board.site)
    circuits = list(board.circuits.current().order_by("way", "phase"))
    rows = ways_of(board, circuits)
    doubts = sum(not row["verified"] for row in rows if row["known"])
    return {
        "board": board_label(board),
        "verified": board.proven,
        "site": board.site.name,
        "address": board.site.one_line,
        "particulars": _particulars(board, graph),
        "sources": sources_reaching(board, graph),
        "ways": rows,
        "count": joined(many(len(circuits), "way"), f"{doubts} not verified" if doubts else ""),
        "doubts": doubts,
    }


def ways_of(board: Board, circuits: list[Circuit]) -> list[dict[str, Any]]:
    """The ways in order, and in their place those of which nothing is recorded. Three statements."""
    feeding, links = boards_fed(board), links_of(board)
    sources: dict[UUID | None, list[SecondSource]] = {}
    for source in board.second_sources.current().order_by("sort", "pk"):
        sources.setdefault(source.circuit_id, []).append(source)
    rows = {(c.way, c.phase): _way(c, feeding, links, sources.get(c.pk, [])) for c in circuits}
    for gap in gaps(list(rows), board.phases):
        rows[gap.first, gap.phase] = _gap(gap.name)
    return [rows[place] for place in sorted(rows)]


def _way(circuit: Circuit, feeding: Any, links: Any, sources: list[SecondSource]) -> dict[str, Any]:
    empty = circuit.spare and not circuit.designation and not circuit.label_found
    notes = [
        feeds_words(feeding.get(circuit.pk, [])),
        *(link["words"] for link in links.get(circuit.pk, [])),
        *(f"{source.get_kind_display()} comes in here" for source in sources),
        f"must not lose power: {circuit.must_not_lose_power}" if circuit.must_not_lose_power else "",
        "spare, not blanked" if circuit.spare and not circuit.blanked else "",
    ]
    return {
        "way": circuit.way_name,
        "what": circuit_words(circuit) if circuit.designation or circuit.label_found or empty else "not described",
        "verified": circuit.proven or empty,
        "known": True,
        "device": circuit.device,
        "rcd": rcd_words(circuit),
        "sizes": sizes_words(circuit).replace("\u202fmm²", ""),
        "points": "" if circuit.points is None else str(circuit.points),
        "notes": "; ".join(filter(None, notes)),
    }


def _gap(way: str) -> dict[str, Any]:
    row = dict.fromkeys(("device", "rcd", "sizes", "points", "notes"), "")
    return row | {"way": way, "what": "nothing recorded", "verified": True, "known": False}


FED: dict[str, str] = {
    FeedKind.NORMAL: "Fed from",
    FeedKind.POSSIBLE: "May be fed from",
    FeedKind.ALTERNATIVE: "Also fed from",
}


def _particulars(board: Board, graph: SupplyGraph) -> list[Fact]:
    facts: list[Fact] = [("Place", board.place, True)]
    for feed in _feeds(board):
        words = feeder_words(feed) if feed.proven else quoted(feeder_words(feed))
        facts.append((FED[feed.kind], joined(words, feed.changeover, by="; "), feed.proven))
    facts += [
        ("Main switch", *_of_the_board(board, board.main_switch)),
        ("Phases", ", ".join(board.phases), True),
        ("Earthing", *_earthing(board, graph)),
        ("Measured", *_of_the_board(board, _measured(board))),
    ]
    return [fact for fact in facts if fact[1]]


def _feeds(board: Board) -> list[Feed]:
    rows = board.feeds.select_related("from_circuit__board", "from_supply")
    return list(rows.order_by("-kind", "pk"))


def _of_the_board(board: Board, words: str) -> tuple[str, bool]:
    """What is on record of a board itself; as little verified as that it is that board."""
    return (words if board.proven or not words else quoted(words)), board.proven


def _measured(board: Board) -> str:
    zdb = f"Zdb {measure(board.zdb_ohm, 'Ω')}" if board.zdb_ohm is not None else ""
    fault = f"fault current {measure(board.fault_current_ka, 'kA')}" if board.fault_current_ka is not None else ""
    return joined(zdb, fault)


def _earthing(board: Board, graph: SupplyGraph) -> tuple[str, bool]:
    """Its own, else that of every supply that any feed leads up to; whether each feed on the way is verified."""
    if board.own_earthing:
        return f"{board.own_earthing}, its own", True
    above = led_to([str(board.pk)], ((feed.child, feed.feeder) for feed in graph.feeds))
    words = " or ".join(dict.fromkeys(origin.earthing for origin in graph.origins if origin.id in above))
    sure = all(feed.verified for feed in graph.feeds if feed.child in above)
    return (words if sure or not words else quoted(words)), sure


def sources_reaching(board: Board, graph: SupplyGraph) -> list[dict[str, str]]:
    """Second sources on the board or on one that it feeds by any feed: they can keep its bars live. One statement."""
    below = led_to([str(board.pk)], ((feed.feeder, feed.child) for feed in graph.feeds))
    there = board.site.second_sources.current().select_related("circuit", "board").order_by("sort", "pk")
    lines = source_lines(there.filter(board__in=[UUID(key) for key in below]))
    return [{name: line[name] for name in ("name", "kind", "at", "isolate")} for line in lines]


def as_said(facts: dict[str, Any]) -> str:
    """The hash of what a chart says: another one means that the board was changed since it was made."""
    return hashlib.sha256(canonical(facts)).hexdigest()
