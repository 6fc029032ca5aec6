"""Supplies, boards, circuits, feeds, links between circuits, second sources, to read. What is not a field is not given out.

Verified how: what somebody was only told is no proof and counts as believed.
"""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.premises.choices import FeedKind
from jobsite.premises.models import Board, Circuit, CircuitLink, Feed, SecondSource, Supply
from remedials.desk.api.premises.nouns import OfSiteFilter
from remedials.desk.api.reading import List, One

BOARDS = Board.objects.prefetch_related("units")


class SupplyShown(serializers.ModelSerializer):
    """Where the network comes in. Nominal volts to earth, main fuse in amperes, Ze in ohms, fault current in kA.

    `isolator`: the customer's own between the meter and the boards; `isolator_kind`: what it disconnects.
    """

    class Meta:
        model = Supply
        fields = [
            "id", "site", "name", "phases", "voltage", "main_fuse_a", "earthing", "ze_ohm", "fault_current_ka", "isolator",
            "isolator_kind", "retired_at", "version",
        ]  # fmt: skip


class BoardShown(serializers.ModelSerializer):
    """A board: what the firm has verified, and what its label claims. Impedances in ohms, fault current in kA.

    Verified how: what somebody was only told is no proof and counts as believed.
    """

    class Meta:
        model = Board
        fields = [
            "id", "site", "designation", "label_found", "label_noted_by", "label_noted_on", "designation_verified",
            "verified_by", "verified_on", "verified_how", "place", "phases", "main_switch", "main_switch_kind",
            "own_earthing", "zdb_ohm", "fault_current_ka", "units", "notes", "replaced_by", "retired_at", "version",
        ]  # fmt: skip


class CircuitShown(serializers.ModelSerializer):
    """A way of a board and the circuit on it. Rating in amperes, residual current in mA, conductors in mm² and m.

    `phase` "3": three-phase. `designation` is what the firm says it is, `label_found` what is written at the board.
    """

    class Meta:
        model = Circuit
        fields = [
            "id", "site", "board", "unit", "way", "phase", "label_found", "label_noted_by", "label_noted_on", "designation",
            "verified_by", "verified_on", "verified_how", "device_standard", "device_type", "rating_a", "poles",
            "breaking_capacity_ka", "rcd_kind", "rcd_ma", "rcd_shared", "arrangement", "line_mm2", "cpc_mm2", "length_m",
            "points", "must_not_lose_power", "spare", "blanked", "retired_at", "version",
        ]  # fmt: skip


class FeedShown(serializers.ModelSerializer):
    """Where a board is fed from: one circuit or one supply. `changeover`: how an alternative feed takes over, and where."""

    class Meta:
        model = Feed
        fields = [
            "id", "site", "board", "from_circuit", "from_supply", "kind", "verified", "verified_by", "verified_on",
            "verified_how", "changeover", "version",
        ]  # fmt: skip


class CircuitLinkShown(serializers.ModelSerializer):
    """Two circuits that share a neutral, or of which one is also fed from the other: switching off one leaves the other live."""

    class Meta:
        model = CircuitLink
        fields = ["id", "site", "one", "other", "kind", "noted_by", "noted_on"]


class SecondSourceShown(serializers.ModelSerializer):
    """A source besides the network: rating in kW, where it is isolated on each side, minutes to wait after."""

    class Meta:
        model = SecondSource
        fields = [
            "id", "site", "name", "kind", "board", "circuit", "rating_kw", "phases", "isolate_supply_side",
            "isolate_source_side", "wait_minutes", "retired_at", "version",
        ]  # fmt: skip


class BoardFilter(OfSiteFilter):
    unit = django_filters.UUIDFilter(field_name="units", label="a unit that it serves", distinct=True)


class CircuitFilter(OfSiteFilter):
    board = django_filters.UUIDFilter(field_name="board_id")
    unit = django_filters.UUIDFilter(field_name="unit_id")


class FeedFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    board = django_filters.UUIDFilter(field_name="board_id")
    from_circuit = django_filters.UUIDFilter(field_name="from_circuit_id")
    from_supply = django_filters.UUIDFilter(field_name="from_supply_id")
    kind = django_filters.MultipleChoiceFilter(choices=FeedKind.choices)


class CircuitLinkFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    circuit = django_filters.UUIDFilter(method="by_circuit", label="either of its two circuits")

    def by_circuit(self, rows: QuerySet[Any], name: str, value: Any) -> QuerySet[Any]:
        return rows.filter(Q(one=value) | Q(other=value))


class SecondSourceFilter(OfSiteFilter):
    board = django_filters.UUIDFilter(field_name="board_id")


@extend_schema_view(get=extend_schema(summary="Supplies, in the order in which they were recorded."))
class Supplies(List):
    queryset = Supply.objects.all()
    serializer_class = SupplyShown
    filterset_class = OfSiteFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One supply."))
class OneSupply(One):
    queryset = Supply.objects.all()
    serializer_class = SupplyShown


@extend_schema_view(get=extend_schema(summary="Boards, in the order in which they were recorded."))
class Boards(List):
    queryset = BOARDS
    serializer_class = BoardShown
    filterset_class = BoardFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One board."))
class OneBoard(One):
    queryset = BOARDS
    serializer_class = BoardShown


@extend_schema_view(get=extend_schema(summary="Circuits, in the order in which they were recorded."))
class Circuits(List):
    queryset = Circuit.objects.all()
    serializer_class = CircuitShown
    filterset_class = CircuitFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One circuit."))
class OneCircuit(One):
    queryset = Circuit.objects.all()
    serializer_class = CircuitShown


@extend_schema_view(get=extend_schema(summary="Feeds of boards, in the order in which they were recorded."))
class Feeds(List):
    queryset = Feed.objects.all()
    serializer_class = FeedShown
    filterset_class = FeedFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One feed of a board."))
class OneFeed(One):
    queryset = Feed.objects.all()
    serializer_class = FeedShown


@extend_schema_view(get=extend_schema(summary="Circuits that hang together, in the order in which it was noted."))
class CircuitLinks(List):
    queryset = CircuitLink.objects.all()
    serializer_class = CircuitLinkShown
    filterset_class = CircuitLinkFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="Two circuits that hang together."))
class OneCircuitLink(One):
    queryset = CircuitLink.objects.all()
    serializer_class = CircuitLinkShown


@extend_schema_view(get=extend_schema(summary="Second sources, in the order in which they were recorded."))
class SecondSources(List):
    queryset = SecondSource.objects.all()
    serializer_class = SecondSourceShown
    filterset_class = SecondSourceFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One second source."))
class OneSecondSource(One):
    queryset = SecondSource.objects.all()
    serializer_class = SecondSourceShown
