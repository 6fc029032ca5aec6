"""From rows to the supply graph that the drawing and the isolation rules read."""

from collections import defaultdict
from collections.abc import Collection, Iterable
from dataclasses import replace
from typing import cast
from uuid import UUID

from django.db.models import Q

from jobsite.addresses import address
from jobsite.premises import choices
from jobsite.premises.choices import Earthing, Phase
from jobsite.premises.graph import (
    BoardNode,
    BorrowedLink,
    CircuitNode,
    FeedEdge,
    LinkKind,
    Origin,
    SourceKind,
    SourceNode,
    SupplyGraph,
    SwitchKind,
)
from jobsite.premises.models import Board, Circuit, CircuitLink, Feed, SecondSource, Site, Supply, Unit
from jobsite.premises.queries.labels import circuit_words, way_words
from jobsite.premises.supply_words import names_no_place
from jobsite.words import measure


def supply_graph(site: Site) -> SupplyGraph:
    """The supply of `site` as it is recorded now; what was taken out is left out. Five statements whatever the size."""
    boards = list(site.boards.current().order_by("sort"))
    supplies = list(site.supplies.current().order_by("sort"))
    there = {row.pk for row in (*boards, *supplies)}
    feeds = [feed for feed in _feeds(site) if feed.board_id in there and _feeder_of(feed) in there]
    sources = [source for source in _sources(site) if source.board_id in there]
    links = [link for link in _links(site) if all(_is_there(end, there) for end in (link.one, link.other))]
    met = [feed.from_circuit for feed in feeds] + [source.circuit for source in sources]
    met += [end for link in links for end in (link.one, link.other)]
    return SupplyGraph(
        origins=tuple(map(_origin, supplies)),
        boards=tuple(map(_board, boards)),
        feeds=tuple(map(_feed, feeds)),
        sources=tuple(map(_source, sources)),
        links=tuple(map(_link, links)),
        circuits=tuple({c.pk: _circuit(c) for c in met if c is not None and c.board_id in there}.values()),
    )


def isolation_graph(site: Site, asked: Collection[UUID] = ()) -> SupplyGraph:
    """The supply of `site` with all that isolating needs: loads that must not lose power, units served, circuits `asked`.

    Seven statements whatever the size.
    """
    graph = supply_graph(site)
    boards = {board.id for board in graph.boards}
    rows = site.circuits.current().filter(~Q(must_not_lose_power="") | Q(pk__in=asked)).select_related("unit")
    circuits = {circuit.id: circuit for circuit in graph.circuits}
    circuits |= {
        str(row.pk): _circuit(row, row.unit) for row in rows.order_by("way", "phase") if str(row.board_id) in boards
    }
    units = _units_of_boards(site)
    served = tuple(replace(board, units=tuple(units[board.id])) for board in graph.boards)
    return replace(graph, boards=served, circuits=tuple(circuits.values()))


def _units_of_boards(site: Site) -> dict[str, list[str]]:
    found: dict[str, list[str]] = defaultdict(list)
    serving = Unit.objects.filter(site=site, retired_at__isnull=True, whole_site=False).exclude(boards=None)
    rows: Iterable[tuple[UUID, str]] = serving.order_by("sort").values_list("boards", "name")
    for board, name in rows:
        found[str(board)].append(name)
    return found


def _feeds(site: Site) -> Iterable[Feed]:
    return site.feeds.select_related("from_circuit").order_by("-kind", "pk")


def _feeder_of(feed: Feed) -> UUID | None:
    """The board or supply that a feed comes from; None where its circuit was taken out."""
    circuit = feed.from_circuit
    if circuit is None:
        return feed.from_supply_id
    return circuit.board_id if circuit.retired_at is None else None


def _sources(site: Site) -> list[SecondSource]:
    return list(site.second_sources.current().select_related("circuit").order_by("sort", "pk"))


def _links(site: Site) -> Iterable[CircuitLink]:
    """Links between circuits, also those taken out.

    They are few and looked through afterwards: asked for by columns of joined tables, a planner that has no statistics
    yet (a list of boards was taken in just now) reads all circuits for each of them.
    """
    return site.circuit_links.select_related("one", "other").order_by("pk")


def _is_there(circuit: Circuit, there: Collection[UUID]) -> bool:
    return circuit.retired_at is None and circuit.board_id in there


def _origin(supply: Supply) -> Origin:
    known = supply.earthing != Earthing.UNKNOWN
    ze = f"Ze {measure(supply.ze_ohm, 'Ω')}" if supply.ze_ohm is not None else ""
    fault = f"fault current {measure(supply.fault_current_ka, 'kA')}" if supply.fault_current_ka is not None else ""
    return Origin(
        id=str(supply.pk),
        name=supply.name,
        fuse_a=supply.main_fuse_a,
        phases=frozenset(supply.phases),
        earthing=supply.earthing if known else "earthing not known",
        detail=" · ".join(filter(None, (ze, fault))),
        isolator=supply.isolator,
        switch=cast(SwitchKind, supply.isolator_kind),
    )


def _board(board: Board) -> BoardNode:
    return BoardNode(
        id=str(board.pk),
        name=board.designation,
        name_verified=board.proven,
        label_found=board.label_found,
        place=board.place,
        phases=frozenset(board.phases),
        href=address("premises:board", board.pk),
        main_switch=board.main_switch,
        switch=cast(SwitchKind, board.main_switch_kind),
        own_earthing=board.own_earthing,
    )


def _circuit(circuit: Circuit, unit: Unit | None = None) -> CircuitNode:
    return CircuitNode(
        id=str(circuit.pk),
        board=str(circuit.board_id),
        way=way_words(circuit),
        name=circuit_words(circuit),
        poles=circuit.poles,
        three_phase=circuit.phase == Phase.THREE,
        has_device=bool(circuit.device_standard or circuit.device_type or circuit.rating_a is not None),
        load=circuit.must_not_lose_power,
        unit=unit.name if unit is not None and not unit.whole_site else "",
        name_verified=circuit.proven or (circuit.spare and not circuit.designation and not circuit.label_found),
    )


def _feed(feed: Feed) -> FeedEdge:
    circuit = feed.from_circuit
    return FeedEdge(
        child=str(feed.board_id),
        from_origin=str(feed.from_supply_id) if circuit is None else None,
        from_board=str(circuit.board_id) if circuit is not None else None,
        way=way_words(circuit) if circuit is not None else "",
        # A candidate counts as a normal feed that nobody has verified: it is drawn dashed, and isolation counts each.
        kind="alternative" if feed.kind == choices.FeedKind.ALTERNATIVE else "normal",
        verified=feed.proven,
        circuit=str(circuit.pk) if circuit is not None else None,
        changeover=feed.changeover,
    )


def _source(source: SecondSource) -> SourceNode:
    sides = (source.isolate_supply_side, source.isolate_source_side)
    return SourceNode(
        id=str(source.pk),
        kind=cast(SourceKind, source.kind),
        name=source.name,
        on_board=str(source.board_id),
        way=way_words(source.circuit) if source.circuit is not None else "",
        rating=measure(source.rating_kw, "kW"),
        isolate=" and ".join(filter(None, sides)),
        wait_minutes=source.wait_minutes,
        circuit=str(source.circuit_id) if source.circuit_id else None,
        # "None" is no isolator: taken for one, it would let what the source feeds be called dead.
        supply_side="" if names_no_place(source.isolate_supply_side) else source.isolate_supply_side,
        source_side=source.isolate_source_side,
    )


def _link(link: CircuitLink) -> BorrowedLink:
    return BorrowedLink(
        board_a=str(link.one.board_id),
        way_a=link.one.way_name,
        board_b=str(link.other.board_id),
        way_b=link.other.way_name,
        kind=cast(LinkKind, link.kind),
        circuit_a=str(link.one_id),
        circuit_b=str(link.other_id),
    )
