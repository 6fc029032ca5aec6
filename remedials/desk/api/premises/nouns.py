"""Sites and boards, to read. What is not a field here is not given out."""

import django_filters
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.premises.models import Board, Site
from remedials.desk.api.reading import Archived, List, One

SITES = Site.objects.all()
BOARDS = Board.objects.prefetch_related("units")


class SiteShown(serializers.ModelSerializer):
    """A site."""

    class Meta:
        model = Site
        fields = [
            "id", "number", "name", "address", "postcode", "nation", "access_notes", "latitude", "longitude", "customer",
            "archived_at", "version",
        ]  # fmt: skip


class BoardShown(serializers.ModelSerializer):
    """A board: what the firm has verified, and what its label claims. Impedances in ohms, fault current in kA.

    Verified how: what somebody was only told is no proof and counts as believed.
    """

    class Meta:
        model = Board
        fields = [
            "id", "site", "designation", "label_found", "designation_verified", "verified_on", "verified_how", "place",
            "phases", "main_switch", "main_switch_kind", "own_earthing", "zdb_ohm", "fault_current_ka", "units", "notes", "retired_at",
            "version",
        ]  # fmt: skip


class SiteFilter(Archived):
    gone = "archived_at"
    customer = django_filters.UUIDFilter(field_name="customer_id")


class BoardFilter(Archived):
    site = django_filters.UUIDFilter(field_name="site_id")


@extend_schema_view(get=extend_schema(summary="Sites, in the order of their numbers."))
class Sites(List):
    queryset = SITES
    serializer_class = SiteShown
    filterset_class = SiteFilter


@extend_schema_view(get=extend_schema(summary="One site."))
class OneSite(One):
    queryset = SITES
    serializer_class = SiteShown


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
