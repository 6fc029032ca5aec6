"""Observations, to read. What is not a field here is not given out."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from inspections.choices import Code
from inspections.models import Observation
from remedials.desk.api.reading import NOT_CODED, YES_OR_NO, List, One

OBSERVATIONS = Observation.objects.filter(draft=False)


class ObservationShown(serializers.ModelSerializer):
    """An observation: `code_written` as the report has it, `code` the one in force, "" while nobody has coded it."""

    class Meta:
        model = Observation
        fields = [
            "id", "number", "site", "unit", "board", "circuit", "place", "inspection", "item", "text", "code_written",
            "code", "reviewed", "recorded_on", "first_recorded_on", "reported_by", "continues", "make_safe_by", "remedy_by",
            "remedy_basis", "remedy_by_law", "made_safe", "owner", "step_by", "ended", "ended_on", "ended_reason", "version",
        ]  # fmt: skip


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


@extend_schema_view(get=extend_schema(summary="Observations, in the order of their numbers, but for those of drafts."))
class Observations(List):
    queryset = OBSERVATIONS
    serializer_class = ObservationShown
    filterset_class = ObservationFilter


@extend_schema_view(get=extend_schema(summary="One observation."))
class OneObservation(One):
    queryset = OBSERVATIONS
    serializer_class = ObservationShown
