"""What was made safe for now, and notices of danger: to read."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from inspections import operations
from inspections.models import DangerNotice, MadeSafe
from jobsite.downloads import as_pdf, as_picture
from jobsite.ledger.files import read_file
from remedials.desk.api.files import PDF, File, file
from remedials.desk.api.inspections.ground import PICTURE, Below, BelowList, BelowOne
from remedials.desk.api.reading import YES_OR_NO


class MadeSafeShown(serializers.ModelSerializer):
    """A temporary action, agreed with the duty-holder; the defect stays open. `ended` is "" while it stands.

    `at`, `by`: when it was done, and by whom. Its photograph has an address of its own; without one `no_photo` says why.
    """

    site = serializers.UUIDField(source="observation.site_id", read_only=True)
    has_photo = serializers.SerializerMethodField()

    class Meta:
        model = MadeSafe
        fields = [
            "id", "observation", "site", "how", "what", "agreed_with", "lock", "key_holder", "at", "by", "look_again_on",
            "looker", "has_photo", "no_photo", "ended", "ended_at",
        ]  # fmt: skip

    def get_has_photo(self, row: MadeSafe) -> bool:
        """Whether its photograph is kept."""
        return row.photo_id is not None


class MadeSafeFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="observation__site_id")
    observation = django_filters.UUIDFilter(field_name="observation_id")
    standing = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_standing", label="it stands now")

    def by_standing(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(ended="") if value == "true" else rows.exclude(ended="")


MADE_SAFE = MadeSafe.objects.select_related("observation")


@extend_schema_view(get=extend_schema(summary="What was made safe, with locks and keys, in the order in which it was."))
class ManyMadeSafe(BelowList):
    queryset = MADE_SAFE
    serializer_class = MadeSafeShown
    filterset_class = MadeSafeFilter


@extend_schema_view(get=extend_schema(summary="One thing that was made safe."))
class OneMadeSafe(BelowOne):
    queryset = MADE_SAFE
    serializer_class = MadeSafeShown


@file(PICTURE, summary="The photograph of what was made safe.")
class MadeSafePhoto(Below, File):
    queryset = MadeSafe.objects.select_related("photo")

    def answer(self, row: MadeSafe) -> HttpResponse:
        if row.photo is None:
            raise Http404
        return as_picture(self.request, row.photo)


# --- notices of danger ------------------------------------------------------------------------------------------------


class NoticeShown(serializers.ModelSerializer):
    """What was said in writing about a danger, to whom, and their answer ("" for none yet)."""

    observations: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)

    class Meta:
        model = DangerNotice
        fields = [
            "id", "number", "site", "observations", "why", "advised", "given_to", "how", "given_at", "given_by", "answer",
            "answered_at", "answered_by", "answer_note",
        ]  # fmt: skip


class NoticeFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    observation = django_filters.UUIDFilter(method="by_observation", label="an observation that it is about")
    answered = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_answered", label="its answer is on record")

    def by_observation(self, rows: QuerySet[Any], name: str, value: Any) -> QuerySet[Any]:
        return rows.filter(observations=value)

    def by_answered(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.exclude(answer="") if value == "true" else rows.filter(answer="")


NOTICES = DangerNotice.objects.prefetch_related("observations")


@extend_schema_view(get=extend_schema(summary="Notices of danger, in the order of their numbers."))
class Notices(BelowList):
    queryset = NOTICES
    serializer_class = NoticeShown
    filterset_class = NoticeFilter
    ordering = "number"


@extend_schema_view(get=extend_schema(summary="One notice of danger."))
class OneNotice(BelowOne):
    queryset = NOTICES
    serializer_class = NoticeShown


@file(PDF, summary="A notice of danger as the document to hand over.")
class NoticeDocument(Below, File):
    queryset = DangerNotice.objects.select_related("site", "given_by")

    def answer(self, row: DangerNotice) -> HttpResponse:
        kept = operations.keep_notice_document(row, by=self.request.user, now=self.request.now)  # type: ignore[arg-type, attr-defined]
        return as_pdf(read_file(kept.file), f"danger notice {row.number}")
