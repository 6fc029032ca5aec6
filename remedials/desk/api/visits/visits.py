"""Visits to read: who goes where, when and what for. Nothing of prices, and never an alarm code."""

from typing import Any

import django_filters
from django.db.models import Prefetch, Q, QuerySet
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from remedials.desk.api.reading import List, One, Rows
from remedials.desk.queries.visits import own
from remedials.visits.models import Attendance, Visit, VisitLine

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
    ends_after = django_filters.IsoDateTimeFilter(
        field_name="end", lookup_expr="gt", label="it ends after this instant"
    )
    starts_before = django_filters.IsoDateTimeFilter(
        field_name="start", lookup_expr="lt", label="it begins before this instant"
    )

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
