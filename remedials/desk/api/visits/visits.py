"""Visits to read: who goes where, when and what for. Nothing of prices, and never an alarm code."""

from typing import Any

import django_filters
from django.db.models import Prefetch, Q, QuerySet
from django.http.response import HttpResponseBase
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from jobsite.downloads import as_pdf
from remedials.desk.api.files import PDF, File, file
from remedials.desk.api.ground import rows
from remedials.desk.api.reading import InstantFilter, List, One, Rows
from remedials.desk.queries.visits import own
from remedials.visits import queries
from remedials.visits.models import Attendance, Confirmation, Visit, VisitLine, VisitMove
from remedials.visits.queries import bring

# --- what is shown ----------------------------------------------------------------------------------------------------


class VisitLineShown(serializers.ModelSerializer):
    """One thing to be done: a remedial, an inspection of a unit, a look at an observation. Not `active`: taken off it."""

    class Meta:
        model = VisitLine
        fields = ["id", "kind", "remedial", "unit", "observation", "active", "settled_at"]


class VisitShown(serializers.ModelSerializer):
    """A visit: when (instants), who goes, what for, what goes off, and how the customer stands to its time."""

    engineers = serializers.SerializerMethodField()
    lines: Any = VisitLineShown(many=True, read_only=True)

    class Meta:
        model = Visit
        fields = [
            "id", "number", "site", "start", "end", "state", "engineers", "lines", "access", "outage", "outage_with",
            "outage_start", "outage_end", "permits", "locks", "emergency", "despite", "answered", "confirm_by", "booked_by",
            "booked_at", "cancelled_reason", "version",
        ]  # fmt: skip

    def get_engineers(self, visit: Visit) -> list[str]:
        """Keys of who goes, the first of them first."""
        off = visit.state == Visit.State.CANCELLED  # nobody goes; it shows who would have gone
        return [str(one_of.engineer_id) for one_of in visit.attendances.all() if off or not one_of.cancelled]


class VisitFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    engineer = django_filters.UUIDFilter(method="by_engineer", label="somebody who goes")
    remedial = django_filters.UUIDFilter(method="by_remedial", label="a remedial that is on it")
    state = django_filters.ChoiceFilter(choices=Visit.State.choices)
    ends_after = InstantFilter(field_name="end", lookup_expr="gt", label="it ends after this instant")
    starts_before = InstantFilter(field_name="start", lookup_expr="lt", label="it begins before this instant")

    def by_engineer(self, rows: QuerySet[Any], name: str, value: Any) -> QuerySet[Any]:
        goes = Q(cancelled=False) | Q(visit__state=Visit.State.CANCELLED)  # as `engineers` shows them
        return rows.filter(pk__in=Attendance.objects.filter(goes, engineer=value).values("visit"))

    def by_remedial(self, rows: QuerySet[Any], name: str, value: Any) -> QuerySet[Any]:
        return rows.filter(pk__in=VisitLine.objects.filter(remedial=value, active=True).values("visit"))


VISITS = Visit.objects.prefetch_related(
    Prefetch("attendances", Attendance.objects.order_by("pk")), Prefetch("lines", VisitLine.objects.order_by("pk"))
)


class OwnVisits(Rows):
    """The visits that this person may see: a subcontractor's own only."""

    queryset: QuerySet[Any] = VISITS

    def get_queryset(self) -> QuerySet[Any]:
        """Through the one door to rows, and for a subcontractor one more."""
        rows = super().get_queryset()
        return own(rows, self.request.user) if self.request.user.is_authenticated else rows


@extend_schema_view(get=extend_schema(summary="Visits, in the order of their numbers."))
class Visits(OwnVisits, List):
    serializer_class = VisitShown
    filterset_class = VisitFilter


@extend_schema_view(get=extend_schema(summary="One visit."))
class OneVisit(OwnVisits, One):
    serializer_class = VisitShown


# --- how its time came about ------------------------------------------------------------------------------------------


class OfVisit(Rows):
    """Rows of visits: seen by whoever sees the visit."""

    def get_queryset(self) -> QuerySet[Any]:
        """Through the door to visits."""
        if getattr(self, "swagger_fake_view", False):
            return self.queryset.none()
        return self.queryset.filter(visit__in=own(rows(self, Visit), self.request.user).values("pk"))  # type: ignore[arg-type]


class ByVisit(FilterSet):
    """Rows of one visit."""

    visit = django_filters.UUIDFilter(field_name="visit_id")
    site = django_filters.UUIDFilter(field_name="visit__site_id", label="of visits to this site")


class VisitMoveShown(serializers.ModelSerializer):
    """That a visit was moved: from when and whom to when and whom (keys of who goes), and why."""

    class Meta:
        model = VisitMove
        fields = [
            "id", "visit", "from_start", "from_end", "to_start", "to_end", "from_engineers", "to_engineers", "reason", "by", "at",
        ]  # fmt: skip


@extend_schema_view(get=extend_schema(summary="Visits that were moved, in the order in which they were."))
class VisitMoves(OfVisit, List):
    """A visit that was never moved has none."""

    queryset = VisitMove.objects.all()
    serializer_class = VisitMoveShown
    filterset_class = ByVisit
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One move of a visit."))
class OneVisitMove(OfVisit, One):
    """From when to when, and why."""

    queryset = VisitMove.objects.all()
    serializer_class = VisitMoveShown


class ConfirmationShown(serializers.ModelSerializer):
    """That somebody was asked whether the time of a visit suits, or answered it. `start`: of the time that it is about.

    `recorded_by` is null where they answered on their own link.
    """

    class Meta:
        model = Confirmation
        fields = ["id", "visit", "answered", "how", "whom", "words", "start", "recorded_by", "at"]


@extend_schema_view(
    get=extend_schema(summary="Who was asked whether the time of a visit suits, and what they answered.")
)
class Confirmations(OfVisit, List):
    """In the order in which it was recorded."""

    queryset = Confirmation.objects.all()
    serializer_class = ConfirmationShown
    filterset_class = ByVisit
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One question about the time of a visit, or the answer to it."))
class OneConfirmation(OfVisit, One):
    """Whom, how and when."""

    queryset = Confirmation.objects.all()
    serializer_class = ConfirmationShown


# --- what goes along --------------------------------------------------------------------------------------------------


@file(PDF, summary="The job sheet of a visit.")
class JobSheet(OwnVisits, File):
    """As the person who asks may see it, of now."""

    queryset = Visit.objects.select_related("site__customer")

    def answer(self, row: Visit) -> HttpResponseBase:
        made = queries.job_sheet(row, self.request.user, now=self.request.now)  # type: ignore[arg-type, attr-defined]
        return as_pdf(made.pdf, f"job sheet {row.number}")


class BroughtShown(serializers.Serializer):
    """One thing to bring: how much with its unit, from where, for which remedials (their numbers)."""

    kind = serializers.CharField(source="of", help_text="material, access equipment or fixed item, by its code.")
    what = serializers.CharField()
    quantity = serializers.CharField()
    where_from = serializers.CharField(source="from")
    remedials = serializers.CharField(source="for")


class ToBring(serializers.Serializer):
    """What to bring to a visit, added up, and what to know of it. Never what anything costs."""

    things: Any = BroughtShown(source="rows", many=True)
    crew = serializers.CharField(help_text="That it takes several people at once, or more than go.")
    parts: Any = serializers.ListField(child=serializers.CharField(), help_text="What will not be there yet.")


@extend_schema_view(get=extend_schema(summary="What to bring to a visit, added up."))
class Bring(OwnVisits):
    """Of all its remedials together."""

    queryset = Visit.objects.select_related("site__customer")
    filter_backends = ()
    serializer_class = ToBring

    def get(self, request: Request, **kwargs: Any) -> Response:
        """The list."""
        return Response(self.get_serializer(bring.of_visit(self.get_object())).data)
