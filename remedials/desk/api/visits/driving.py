"""The firm's table of driving times: to read, as a file out and in, and taken away."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django.http import HttpResponse
from django_filters.rest_framework import FilterSet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, extend_schema_view
from rest_framework import serializers
from rest_framework.exceptions import ValidationError
from rest_framework.parsers import MultiPartParser
from rest_framework.request import Request

from inspections.intake.reading import read_workbook
from jobsite.downloads import as_file
from jobsite.ledger.files import store_file
from jobsite.people.rights import Right
from jobsite.refused import Refused
from remedials.desk.api.files import XLSX, File, file
from remedials.desk.api.ground import Act, verb
from remedials.desk.api.reading import List, Rows
from remedials.desk.api.visits.firm import OursAlone
from remedials.visits.driving.table import HEADS, read_table
from remedials.visits.forms.planning import MOST_BYTES
from remedials.visits.models import DrivingTime
from remedials.visits.operations.driving import drop_driving_times, replace_driving_times
from remedials.visits.queries.driving import table_cells

CSV = "text/csv"
KINDS = ("csv", "xlsx")


class DrivingTimeShown(serializers.ModelSerializer):
    """Minutes and kilometres by road from one postcode district to another."""

    class Meta:
        model = DrivingTime
        fields = ["from_district", "to_district", "minutes", "km"]


class DrivingTimeFilter(FilterSet):
    from_district = django_filters.CharFilter()
    to_district = django_filters.CharFilter()


class TheTable(OursAlone, Rows):
    """It is the office's."""

    right = Right.BOOK
    queryset = DrivingTime.objects.all()
    serializer_class = DrivingTimeShown

    def get_queryset(self) -> QuerySet[Any]:
        """All of it."""
        return self.queryset.all()


@extend_schema_view(get=extend_schema(summary="The firm's table of driving times, row by row."))
class DrivingTimes(TheTable, List):
    """In the order of the file that was sent."""

    filterset_class = DrivingTimeFilter
    ordering = "id"


AS = OpenApiParameter("as", OpenApiTypes.STR, enum=KINDS, default="xlsx", description="Of which kind the file is.")


@extend_schema_view(get=extend_schema(parameters=[AS]))
@file(XLSX, CSV, summary="The table of driving times as a file that can be changed and sent back.")
class DrivingFile(TheTable, File):
    """A row for each pair of districts."""

    def get(self, request: Request, **kwargs: Any) -> HttpResponse:
        """The file."""
        kind = request.query_params.get("as", "xlsx")
        if kind not in KINDS:
            raise ValidationError({"as": ["A file is csv or xlsx."]})
        return as_file(kind, "driving-times", HEADS, table_cells())


class TableGiven(serializers.Serializer):
    """CSV or XLSX with the columns From district, To district, Minutes, Kilometres; at most 5 MB."""

    file = serializers.FileField()


class TableHolds(serializers.Serializer):
    """How many rows the table holds now."""

    rows = serializers.IntegerField()


class TableAct(OursAlone, Act):
    """A verb on the table."""

    model = DrivingTime
    right = Right.BOOK

    def thing(self) -> None:
        """There is one table."""


@verb(TableHolds, summary="Replace the table of driving times by that of a file.")
class ReplaceDriving(TableAct):
    """All of it or nothing: a faulty row is said, and then the table stays as it is."""

    serializer_class = TableGiven
    parser_classes = [MultiPartParser]

    def do(self, thing: None, given: dict[str, Any]) -> Any:
        upload = given["file"]
        if (upload.size or 0) > MOST_BYTES:
            raise Refused("This file is larger than 5 MB.", field="file")
        data = upload.read()
        try:
            drives, faults = read_table(read_workbook(data, upload.name or "table"))
        except Refused as refused:
            refused.field = refused.field or "file"
            raise
        if faults:
            raise ValidationError({"file": [f"Row {fault.row}: {fault.sentence}" for fault in faults[:100]]})
        kept = store_file(data, media_type=XLSX if data[:2] == b"PK" else CSV, now=self.request.now)  # type: ignore[attr-defined]
        return {"rows": replace_driving_times(drives, file_hash=kept.hash, **self.doing)}


class TableDropped(serializers.Serializer):
    """Nothing needs to be said."""


@verb(TableHolds, summary="Take the table of driving times away.")
class DropDriving(TableAct):
    """Driving is reckoned from the distance again."""

    serializer_class = TableDropped

    def do(self, thing: None, given: dict[str, Any]) -> Any:
        drop_driving_times(**self.doing)
        return {"rows": 0}
