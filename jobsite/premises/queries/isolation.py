"""What should go dead at a site, as its pages show it: the answer in words, the drawing with it, and what to ask next."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from typing import Any, TypeVar
from uuid import UUID

from jobsite.addresses import address
from jobsite.premises.drawing import NOTHING, drawing_parts, overlay
from jobsite.premises.graph import SupplyGraph
from jobsite.premises.isolation import Work, isolate
from jobsite.premises.isolation.words import Locks, Told, tell
from jobsite.premises.models import Board, Site
from jobsite.premises.queries.graph import isolation_graph
from jobsite.premises.queries.labels import circuit_label
from jobsite.premises.supply_words import board_name
from jobsite.refused import Refused

Key = TypeVar("Key")
KINDS = {
    "circuit": "on one of its circuits",
    "inside": "inside the board",
    "supply": "on its supply side",
}
GONE = "What was asked about is not at this site, or it was taken out. Choose again."


def where_to_ask(site: UUID, works: Iterable[Work] = (), **more: object) -> str:
    """The address of the page that answers for `works`."""
    asked: dict[str, list[str]] = {}
    for work in works:
        asked.setdefault(work.kind, []).append(work.id)
    return address("premises:isolation", site, **asked, **more)


def isolation_page(
    site: Site, works: Sequence[Work], *, board: str = "", kind: str = "", locks: Locks
) -> dict[str, Any]:
    """All that the page shows. `board` and `kind` are chosen so far. Seven statements, one more to choose a circuit.

    `works` that are not at the site are left out, and `refused` says so.
    """
    graph = isolation_graph(site, keys_of(works))
    there = [work for work in works if is_there(graph, work)]
    chosen = board if any(node.id == board for node in graph.boards) else ""
    answer = isolate(graph, *there) if there else None
    drawn = replace(graph, boards=tuple(replace(node, href=_ask(site, node.id, kind)) for node in graph.boards))
    title = "What should go dead" if answer else "How it is supplied"
    if not board and len(there) == 1 and there[0].kind != "circuit":
        chosen, kind = there[0].id, there[0].kind
    missing = len(there) < len(works) or bool(board and not chosen)
    return {
        "told": tell(graph, answer, locks) if answer else None,
        "boards": [(node.id, board_name(node)) for node in graph.boards],
        "kinds": list(KINDS.items()),
        "board": chosen,
        "kind": kind or "inside",
        "circuits": _circuits(site, chosen) if chosen and kind == "circuit" else [],
        "choosing": next((board_name(node) for node in graph.boards if node.id == chosen), ""),
        "drawing": drawing_parts(drawn, None, title, overlay(graph, answer) if answer else NOTHING),
        "refused": Refused(GONE) if missing else None,
    }


def _ask(site: Site, board: str, kind: str) -> str:
    """What a click on a board of the drawing asks: the same kind of work there."""
    if kind in {"inside", "supply"}:
        return where_to_ask(site.pk, [Work(kind, board)])  # type: ignore[arg-type]  # one of the two, as just seen
    return where_to_ask(site.pk, board=board, work=kind or "inside")


def is_there(graph: SupplyGraph, work: Work) -> bool:
    """Whether what the work is about stands in the graph."""
    things = graph.circuits if work.kind == "circuit" else graph.boards
    return any(thing.id == work.id for thing in things)


def keys_of(works: Iterable[Work]) -> list[UUID]:
    """The keys of the circuits among `works`."""
    return [UUID(work.id) for work in works if work.kind == "circuit"]


def in_short(site: Site, works: Sequence[Work], *, locks: Locks | None = None) -> dict[str, Any]:
    """For a page about something else: the points, what may stay live and who loses power. Seven statements.

    "told" (None where nothing of it stands any more), "gone" (something of it was taken out since), "href" of the page that
    says all. {} where there is nothing to ask about.
    """
    return each_in_short(site, {"": works}, locks=locks).get("", {})


def each_in_short(
    site: Site, asked: Mapping[Key, Sequence[Work]], *, locks: Locks | None = None
) -> dict[Key, dict[str, Any]]:
    """`in_short` for several jobs at one site, by the keys of `asked`. Seven statements however many, none for none."""
    if not any(asked.values()):
        return {}
    graph = isolation_graph(site, keys_of(work for works in asked.values() for work in works))
    found: dict[Key, dict[str, Any]] = {}
    for key, works in asked.items():
        if works:
            there = [work for work in works if is_there(graph, work)]
            gone = len(there) < len(works)
            found[key] = {"told": _told(graph, there, locks), "gone": gone, "href": where_to_ask(site.pk, there)}
    return found


def _told(graph: SupplyGraph, works: Sequence[Work], locks: Locks | None) -> Told | None:
    if not works:
        return None
    of_these = _as_asked_for(graph, works)
    return tell(of_these, isolate(of_these, *works), locks or {})


def _as_asked_for(graph: SupplyGraph, works: Iterable[Work]) -> SupplyGraph:
    """`graph` as it would be read for `works` alone: without the circuits that stand in it for other jobs only.

    A circuit that is known changes what is advised: one that may stay live is switched off too.
    """
    own = {work.id for work in works}
    joins = {feed.circuit for feed in graph.feeds} | {source.circuit for source in graph.sources}
    joins |= {end for link in graph.links for end in (link.circuit_a, link.circuit_b)}
    kept = [
        circuit if circuit.id in own or circuit.load else replace(circuit, unit="")
        for circuit in graph.circuits
        if circuit.id in own or circuit.load or circuit.id in joins
    ]
    return replace(graph, circuits=tuple(kept))


def of_board(board: Board, locks: Locks | None = None) -> dict[str, Any]:
    """`in_short` for work inside the board, with the addresses for the other kinds of work there."""
    if board.retired_at:
        return {}
    key = str(board.pk)
    others = [
        {"words": words, "href": where_to_ask(board.site_id, board=key, work=kind)}
        for kind, words in KINDS.items()
        if kind != "inside"
    ]
    return in_short(board.site, [Work("inside", key)], locks=locks) | {"others": others}


def _circuits(site: Site, board: str) -> list[dict[str, str]]:
    rows = site.circuits.current().filter(board_id=UUID(board)).order_by("way", "phase")
    return [
        {"words": circuit_label(row), "href": where_to_ask(site.pk, [Work("circuit", str(row.pk))])} for row in rows
    ]


def work_of(board: UUID | None, circuit: UUID | None) -> Work | None:
    """The work that something at a board or circuit asks for: on the circuit, else inside the board."""
    if circuit:
        return Work("circuit", str(circuit))
    return Work("inside", str(board)) if board else None
