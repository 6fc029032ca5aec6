"""Proofs of closing to read, with their photographs and certificates; and taking a photograph away."""

from typing import Any

import django_filters
from django.db.models import Prefetch, QuerySet
from django.http import Http404
from django.http.response import HttpResponseBase
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from inspections.models import Reading
from jobsite.downloads import as_picture
from jobsite.ledger.files import read_file
from remedials.desk.api.files import PDF, File, file, kept
from remedials.desk.api.reading import YES_OR_NO, List, One
from remedials.desk.api.works.records import ByRemedial, OfRemedial
from remedials.works.models import Proof, ProofPhoto, ProofReview

JPEG = "image/jpeg"


class ReviewShown(serializers.ModelSerializer):
    """A qualified person's look at the proof; not that anybody inspected again."""

    class Meta:
        model = ProofReview
        fields = ["decision", "reason", "self_review", "by", "at"]


class ProofShown(serializers.ModelSerializer):
    """One closing of a remedial: who did it, what shows it (keys of photographs and readings), and the look at it.

    `certificate_file`: the SHA-256 of the certificate as it is kept, null where there is none.
    """

    photos: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    readings: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    review = ReviewShown(read_only=True, allow_null=True)

    class Meta:
        model = Proof
        fields = [
            "id", "remedial", "state", "done_by", "supervisor_name", "done_at", "note", "no_photo_reason",
            "certificate_number", "certificate_file", "exception_reason", "photos", "readings", "review",
        ]  # fmt: skip


class ProofFilter(ByRemedial):
    state = django_filters.ChoiceFilter(choices=Proof.State.choices)
    reviewed = django_filters.ChoiceFilter(
        choices=YES_OR_NO, method="by_review", label="somebody qualified looked at it"
    )

    def by_review(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(review__isnull=value == "false")


PROOFS = Proof.objects.select_related("review").prefetch_related(
    Prefetch("photos", ProofPhoto.objects.order_by("pk")),
    Prefetch("readings", Reading.objects.only("pk").order_by("pk")),
)


@extend_schema_view(get=extend_schema(summary="Proofs of closing, in the order in which they were given."))
class Proofs(OfRemedial, List):
    """Those that stand, those beside, those sent back and those opened again."""

    queryset = PROOFS
    serializer_class = ProofShown
    filterset_class = ProofFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One proof of closing."))
class OneProof(OfRemedial, One):
    """Who did the work, and what shows it."""

    queryset = PROOFS
    serializer_class = ProofShown


@file(PDF, summary="The certificate of a closing, as it was given.")
class Certificate(OfRemedial, File):
    """The PDF byte for byte; 404 where the closing has none."""

    queryset = Proof.objects.select_related("certificate_file", "remedial")

    def answer(self, row: Proof) -> HttpResponseBase:
        if row.certificate_file is None:
            raise Http404
        return kept(read_file(row.certificate_file), PDF, f"certificate-of-remedial-{row.remedial.number}.pdf")


class ProofPhotoShown(serializers.ModelSerializer):
    """A photograph after the work, of one observation or of all that the remedial puts right. Sizes in pixels.

    `proof` is null until a closing uses it; `file`: the SHA-256 of the picture as it is kept.
    """

    class Meta:
        model = ProofPhoto
        fields = [
            "id", "remedial", "proof", "observation", "file", "width", "height", "taken", "added_by", "added_at",
        ]  # fmt: skip


class ProofPhotoFilter(ByRemedial):
    proof = django_filters.UUIDFilter(field_name="proof_id")
    observation = django_filters.UUIDFilter(field_name="observation_id")


@extend_schema_view(get=extend_schema(summary="Photographs after the work, in the order in which they were added."))
class ProofPhotos(OfRemedial, List):
    """What they show is at `file/` below each."""

    queryset = ProofPhoto.objects.all()
    serializer_class = ProofPhotoShown
    filterset_class = ProofPhotoFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One photograph after the work."))
class OneProofPhoto(OfRemedial, One):
    """Of what, by whom and when."""

    queryset = ProofPhoto.objects.all()
    serializer_class = ProofPhotoShown


@file(JPEG, summary="The picture of a photograph after the work.")
class ProofPhotoFile(OfRemedial, File):
    """The picture as the page shows it."""

    queryset = ProofPhoto.objects.select_related("file")

    def answer(self, row: ProofPhoto) -> HttpResponseBase:
        return as_picture(self.request, row.file)
