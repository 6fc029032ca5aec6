"""From rows to the supply graph that the drawing and the isolation rules read."""

from typing import cast

from django.urls import reverse

from jobsite.premises import choices
from jobsite.premises.choices import Earthing
from jobsite.premises.graph import (
    BoardNode,
    BorrowedLink,
    FeedEdge,
    LinkKind,
    Origin,
    SourceKind,
    SourceNode,
    SupplyGraph,
)
from jobsite.premises.models import Board, CircuitLink, Feed, SecondSource, Site, Supply
from jobsite.premises.queries.labels import way_words
from jobsite.words import measure


def supply_graph(site: Site) -> SupplyGraph:
    """The supply of `site` as it is recorded now; what was taken out is left out. Five statements whatever the size."""
    boards = list(site.boards.current().order_by("sort"))
    there = {board.pk for board in boards}
    return SupplyGraph(
        origins=tuple(map(_origin, site.supplies.current().order_by("sort"))),
        boards=tuple(map(_board, boards)),
        feeds=tuple(_feed(feed) for feed in _feeds(site) if feed.board_id in there),
        sources=tuple(_source(source) for source in _sources(site) if source.board_id in there),
        links=tuple(_link(link) for link in _links(site)),
    )


def _feeds(site: Site) -> list[Feed]:
    feeds = Feed.objects.filter(site=site).select_related("from_circuit__board", "from_supply")
    normal_first = feeds.order_by("-kind", "pk")
    return [feed for feed in normal_first if _stands(feed)]


def _stands(feed: Feed) -> bool:
    circuit, supply = feed.from_circuit, feed.from_supply
    if circuit is not None:
        return circuit.retired_at is None and circuit.board.retired_at is None
    return supply is not None and supply.retired_at is None


def _sources(site: Site) -> list[SecondSource]:
    return list(site.second_sources.current().select_related("circuit").order_by("sort", "pk"))


def _links(site: Site) -> list[CircuitLink]:
    links = site.circuit_links.filter(
        one__retired_at__isnull=True,
        other__retired_at__isnull=True,
        one__board__retired_at__isnull=True,
        other__board__retired_at__isnull=True,
    )
    return list(links.select_related("one", "other").order_by("pk"))


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
    )


def _board(board: Board) -> BoardNode:
    return BoardNode(
        id=str(board.pk),
        name=board.designation,
        name_verified=board.designation_verified,
        label_found=board.label_found,
        place=board.place,
        phases=frozenset(board.phases),
        href=reverse("premises:board", args=[board.pk]),
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
        verified=feed.verified,
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
    )


def _link(link: CircuitLink) -> BorrowedLink:
    return BorrowedLink(
        board_a=str(link.one.board_id),
        way_a=link.one.way_name,
        board_b=str(link.other.board_id),
        way_b=link.other.way_name,
        kind=cast(LinkKind, link.kind),
    )
