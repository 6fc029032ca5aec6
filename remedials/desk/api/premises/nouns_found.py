"""What somebody saw or made at a board, to read: verifications, switching tests, charts and labels."""

from typing import Any

import django_filters
from django.db.models import Prefetch, QuerySet
from django.http import HttpResponse
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.downloads import as_pdf
from jobsite.ledger.files import read_file
from jobsite.premises.choices import DocumentKind
from jobsite.premises.models import BoardDocument, BoardSeen, SwitchingTest, Verification
from remedials.desk.api.files import PDF, File, file
from remedials.desk.api.reading import YES_OR_NO, List, One

TESTS = SwitchingTest.objects.prefetch_related(Prefetch("seen", BoardSeen.objects.order_by("pk")))
DOCUMENTS = BoardDocument.objects.select_related("file")


class VerificationShown(serializers.ModelSerializer):
    """That a board or a circuit is what `designation` says, and what stood there before, which taking it back restores.

    `done_at`: when it was seen, where it reached the record later.
    """

    class Meta:
        model = Verification
        fields = [
            "id", "site", "board", "circuit", "designation", "how", "by", "at", "done_at", "designation_before",
            "how_before", "by_before", "on_before", "taken_back_at", "taken_back_by",
        ]  # fmt: skip


class VerificationFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    board = django_filters.UUIDFilter(field_name="board_id")
    circuit = django_filters.UUIDFilter(field_name="circuit_id")


class BoardSeenShown(serializers.ModelSerializer):
    """How a board was found. A board that is not named was not looked at."""

    class Meta:
        model = BoardSeen
        fields = ["board", "state"]


class SwitchingTestShown(serializers.ModelSerializer):
    """One device was switched off alone, and which boards were seen dead or alive then. Withdrawn: it does not count."""

    seen = BoardSeenShown(many=True, read_only=True)

    class Meta:
        model = SwitchingTest
        fields = [
            "id", "site", "off_circuit", "off_supply", "others_off", "at", "by", "noted_at", "together_with", "note", "seen",
            "withdrawn_at", "withdrawn_by", "withdrawn_why",
        ]  # fmt: skip


class SwitchingTestFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    board = django_filters.UUIDFilter(field_name="seen__board_id", label="a board that was looked at")
    withdrawn = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_withdrawn", label="does not count")

    def by_withdrawn(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(withdrawn_at__isnull=value == "false")


class BoardDocumentShown(serializers.ModelSerializer):
    """A chart or a sheet of labels as it was made: `fingerprint` stands at the foot of its pages. Its file: `file/` below it."""

    size_bytes = serializers.IntegerField(source="file.size", read_only=True)

    class Meta:
        model = BoardDocument
        fields = ["id", "site", "board", "kind", "words", "fingerprint", "size_bytes", "made_by", "made_at"]


class BoardDocumentFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    board = django_filters.UUIDFilter(field_name="board_id")
    kind = django_filters.MultipleChoiceFilter(choices=DocumentKind.choices)


@extend_schema_view(
    get=extend_schema(summary="Verifications of boards and circuits, in the order in which they were made.")
)
class Verifications(List):
    queryset = Verification.objects.all()
    serializer_class = VerificationShown
    filterset_class = VerificationFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One verification."))
class OneVerification(One):
    queryset = Verification.objects.all()
    serializer_class = VerificationShown


@extend_schema_view(get=extend_schema(summary="Switching tests, in the order in which they were noted."))
class SwitchingTests(List):
    queryset = TESTS
    serializer_class = SwitchingTestShown
    filterset_class = SwitchingTestFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One switching test."))
class OneSwitchingTest(One):
    queryset = TESTS
    serializer_class = SwitchingTestShown


@extend_schema_view(
    get=extend_schema(summary="Charts and labels that were made, in the order in which they were made.")
)
class BoardDocuments(List):
    queryset = DOCUMENTS
    serializer_class = BoardDocumentShown
    filterset_class = BoardDocumentFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One chart or sheet of labels."))
class OneBoardDocument(One):
    queryset = DOCUMENTS
    serializer_class = BoardDocumentShown


@file(PDF, summary="The chart or the labels themselves, byte for byte.")
class BoardDocumentFile(File):
    queryset = DOCUMENTS.select_related("board")

    def answer(self, row: BoardDocument) -> HttpResponse:
        return as_pdf(read_file(row.file), f"{row.kind} {row.board.designation}")
