"""Inspections and reports taken in, to read: with what they did not cover, what they asked about, and when the next is due."""

from typing import Any
from uuid import UUID

import django_filters
from django.db.models import Q, QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from inspections.choices import InspectionKind, InspectionState
from inspections.models import Inspection, InspectionDue, Limitation, NotSeenAgain, Observation
from inspections.queries.not_seen import in_question
from jobsite.downloads import as_received
from jobsite.ledger.files import read_file
from remedials.desk.api.files import File, file
from remedials.desk.api.ground import rows
from remedials.desk.api.inspections.ground import AS_RECEIVED, BelowList, BelowOne
from remedials.desk.api.inspections.nouns import ObservationFilter, ObservationShown
from remedials.desk.api.reading import YES_OR_NO, List, One

INSPECTIONS = Inspection.objects.prefetch_related("units", "boards")
LONGEST_NUMBER = 15  # digits


class InspectionShown(serializers.ModelSerializer):
    """An inspection of ours, or another firm's report. Nothing of an issued one changes: a correction is a reissue.

    `outcome_written` as the report says, `outcome` by the rule of its own edition; `remedy_limit_days` as the report
    states it, 0 for at once; `codes_by`: until when another firm's codes are reviewed. The file has an address of its own.
    """

    units: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    boards: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)

    class Meta:
        model = Inspection
        fields = [
            "id", "number", "site", "units", "boards", "kind", "other_firm", "inspected_on", "edition", "inspector",
            "inspector_name", "firm_name", "qualified_person_name", "reference", "extent", "next_due_on",
            "remedy_limit_days", "outcome_written", "state", "issued_at", "issued_by", "outcome", "outcome_basis",
            "codes_by", "replaces", "reissue_reason", "file_name", "recorded_by", "recorded_at", "version",
        ]  # fmt: skip


class InspectionFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    unit = django_filters.UUIDFilter(method="by_unit", label="a unit that it covers")
    state = django_filters.MultipleChoiceFilter(choices=InspectionState.choices)
    kind = django_filters.MultipleChoiceFilter(choices=InspectionKind.choices)
    other_firm = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_whose", label="another firm's report")
    to_review = django_filters.ChoiceFilter(
        choices=YES_OR_NO, method="by_review", label="issued, with open observations whose codes nobody reviewed"
    )
    q = django_filters.CharFilter(method="by_words", label="words of site, firm, reference; its number")

    def by_unit(self, rows: QuerySet[Any], name: str, value: UUID) -> QuerySet[Any]:
        return rows.filter(units=value)

    def by_whose(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(other_firm=value == "true")

    def by_review(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        waiting = Observation.objects.filter(reviewed=False, ended="").exclude(inspection=None).values("inspection")
        asked = Q(state=InspectionState.ISSUED, pk__in=waiting)
        return rows.filter(asked if value == "true" else ~asked)

    def by_words(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        named = Q(site__name__icontains=value) | Q(firm_name__icontains=value) | Q(reference__icontains=value)
        numbered = value.isascii() and value.isdecimal() and len(value) < LONGEST_NUMBER
        return rows.filter(named | Q(number=int(value)) if numbered else named)


@extend_schema_view(get=extend_schema(summary="Inspections and reports, drafts too, in the order of their numbers."))
class Inspections(List):
    queryset = INSPECTIONS
    serializer_class = InspectionShown
    filterset_class = InspectionFilter


@extend_schema_view(get=extend_schema(summary="One inspection or report."))
class OneInspection(One):
    queryset = INSPECTIONS
    serializer_class = InspectionShown


@file(AS_RECEIVED, summary="The report as it was received, byte for byte.")
class InspectionFile(File):
    queryset = Inspection.objects.select_related("file")

    def answer(self, row: Inspection) -> HttpResponse:
        if row.file is None:
            raise Http404
        ending = "pdf" if row.file.media_type == "application/pdf" else "bin"
        return as_received(read_file(row.file), f"report-{row.number}.{ending}")


# --- what it did not cover --------------------------------------------------------------------------------------------


class LimitationShown(serializers.ModelSerializer):
    """What an inspection did not cover; it stands until a later one covers it (`covered_by`)."""

    class Meta:
        model = Limitation
        fields = ["id", "inspection", "unit", "board", "what", "why", "agreed_with", "covered_by"]


class LimitationFilter(FilterSet):
    inspection = django_filters.UUIDFilter(field_name="inspection_id")
    site = django_filters.UUIDFilter(field_name="inspection__site_id")
    standing = django_filters.ChoiceFilter(
        choices=YES_OR_NO, method="by_standing", label="of a report in force, and covered by nobody yet"
    )

    def by_standing(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        standing = Q(covered_by=None, inspection__state=InspectionState.ISSUED)
        return rows.filter(standing if value == "true" else ~standing)


@extend_schema_view(get=extend_schema(summary="What inspections did not cover, in the order in which it was noted."))
class Limitations(BelowList):
    queryset = Limitation.objects.all()
    serializer_class = LimitationShown
    filterset_class = LimitationFilter


@extend_schema_view(get=extend_schema(summary="One limitation."))
class OneLimitation(BelowOne):
    queryset = Limitation.objects.all()
    serializer_class = LimitationShown


# --- still there? -----------------------------------------------------------------------------------------------------


class NotSeenShown(serializers.ModelSerializer):
    """What is said in an inspection of an earlier observation that it covers and does not note again; "" for nothing yet."""

    class Meta:
        model = NotSeenAgain
        fields = ["id", "inspection", "observation", "answer", "seen", "by", "at"]


class NotSeenFilter(FilterSet):
    inspection = django_filters.UUIDFilter(field_name="inspection_id")
    observation = django_filters.UUIDFilter(field_name="observation_id")


@extend_schema_view(
    get=extend_schema(summary="What inspections say of earlier observations that they do not note again.")
)
class NotSeen(BelowList):
    queryset = NotSeenAgain.objects.all()
    serializer_class = NotSeenShown
    filterset_class = NotSeenFilter


@extend_schema_view(
    get=extend_schema(
        summary="The earlier observations that an inspection is asked about: still there? Of an issued one as at its issue."
    )
)
class Earlier(List):
    queryset = Observation.objects.filter(draft=False)
    serializer_class = ObservationShown
    filterset_class = ObservationFilter

    def get_queryset(self) -> QuerySet[Any]:
        """Those that the inspection of the address covers and does not note again; 404 for one that is not there."""
        if getattr(self, "swagger_fake_view", False):
            return self.queryset.none()
        inspection = get_object_or_404(rows(self, Inspection), pk=self.kwargs["pk"])
        if inspection.state == InspectionState.DRAFT:
            return in_question(inspection)  # type: ignore[no-any-return]
        return super().get_queryset().filter(not_seen_again__inspection=inspection)

    def get(self, request: Request, **kwargs: Any) -> Response:
        """The list."""
        return self.list(request)


# --- when the next one is due -----------------------------------------------------------------------------------------


class InspectionDueShown(serializers.ModelSerializer):
    """When the next inspection of a unit is due, and by which rule; `after`: the report it counts from, null for none."""

    site = serializers.UUIDField(source="unit.site_id", read_only=True)

    class Meta:
        model = InspectionDue
        fields = ["unit", "site", "due_on", "basis", "by_law", "noticed_on", "after", "owner"]


class InspectionDueFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="unit__site_id")
    due_by = django_filters.DateFilter(field_name="due_on", lookup_expr="lte", label="due on this day or before")


@extend_schema_view(get=extend_schema(summary="When the next inspection of each unit is due."))
class InspectionsDue(BelowList):
    queryset = InspectionDue.objects.select_related("unit")
    serializer_class = InspectionDueShown
    filterset_class = InspectionDueFilter
    ordering = "unit_id"


@extend_schema_view(get=extend_schema(summary="When the next inspection of a unit is due."))
class OneInspectionDue(BelowOne):
    queryset = InspectionDue.objects.select_related("unit")
    serializer_class = InspectionDueShown


# --- what a draft notes -----------------------------------------------------------------------------------------------


class DraftObservationFilter(FilterSet):
    inspection = django_filters.UUIDFilter(field_name="inspection_id")
    site = django_filters.UUIDFilter(field_name="site_id")


DRAFTED = Observation.objects.filter(draft=True)


@extend_schema_view(get=extend_schema(summary="Observations of drafts: they count from the issue on."))
class DraftObservations(List):
    queryset = DRAFTED
    serializer_class = ObservationShown
    filterset_class = DraftObservationFilter


@extend_schema_view(get=extend_schema(summary="One observation of a draft."))
class OneDraftObservation(One):
    queryset = DRAFTED
    serializer_class = ObservationShown
