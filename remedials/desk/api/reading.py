"""The nouns: sites, boards, observations and remedials, to read. What is not a field here is not given out."""

from typing import Any, ClassVar

import django_filters
from django.db.models import QuerySet
from django_filters.rest_framework import DjangoFilterBackend, FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.filters import BaseFilterBackend
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from inspections.choices import Code
from inspections.models import Observation
from jobsite.api.headers import ETAG_HEADER, etag
from jobsite.premises.models import Board, Site
from remedials.desk.api.ground import Door
from remedials.works.models import Remedial, RequiredReading
from remedials.works.states import WORDS

YES_OR_NO = [("true", "true"), ("false", "false")]
NOT_CODED = ("none", "not coded")


# --- what is shown ----------------------------------------------------------------------------------------------------


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


class ObservationShown(serializers.ModelSerializer):
    """An observation: `code_written` as the report has it, `code` the one in force, "" while nobody has coded it."""

    class Meta:
        model = Observation
        fields = [
            "id", "number", "site", "unit", "board", "circuit", "place", "inspection", "item", "text", "code_written",
            "code", "reviewed", "recorded_on", "first_recorded_on", "reported_by", "continues", "make_safe_by", "remedy_by",
            "remedy_basis", "remedy_by_law", "made_safe", "owner", "step_by", "ended", "ended_on", "ended_reason", "version",
        ]  # fmt: skip


class RequiredReadingShown(serializers.ModelSerializer):
    """A reading that a remedial must pass; its limit in the quantity's unit where a person entered one."""

    class Meta:
        model = RequiredReading
        fields = ["circuit", "quantity", "limit_entered", "limit_source"]


class RemedialShown(serializers.ModelSerializer):
    """A remedial, with the observations that it puts right and the readings that it must pass."""

    observations: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    required_readings = RequiredReadingShown(many=True, read_only=True)
    stage = serializers.ChoiceField(choices=Remedial.STAGES)

    class Meta:
        model = Remedial
        fields = [
            "id", "number", "site", "unit", "observations", "work", "stage", "skill", "minutes", "power_off",
            "see_to_first", "parts_ready_on", "photo_required", "certificate_kind", "notifiable", "network", "owner", "step_by", "call_back_of", "made_at",
            "required_readings", "version",
        ]  # fmt: skip


# --- what may be asked for --------------------------------------------------------------------------------------------


class OnlyKnown(BaseFilterBackend):
    """Refuses a query that nothing reads: a misspelt filter would answer the whole list as if it were a part of it."""

    always: ClassVar[set[str]] = {"cursor", "page_size"}

    def filter_queryset(self, request: Request, queryset: QuerySet[Any], view: APIView) -> QuerySet[Any]:
        known = self.always | set(getattr(view, "filterset_class").base_filters)  # noqa: B009 - mypy does not know it
        if unknown := sorted(set(request.query_params) - known):
            raise ValidationError({name: ["There is no such filter."] for name in unknown})
        return queryset


class Archived(FilterSet):
    """`current=true`: without what is archived."""

    gone = "retired_at"
    current = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_current", label="not archived or retired")

    def by_current(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(**{f"{self.gone}__isnull": value == "true"})


class SiteFilter(Archived):
    gone = "archived_at"
    customer = django_filters.UUIDFilter(field_name="customer_id")


class BoardFilter(Archived):
    site = django_filters.UUIDFilter(field_name="site_id")


class ObservationFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    unit = django_filters.UUIDFilter(field_name="unit_id")
    board = django_filters.UUIDFilter(field_name="board_id")
    inspection = django_filters.UUIDFilter(field_name="inspection_id")
    code = django_filters.MultipleChoiceFilter(
        choices=[*Code.choices, NOT_CODED], method="by_code", label="code in force"
    )
    open = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_open", label="nothing has ended it")

    def by_code(self, rows: QuerySet[Any], name: str, value: list[str]) -> QuerySet[Any]:
        codes = ["" if code == NOT_CODED[0] else code for code in value]
        return rows.filter(code__in=codes) if codes else rows

    def by_open(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(ended="") if value == "true" else rows.exclude(ended="")


class RemedialFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    observation = django_filters.UUIDFilter(method="by_observation", label="an observation that it puts right")
    stage = django_filters.MultipleChoiceFilter(choices=[(stage.value, words) for stage, words in WORDS.items()])
    open = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_open", label="keeps its observations open")

    def by_observation(self, rows: QuerySet[Any], name: str, value: Any) -> QuerySet[Any]:
        return rows.filter(remedies__observation=value)

    def by_open(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        unfinished = Remedial.objects.unfinished().values("pk")
        return rows.filter(pk__in=unfinished) if value == "true" else rows.exclude(pk__in=unfinished)


# --- views ------------------------------------------------------------------------------------------------------------


class Rows(Door):
    """The rows of one kind that this person may see."""

    queryset: QuerySet[Any]

    def get_queryset(self) -> QuerySet[Any]:
        """Through the one door to rows; while the schema is drawn there is nobody to see any."""
        if getattr(self, "swagger_fake_view", False):
            return self.queryset.none()
        return self.queryset.visible_to(self.request.user)  # type: ignore[attr-defined]


class List(ListModelMixin, Rows):
    """A list, by key."""

    filter_backends = [OnlyKnown, DjangoFilterBackend]
    ordering = "number"

    def get(self, request: Request) -> Response:
        """The list."""
        return self.list(request)


class One(Rows):
    """One row."""

    filter_backends = ()
    lookup_field = "pk"

    @extend_schema(parameters=[ETAG_HEADER])
    def get(self, request: Request, **kwargs: Any) -> Response:
        """The row; its version, where it has one, also as its ETag."""
        row = self.get_object()
        tag = etag(row)
        return Response(self.get_serializer(row).data, headers={"ETag": tag} if tag else None)


SITES = Site.objects.all()
BOARDS = Board.objects.prefetch_related("units")
OBSERVATIONS = Observation.objects.filter(draft=False)
REMEDIALS = Remedial.objects.prefetch_related("observations", "required_readings")


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


@extend_schema_view(get=extend_schema(summary="Observations, in the order of their numbers, but for those of drafts."))
class Observations(List):
    queryset = OBSERVATIONS
    serializer_class = ObservationShown
    filterset_class = ObservationFilter


@extend_schema_view(get=extend_schema(summary="One observation."))
class OneObservation(One):
    queryset = OBSERVATIONS
    serializer_class = ObservationShown


@extend_schema_view(get=extend_schema(summary="Remedials, in the order of their numbers."))
class Remedials(List):
    queryset = REMEDIALS
    serializer_class = RemedialShown
    filterset_class = RemedialFilter


@extend_schema_view(get=extend_schema(summary="One remedial."))
class OneRemedial(One):
    queryset = REMEDIALS
    serializer_class = RemedialShown
