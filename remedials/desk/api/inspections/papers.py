"""What is owed in writing, who moved in, who asked for a report: to read."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_field, extend_schema_view
from rest_framework import serializers

from inspections.choices import PaperAnswer
from inspections.models import OccupancyChange, Paper, PaperDocument, PaperRequest, PaperSupply
from inspections.queries.papers import candidates
from jobsite.downloads import as_pdf, as_received
from jobsite.ledger.files import read_file
from jobsite.people.rights import Right
from remedials.desk.api.files import PDF, File, file
from remedials.desk.api.inspections.ground import AS_RECEIVED, Below
from remedials.desk.api.reading import YES_OR_NO, List, One


class PaperShown(serializers.ModelSerializer):
    """A paper that is owed: to whom, by when, by which rule, and what became of it ("": still to be done).

    `named`: the occupiers known then. `owed_by`: "" for the landlord. `change`, `inspection`, `request`, `work` (a
    remedial): what asked for it. `superseded_at`: settled once and owed anew, as another paper.
    """

    class Meta:
        model = Paper
        fields = [
            "id", "site", "unit", "change", "inspection", "request", "work", "about", "event_on", "what", "to", "named",
            "owed_by", "basis", "due_on", "owner", "answer", "answered_on", "how", "answered_by", "superseded_at",
            "superseded_why", "version",
        ]  # fmt: skip


class PaperDocumentShown(serializers.ModelSerializer):
    """A document that was made for a paper; its PDF has an address of its own."""

    class Meta:
        model = PaperDocument
        fields = ["id", "name", "made_by", "made_at"]


class PaperSupplyShown(serializers.ModelSerializer):
    """Who has the paper, who would not take it, to whom it was only e-mailed; `taken_back_at`: recorded in error."""

    has_file = serializers.SerializerMethodField()

    class Meta:
        model = PaperSupply
        fields = [
            "id", "to", "party", "came", "how", "on", "note", "document", "has_file", "file_name", "message", "recorded_by",
            "recorded_at", "taken_back_at", "taken_back_why",
        ]  # fmt: skip

    def get_has_file(self, row: PaperSupply) -> bool:
        """Whether what shows it is kept."""
        return row.file_id is not None


class CandidateShown(serializers.Serializer):
    """Somebody who may be named when the paper is handed over or sent: `must`, it has to reach them; `has_it` already."""

    key = serializers.CharField()
    name = serializers.CharField()
    what = serializers.CharField()
    has_it = serializers.BooleanField()
    must = serializers.BooleanField()
    has_email = serializers.SerializerMethodField()

    def get_has_email(self, row: Any) -> bool:
        """Whether it can be sent to them by e-mail."""
        return bool(row.party and row.party.email)


class WholePaperShown(PaperShown):
    """A paper with its documents, who has it, and to whom it may go (`candidates`)."""

    documents = PaperDocumentShown(many=True, read_only=True)
    supplies = PaperSupplyShown(many=True, read_only=True)
    candidates = serializers.SerializerMethodField()

    class Meta(PaperShown.Meta):
        fields = [*PaperShown.Meta.fields, "documents", "supplies", "candidates"]

    @extend_schema_field(CandidateShown(many=True))
    def get_candidates(self, row: Paper) -> Any:
        """Those on record to whom it may go."""
        return CandidateShown(candidates(row), many=True).data


class PaperFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    unit = django_filters.UUIDFilter(field_name="unit_id")
    inspection = django_filters.UUIDFilter(field_name="inspection_id")
    answer = django_filters.MultipleChoiceFilter(choices=PaperAnswer.choices)
    open = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_open", label="nobody has answered it yet")

    def by_open(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(answer="") if value == "true" else rows.exclude(answer="")


WHOLE_PAPERS = Paper.objects.select_related(
    "unit", "site", "inspection", "request", "change__occupier"
).prefetch_related("documents", "supplies")


@extend_schema_view(
    get=extend_schema(summary="What is owed in writing, and was, in the order in which it was asked for.")
)
class Papers(List):
    queryset = Paper.objects.all()
    serializer_class = PaperShown
    filterset_class = PaperFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One paper, with its documents and who has it."))
class OnePaper(One):
    right = Right.KEEP_CUSTOMERS
    queryset = WHOLE_PAPERS
    serializer_class = WholePaperShown


@file(PDF, summary="A document of a paper, as it was made.")
class PaperDocumentFile(Below, File):
    right = Right.KEEP_CUSTOMERS
    queryset = PaperDocument.objects.select_related("file")

    def answer(self, row: PaperDocument) -> HttpResponse:
        return as_pdf(read_file(row.file), row.name.removesuffix(".pdf"))


@file(AS_RECEIVED, summary="What shows that a paper was handed over, or the report that went with it, byte for byte.")
class PaperSupplyFile(Below, File):
    right = Right.KEEP_CUSTOMERS
    queryset = PaperSupply.objects.select_related("file")

    def answer(self, row: PaperSupply) -> HttpResponse:
        if row.file is None:
            raise Http404
        return as_received(read_file(row.file), row.file_name)


# --- who moved in, who asked ------------------------------------------------------------------------------------------


class OccupancyChangeShown(serializers.ModelSerializer):
    """That somebody moves into a unit."""

    class Meta:
        model = OccupancyChange
        fields = ["id", "site", "unit", "since", "tenancy_granted_on", "occupier", "recorded_by", "recorded_at"]


class OccupancyChangeFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    unit = django_filters.UUIDFilter(field_name="unit_id")


@extend_schema_view(get=extend_schema(summary="Who moved in where, in the order in which it was recorded."))
class OccupancyChanges(List):
    right = Right.KEEP_CUSTOMERS
    queryset = OccupancyChange.objects.all()
    serializer_class = OccupancyChangeShown
    filterset_class = OccupancyChangeFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One change of occupancy."))
class OneOccupancyChange(One):
    right = Right.KEEP_CUSTOMERS
    queryset = OccupancyChange.objects.all()
    serializer_class = OccupancyChangeShown


class PaperRequestShown(serializers.ModelSerializer):
    """That somebody asked in writing for a copy of a report."""

    class Meta:
        model = PaperRequest
        fields = [
            "id",
            "site",
            "unit",
            "inspection",
            "asked_by",
            "who",
            "asked_on",
            "how",
            "recorded_by",
            "recorded_at",
        ]


class PaperRequestFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    inspection = django_filters.UUIDFilter(field_name="inspection_id")


@extend_schema_view(
    get=extend_schema(summary="Who asked for a copy of a report, in the order in which it was recorded.")
)
class PaperRequests(List):
    right = Right.KEEP_CUSTOMERS
    queryset = PaperRequest.objects.all()
    serializer_class = PaperRequestShown
    filterset_class = PaperRequestFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One request for a copy of a report."))
class OnePaperRequest(One):
    right = Right.KEEP_CUSTOMERS
    queryset = PaperRequest.objects.all()
    serializer_class = PaperRequestShown
