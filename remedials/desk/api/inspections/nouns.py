"""Observations, their photographs and the decisions on their codes, to read. What is not a field here is not given out."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.http import HttpResponse
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from inspections.choices import Code
from inspections.models import Observation, ObservationPhoto
from inspections.models import Review as CodeReview
from jobsite.downloads import as_picture
from remedials.desk.api.files import File, file
from remedials.desk.api.inspections.ground import PICTURE, Below, BelowList, BelowOne
from remedials.desk.api.reading import NOT_CODED, YES_OR_NO, List, One

OBSERVATIONS = Observation.objects.filter(draft=False)


class ObservationShown(serializers.ModelSerializer):
    """An observation: `code_written` as the report has it, `code` the one in force, "" while nobody has coded it.

    `missed_in`: another firm's report that should have had it. `done_on`: the day of the work, where that was not `ended_on`.
    """

    class Meta:
        model = Observation
        fields = [
            "id", "number", "site", "unit", "board", "circuit", "place", "inspection", "item", "text", "code_written",
            "code", "reviewed", "recorded_on", "first_recorded_on", "reported_by", "continues", "make_safe_by", "remedy_by",
            "remedy_basis", "remedy_by_law", "made_safe", "may_be_dangerous", "missed_in", "owner", "step_by", "ended", "ended_on",
            "ended_reason", "done_on", "version",
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


# --- photographs ------------------------------------------------------------------------------------------------------


class ObservationPhotoShown(serializers.ModelSerializer):
    """A photograph of the defect as found, cleaned and turned upright; sizes in pixels, `taken` by the camera's clock."""

    class Meta:
        model = ObservationPhoto
        fields = ["id", "observation", "width", "height", "taken", "caption", "added_by", "added_at"]


class ObservationPhotoFilter(FilterSet):
    observation = django_filters.UUIDFilter(field_name="observation_id")
    inspection = django_filters.UUIDFilter(field_name="observation__inspection_id")


@extend_schema_view(get=extend_schema(summary="Photographs of defects as found, in the order in which they came."))
class ObservationPhotos(BelowList):
    queryset = ObservationPhoto.objects.all()
    serializer_class = ObservationPhotoShown
    filterset_class = ObservationPhotoFilter


@extend_schema_view(get=extend_schema(summary="One photograph of a defect as found: what is known of it."))
class OneObservationPhoto(BelowOne):
    queryset = ObservationPhoto.objects.all()
    serializer_class = ObservationPhotoShown


@file(PICTURE, summary="A photograph of a defect as found, as a picture.")
class ObservationPhotoFile(Below, File):
    queryset = ObservationPhoto.objects.select_related("file")

    def answer(self, row: ObservationPhoto) -> HttpResponse:
        return as_picture(self.request, row.file)


# --- decisions --------------------------------------------------------------------------------------------------------


class CodeReviewShown(serializers.ModelSerializer):
    """A qualified person's decision on the code of an observation; the last one is in force."""

    class Meta:
        model = CodeReview
        fields = ["id", "observation", "decision", "code_before", "code", "reason", "by", "at"]


class CodeReviewFilter(FilterSet):
    observation = django_filters.UUIDFilter(field_name="observation_id")
    inspection = django_filters.UUIDFilter(field_name="observation__inspection_id")


@extend_schema_view(get=extend_schema(summary="Decisions on codes, in the order in which they were made."))
class CodeReviews(BelowList):
    queryset = CodeReview.objects.all()
    serializer_class = CodeReviewShown
    filterset_class = CodeReviewFilter


@extend_schema_view(get=extend_schema(summary="One decision on a code."))
class OneCodeReview(BelowOne):
    queryset = CodeReview.objects.all()
    serializer_class = CodeReviewShown
