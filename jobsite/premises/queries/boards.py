"""A board with its ways in order, what feeds it, what it feeds, what hangs together with other boards."""

from collections import defaultdict
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.urls import reverse

from jobsite.premises.choices import FeedKind
from jobsite.premises.models import Board, Circuit, CircuitLink, Feed, SecondSource
from jobsite.premises.queries.labels import board_label, circuit_label, circuit_words, how_known, way_words
from jobsite.premises.supply_words import quoted
from jobsite.words import measure

__all__ = ["board_page", "circuit_label", "source_lines"]

UNSEEN: dict[str, str] = {FeedKind.POSSIBLE: "not verified"}


def board_page(board: Board) -> dict[str, Any]:
    """All that the page of a board shows, as ready strings. Six statements whatever the size.

    `board` is best read with `select_related("site", "verified_by")`.
    """
    circuits = list(board.circuits.current().order_by("way", "phase"))
    feeds, feeding, links = _feeds(board), boards_fed(board), links_of(board)
    return {
        "name": board_label(board),
        "facts": _facts(board, circuits),
        "feeds": [_feed(feed) for feed in feeds],
        "feed_unsure": not any(feed.proven and feed.kind == FeedKind.NORMAL for feed in feeds),
        "ways": [_way(circuit, feeding, links) for circuit in circuits],
        "sources": source_lines(board.second_sources.current().select_related("circuit", "board").order_by("sort")),
        "next_way": max((circuit.way for circuit in circuits), default=0) + 1,
    }


def _facts(board: Board, circuits: list[Circuit]) -> list[tuple[str, str]]:
    label = quoted(board.label_found) if board.label_found and board.label_found != board.designation else ""
    facts = [
        ("Place", board.place),
        ("Label found on it", label),
        ("Designation", _verified(board)),
        ("Phases", ", ".join(board.phases)),
        ("Main switch", _main_switch(board)),
        ("Its own earthing", board.get_own_earthing_display()),
        ("Zdb", measure(board.zdb_ohm, "Ω")),
        ("Prospective fault current", _fault_current(board, circuits)),
        ("Serves", ", ".join(unit.name for unit in board.units.order_by("sort"))),
        ("Notes", board.notes),
    ]
    return [(name, value) for name, value in facts if value]


def _fault_current(board: Board, circuits: list[Circuit]) -> str:
    """The fault current on record of the board, and which of its devices on record break less."""
    most = board.fault_current_ka
    if most is None:
        return ""
    ways = [c.way_name for c in circuits if not c.spare and c.breaking_capacity_ka and c.breaking_capacity_ka < most]
    weak = f"more than the device breaks at way {', '.join(ways)}: a qualified person decides" if ways else ""
    return "; ".join(filter(None, (measure(most, "kA"), weak)))


def _main_switch(board: Board) -> str:
    kind = f"disconnects {board.get_main_switch_kind_display()}" if board.main_switch_kind in {"all", "lines"} else ""
    if not kind and board.main_switch_kind:
        kind = board.get_main_switch_kind_display()
    return "; ".join(filter(None, (board.main_switch, kind or "what it disconnects is not recorded")))


def _verified(board: Board) -> str:
    if not board.designation_verified:
        return "believed, not verified"
    return how_known(board)


def _feeds(board: Board) -> list[Feed]:
    rows = board.feeds.select_related("from_circuit__board", "from_supply", "verified_by")
    return list(rows.order_by("-kind", "pk"))


def feeder_words(feed: Feed) -> str:
    """ "Main intake, way 4L2", or the name of the supply."""
    if feed.from_circuit is None:
        return str(feed.from_supply)
    return f"{board_label(feed.from_circuit.board)}, {way_words(feed.from_circuit)}"


def _feed(feed: Feed) -> dict[str, str]:
    href = reverse("premises:board", args=[feed.from_circuit.board_id]) if feed.from_circuit else ""
    return {
        "kind": feed.get_kind_display(),
        "where": feeder_words(feed),
        "href": href,
        "seen": how_known(feed) if feed.verified else UNSEEN.get(feed.kind, "believed, not verified"),
        "changeover": feed.changeover,
        "edit": reverse("premises:feed_edit", args=[feed.pk]),
        "remove": reverse("premises:feed_remove", args=[feed.pk]),
    }


def boards_fed(board: Board) -> dict[UUID, list[dict[str, str]]]:
    """By circuit, the boards that it feeds, each in words with its address. One statement."""
    found: dict[UUID, list[dict[str, str]]] = defaultdict(list)
    onward = Feed.objects.filter(from_circuit__board=board, board__retired_at__isnull=True)
    for feed in onward.select_related("board").order_by("board__sort"):
        doubt = "" if feed.proven else " (possibly)" if feed.kind == FeedKind.POSSIBLE else " (believed)"
        href = reverse("premises:board", args=[feed.board_id])
        found[feed.from_circuit_id].append({"words": f"{board_label(feed.board)}{doubt}", "href": href})  # type: ignore[index]
    return found


def links_of(board: Board) -> dict[UUID, list[dict[str, str]]]:
    """By circuit of this board, what it shares with others, seen from here. One statement."""
    found: dict[UUID, list[dict[str, str]]] = defaultdict(list)
    rows = CircuitLink.objects.filter(Q(one__board=board) | Q(other__board=board))
    for link in rows.select_related("one__board", "other__board").order_by("pk"):
        for here, there in ((link.one, link.other), (link.other, link.one)):
            if here.board_id == board.pk:
                words = f"{link.get_kind_display()} {board_label(there.board)} {circuit_label(there)}"
                remove = reverse("premises:link_remove", args=[link.pk])
                found[here.pk].append({"words": words, "remove": remove})
    return found


def _way(
    circuit: Circuit, feeding: dict[UUID, list[dict[str, str]]], links: dict[UUID, list[dict[str, str]]]
) -> dict[str, Any]:
    label = circuit.label_found if circuit.designation and circuit.label_found != circuit.designation else ""
    return {
        "way": circuit.way_name,
        "what": circuit_words(circuit),
        "label": f"labelled {quoted(label)}" if label else "",
        "device": device_words(circuit),
        "rcd": rcd_words(circuit),
        "arrangement": circuit.get_arrangement_display() if circuit.arrangement else "",
        "sizes": ", ".join(filter(None, (sizes_words(circuit), _short(circuit.length_m, "m")))),
        "points": str(circuit.points) if circuit.points is not None else "",
        "more": _more(circuit),
        "css": "gone" if circuit.spare else "",
        "edit": reverse("premises:circuit_edit", args=[circuit.pk]),
        "link": reverse("premises:link_new", args=[circuit.pk]),
        "feeding": feeding.get(circuit.pk, []),
        "links": links.get(circuit.pk, []),
    }


def feeds_words(boards: list[dict[str, str]]) -> str:
    """ "feeds Chandlery, Shed (believed)", of boards as `boards_fed` finds them; "" for none."""
    return f"feeds {', '.join(board['words'] for board in boards)}" if boards else ""


def rcd_words(circuit: Circuit) -> str:
    """ "30 mA, type A, shared"; "" where no RCD is recorded."""
    if not circuit.rcd_kind and circuit.rcd_ma is None:
        return ""
    kind = circuit.get_rcd_kind_display() if circuit.rcd_kind else ""
    shared = "shared" if circuit.rcd_shared else ""
    return ", ".join(filter(None, (measure(circuit.rcd_ma, "mA"), kind, shared)))


def sizes_words(circuit: Circuit) -> str:
    """Line conductor and cpc with their unit; "" where neither is recorded."""
    sizes = [f"{size.normalize():f}" for size in (circuit.line_mm2, circuit.cpc_mm2) if size is not None]
    return measure_of(" / ".join(sizes))


def _short(value: Decimal | None, unit: str) -> str:
    """A value with its unit, without noughts behind the point; "" for none."""
    return "" if value is None else measure(Decimal(f"{value.normalize():f}"), unit)


def device_words(circuit: Circuit) -> str:
    """The protective device with what it can break, where that is known: "B32, breaks 6 kA"."""
    breaks = _short(circuit.breaking_capacity_ka, "kA")
    return ", ".join(filter(None, (circuit.device, breaks and f"breaks {breaks}")))


def measure_of(sizes: str) -> str:
    """Conductor sizes with their unit; "" for none."""
    return f"{sizes}\u202fmm²" if sizes else ""


def _more(circuit: Circuit) -> str:
    spare = ("spare, blanked" if circuit.blanked else "spare, not blanked") if circuit.spare else ""
    keep = f"must not lose power: {circuit.must_not_lose_power}" if circuit.must_not_lose_power else ""
    return "; ".join(filter(None, (spare, keep)))


def source_lines(sources: Any) -> list[dict[str, str]]:
    """Second sources as lines: `sources` a queryset with `select_related("circuit", "board")`. One statement."""
    return [_source(source) for source in sources]


def _source(source: SecondSource) -> dict[str, str]:
    at = f"{board_label(source.board)}, {way_words(source.circuit)}" if source.circuit else board_label(source.board)
    kind = " ".join(filter(None, (source.get_kind_display(), measure(source.rating_kw, "kW"))))
    supply_side = f"on the supply side at {source.isolate_supply_side}" if source.isolate_supply_side else ""
    source_side = f"on its own side at {source.isolate_source_side}" if source.isolate_source_side else ""
    isolate = " and ".join(filter(None, (supply_side, source_side)))
    wait = f"then wait {source.wait_minutes} min" if source.wait_minutes else ""
    return {
        "name": source.name,
        "kind": f"{kind}, {', '.join(source.phases)}",
        "at": at,
        "isolate": ", ".join(filter(None, (isolate and f"isolated {isolate}", wait)))
        or "where it is isolated: not known",
        "edit": reverse("premises:source_edit", args=[source.pk]),
    }
