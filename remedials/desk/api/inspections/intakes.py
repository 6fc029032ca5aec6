"""Spreadsheets and pasted reports on their way in, to read: where they stand, and what was found in their rows."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django_filters.rest_framework import FilterSet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_field, extend_schema_view
from rest_framework import serializers
from rest_framework.exceptions import NotFound, ValidationError
from rest_framework.pagination import BasePagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param

from inspections.choices import IntakeKind, IntakeState
from inspections.intake import queries
from inspections.intake.templates import SHEETS, template
from inspections.models import Intake
from jobsite.api.keyset import KeysetPages
from jobsite.downloads import as_received
from jobsite.ledger.files import read_file
from jobsite.people.rights import Right
from remedials.desk.api.files import XLSX, AnyKind, File, file
from remedials.desk.api.ground import Door, rows
from remedials.desk.api.inspections.ground import AS_RECEIVED
from remedials.desk.api.reading import List, One

ACCEPTED, REFUSED = "accepted", "refused"
LONGEST_CURSOR = 6  # digits
# What was found in a long file is megabytes: a list never asks for it.
INTAKES = Intake.objects.defer("found").select_related("progress")


class ProgressShown(serializers.Serializer):
    """How far reading or taking in has come, in rows."""

    state = serializers.CharField()
    sentence = serializers.CharField()
    done = serializers.IntegerField()
    total = serializers.IntegerField(allow_null=True)


class IntakeShown(serializers.ModelSerializer):
    """A file or a pasted text on its way in. `inspection`: the report that it became."""

    progress = ProgressShown(read_only=True)

    class Meta:
        model = Intake
        fields = [
            "id", "site", "unit", "kind", "file_name", "state", "progress", "inspection", "uploaded_by", "uploaded_at",
            "asked_by", "taken_in_at",
        ]  # fmt: skip


class FoundShown(serializers.Serializer):
    """How many rows there are, of what kind, and what is said of the file as a whole."""

    accepted = serializers.IntegerField()
    refused = serializers.IntegerField()
    boards = serializers.IntegerField()
    circuits = serializers.IntegerField()
    observations = serializers.IntegerField()
    notes = serializers.ListField(child=serializers.CharField())
    warnings = serializers.ListField(child=serializers.CharField())


class WholeIntakeShown(IntakeShown):
    """A file with what was decided of its rows, each by its name ("Circuits, row 5").

    `header`: the particulars of a report. `left_out`: the reason by row. `corrections`: by row and column what was, and
    what stands now. `same`: the earlier observation that a row is, or "new". Its rows have an address of their own.
    """

    header: Any = serializers.DictField(read_only=True)
    left_out: Any = serializers.DictField(child=serializers.CharField(), read_only=True)
    corrections: Any = serializers.DictField(read_only=True)
    same: Any = serializers.DictField(child=serializers.CharField(), read_only=True)
    found = serializers.SerializerMethodField()

    class Meta(IntakeShown.Meta):
        fields = [*IntakeShown.Meta.fields, "header", "left_out", "corrections", "same", "found"]

    @extend_schema_field(FoundShown)
    def get_found(self, row: Intake) -> Any:
        """What was found, in figures; noughts before it was read."""
        found = row.found
        counts = {name: len(found.get(name, ())) for name in (ACCEPTED, REFUSED)}
        counts |= {name: found.get(name, 0) for name in ("boards", "circuits", "observations")}
        return FoundShown(counts | {name: found.get(name, []) for name in ("notes", "warnings")}).data


class IntakeFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    kind = django_filters.ChoiceFilter(choices=IntakeKind.choices)
    state = django_filters.MultipleChoiceFilter(choices=IntakeState.choices)


@extend_schema_view(get=extend_schema(summary="Files on their way in, in the order in which they came."))
class Intakes(List):
    right = Right.TAKE_IN
    queryset = INTAKES
    serializer_class = IntakeShown
    filterset_class = IntakeFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One file on its way in, with what was decided of its rows."))
class OneIntake(One):
    right = Right.TAKE_IN
    queryset = Intake.objects.select_related("progress")
    serializer_class = WholeIntakeShown


@file(AS_RECEIVED, summary="The file as it was received, byte for byte.")
class IntakeFile(File):
    right = Right.TAKE_IN
    queryset = Intake.objects.select_related("file").defer("found")

    def answer(self, row: Intake) -> HttpResponse:
        ending = "txt" if queries.is_pasted(row) else "xlsx" if row.file.media_type == XLSX else "csv"
        return as_received(read_file(row.file), f"intake-{row.uploaded_at:%Y-%m-%d}.{ending}")


@extend_schema_view(
    get=extend_schema(
        summary="An empty spreadsheet to fill in.",
        parameters=[OpenApiParameter("kind", str, OpenApiParameter.PATH, enum=sorted(SHEETS))],
        responses={(200, XLSX): OpenApiTypes.BINARY},
    )
)
class EmptySheet(Door):
    right = Right.TAKE_IN
    content_negotiation_class = AnyKind
    serializer_class = serializers.Serializer

    def get(self, request: Request, kind: str) -> HttpResponse:
        """The spreadsheet."""
        if kind not in SHEETS:
            raise Http404
        heads = {"Content-Disposition": f'attachment; filename="{kind}.xlsx"'}
        return HttpResponse(template(kind), content_type=XLSX, headers=heads)


# --- the rows of a file -----------------------------------------------------------------------------------------------


class TroubleShown(serializers.Serializer):
    """One thing wrong in one cell, or in the whole row (`column` is then empty)."""

    column = serializers.CharField()
    key = serializers.CharField(help_text="The column as corrections name it.")
    wrong = serializers.CharField()
    expected = serializers.CharField()


class CellShown(serializers.Serializer):
    """What stands in one cell: what counts now, and what is in the file."""

    key = serializers.CharField(help_text="The column as corrections name it.")
    head = serializers.CharField()
    said = serializers.CharField()
    was = serializers.CharField()


class IntakeRowShown(serializers.Serializer):
    """A row by its name. One that can be taken in says what it is; a refused one what is wrong with it."""

    row = serializers.CharField()
    what = serializers.CharField(help_text='"board", "circuit", the code of an observation, "" where it is refused.')
    name = serializers.CharField()
    more = serializers.CharField()
    troubles = TroubleShown(many=True)


class RowPages(BasePagination):
    """Pages by position; a file's rows do not move while it is looked over, and are found anew when it is judged again."""

    schema_of = KeysetPages()

    def paginate_queryset(self, queryset: Any, request: Request, view: Any = None) -> list[Any]:
        """One page of a list. Raises NotFound for a cursor that we did not make."""
        self.request, said = request, request.query_params.get("cursor", "0")
        if not (said.isascii() and said.isdecimal() and len(said) <= LONGEST_CURSOR):
            raise NotFound(self.schema_of.invalid_cursor_message)
        size = self.schema_of.get_page_size(request) or KeysetPages.page_size
        first = int(said)
        self.following = first + size if first + size < len(queryset) else None
        return list(queryset[first : first + size])

    def get_paginated_response(self, data: Any) -> Response:
        """The page with the address of the one after it."""
        here = self.request.build_absolute_uri()
        after = None if self.following is None else replace_query_param(here, "cursor", str(self.following))
        return Response({"next": after, "previous": None, "results": data})

    def get_paginated_response_schema(self, schema: Any) -> Any:
        """The same shape as of the other lists."""
        return self.schema_of.get_paginated_response_schema(schema)

    def get_schema_operation_parameters(self, view: Any) -> Any:
        """The same parameters as of the other lists."""
        return self.schema_of.get_schema_operation_parameters(view)


class OfIntake(Door):
    """What belongs to one file."""

    right = Right.TAKE_IN
    known: frozenset[str] = frozenset()

    def intake(self, request: Request) -> Intake:
        """The file that the address names, 404 otherwise. Raises ValidationError for a query that nothing reads."""
        found: Intake = get_object_or_404(rows(self, Intake), pk=self.kwargs["pk"])
        if unknown := sorted(set(request.query_params) - self.known):
            raise ValidationError({name: ["There is no such filter."] for name in unknown})
        return found


@extend_schema_view(
    get=extend_schema(
        summary="The rows of a file: those that can be taken in, or those that are refused.",
        parameters=[
            OpenApiParameter("which", str, enum=[ACCEPTED, REFUSED], description="Those to take in, unless said.")
        ],
        responses={(200, "application/json"): IntakeRowShown(many=True)},
    )
)
class IntakeRows(OfIntake):
    serializer_class = IntakeRowShown
    pagination_class = RowPages
    known = frozenset({"which", "cursor", "page_size"})
    queryset: QuerySet[Any] = Intake.objects.none()

    def get(self, request: Request, **kwargs: Any) -> Response:
        """The rows."""
        found = self.intake(request).found
        which = request.query_params.get("which", ACCEPTED)
        if which not in (ACCEPTED, REFUSED):
            raise ValidationError({"which": [f"One of {ACCEPTED}, {REFUSED}."]})
        page = self.paginate_queryset(found.get(which, []))
        usual: dict[str, Any] = {"what": "", "name": "", "more": "", "troubles": []}
        return self.get_paginated_response(IntakeRowShown([usual | row for row in page or ()], many=True).data)


class CellList(serializers.Serializer):
    """The columns of a row, in their order."""

    results = CellShown(many=True)


@extend_schema_view(
    get=extend_schema(
        summary="Every cell of one row of a file, to be corrected.",
        parameters=[OpenApiParameter("row", str, required=True, description="The name of the row: Circuits, row 5.")],
        responses={(200, "application/json"): CellList},
    )
)
class IntakeCells(OfIntake):
    serializer_class = CellList
    pagination_class = None
    known = frozenset({"row"})

    def get(self, request: Request, **kwargs: Any) -> Response:
        """The cells, 404 for a row that the file has not, or that is not looked over just now."""
        intake, row = self.intake(request), request.query_params.get("row", "")
        if not row:
            raise ValidationError({"row": ["Name the row."]})
        found = queries.cells_of(intake, row) if intake.state == IntakeState.READ else []
        if not found:
            raise Http404
        return Response(CellList({"results": found}).data)
