"""Where the labels of a site disagree with each other or with what is verified."""

from collections import defaultdict
from typing import Any
from uuid import UUID

from django.urls import reverse

from jobsite.premises.choices import FeedKind
from jobsite.premises.graph import SupplyGraph
from jobsite.premises.labels import Disagreement, Kind, LabelledBoard, LabelledWay, disagreements
from jobsite.premises.models import Circuit, Feed, Site
from jobsite.premises.supply_words import quoted

DISAGREEMENT_HEADS = ("Board", "Way", "Label", "What is wrong", "Why")


def labels_page(site: Site, *, board: UUID | None = None, kind: str = "") -> dict[str, Any]:
    """Every label of `site` that disagrees, of one board or one kind where asked for. Three statements whatever the size."""
    record = _Record(site, _boards(site))
    found = record.found
    rows = [one for one in found if kind in ("", one.kind) and board in (None, UUID(one.board))]
    counts = {one: sum(f.kind == one for f in found) for one in Kind}
    return {
        "rows": [record.row(one) for one in rows],
        "cells": [record.cells(one) for one in rows],
        "count": len(found),
        "kinds": [(one.value, f"{one.words} ({counts[one]})") for one in Kind if counts[one]],
        "boards": [(key, name) for key, name in record.names.items()],
        "unverified": record.unverified,
    }


def count_disagreements(site: Site, graph: SupplyGraph) -> int:
    """How many labels of `site` disagree; its boards are read from its supply `graph`. Two statements whatever the size."""
    boards = [LabelledBoard(one.id, one.name, one.name_verified, one.label_found) for one in graph.boards]
    return len(_Record(site, boards).found) if boards else 0


def disagreements_of(site: Site) -> list[Disagreement]:
    """Every label of `site` that disagrees. Three statements whatever the size."""
    return list(_Record(site, _boards(site)).found)


class _Record:
    """What is written and what is known at a site, as the rule reads it."""

    def __init__(self, site: Site, boards: list[LabelledBoard]) -> None:
        self.names = {board.id: board.name for board in boards}
        feeds = _verified_feeds(site)
        self.ways = {str(row.pk): _labelled(row, feeds) for row in _circuits(site)}
        self.found = disagreements(boards, self.ways.values())
        self.unverified = self._unverified(boards)

    def _unverified(self, boards: list[LabelledBoard]) -> str:
        left = sum(not board.verified for board in boards)
        ways = sum(not way.verified and not way.spare for way in self.ways.values())
        return f"Not verified yet: {left} of {len(boards)} boards, {ways} of {len(self.ways)} ways."

    def row(self, one: Disagreement) -> dict[str, str]:
        here = f"#way-{one.way}" if one.way else ""
        return {
            "board": self.names[one.board],
            "href": reverse("premises:at_the_board", args=[one.board]) + here,
            "way": self.ways[one.way].way if one.way else "the board itself",
            "label": quoted(one.label) if one.label else "no label",
            "kind": one.kind.words,
            "why": one.sentence,
            "danger": "yes" if one.kind is Kind.OPEN_WAY else "",
        }

    def cells(self, one: Disagreement) -> tuple[str, ...]:
        way = self.ways[one.way].way if one.way else ""
        return (self.names[one.board], way, one.label, one.kind.words, one.sentence)


def _boards(site: Site) -> list[LabelledBoard]:
    rows = site.boards.current().order_by("sort")
    rows = rows.only("pk", "site", "designation", "designation_verified", "verified_how", "label_found")
    return [LabelledBoard(str(row.pk), row.designation, row.proven, row.label_found) for row in rows]


def _circuits(site: Site) -> Any:
    """Only the columns that the rule reads: a large site has hundreds."""
    rows = Circuit.objects.current().filter(site=site, board__retired_at__isnull=True)
    rows = rows.order_by("board__sort", "way", "phase")
    return rows.only(
        "pk", "board_id", "way", "phase", "label_found", "designation", "verified_how", "spare", "blanked"
    )  # fmt: skip


def _verified_feeds(site: Site) -> dict[UUID, list[str]]:
    """By circuit, the boards that a verified normal feed leads to."""
    found: dict[UUID, list[str]] = defaultdict(list)
    feeds = Feed.objects.proven().filter(site=site, kind=FeedKind.NORMAL, board__retired_at__isnull=True)
    for circuit, board in feeds.exclude(from_circuit=None).values_list("from_circuit", "board"):
        found[circuit].append(str(board))
    return found


def _labelled(circuit: Circuit, feeds: dict[UUID, list[str]]) -> LabelledWay:
    return LabelledWay(
        id=str(circuit.pk),
        board=str(circuit.board_id),
        way=circuit.way_name,
        label=circuit.label_found,
        what=circuit.designation,
        verified=circuit.proven,
        spare=circuit.spare,
        blanked=circuit.blanked,
        feeds=tuple(feeds.get(circuit.pk, ())),
    )
