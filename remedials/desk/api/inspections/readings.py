"""Readings: to look at, and to take one on a circuit as the instrument shows it."""

from typing import Any

import django_filters
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from inspections.choices import QUANTITIES, Quantity, Verdict
from inspections.models import Inspection, Reading
from inspections.operations import take_reading
from inspections.queries.situations import HowTested
from inspections.standards.limits import Entered
from inspections.standards.readings import read
from inspections.standards.situation import Multiple
from jobsite.people.models import Instrument
from jobsite.people.rights import Right
from jobsite.premises.models import Circuit
from jobsite.refused import Refused
from remedials.desk.api.ground import Act, Key, Text, one, verb
from remedials.desk.api.reading import List, One


class ReadingShown(serializers.ModelSerializer):
    """A reading at a circuit, a board or a supply. `shown` as it was typed, with its unit; bounds in `unit`, exact."""

    shown = serializers.CharField(source="words", read_only=True)

    class Meta:
        model = Reading
        fields = [
            "id", "site", "circuit", "board", "supply", "inspection", "quantity", "shown", "unit", "multiple", "test_volts",
            "equipment_connected", "limit_least", "limit_most", "limit_entered", "basis", "edition", "verdict", "instrument",
            "instrument_in_check", "taken_by", "taken_at",
        ]  # fmt: skip


class ReadingFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    board = django_filters.UUIDFilter(field_name="board_id")
    circuit = django_filters.UUIDFilter(field_name="circuit_id")
    inspection = django_filters.UUIDFilter(field_name="inspection_id")
    quantity = django_filters.ChoiceFilter(choices=QUANTITIES)
    verdict = django_filters.ChoiceFilter(choices=Verdict.choices)


READINGS = Reading.objects.all()


@extend_schema_view(get=extend_schema(summary="Readings, in the order in which they were made."))
class Readings(List):
    queryset = READINGS
    serializer_class = ReadingShown
    filterset_class = ReadingFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One reading."))
class OneReading(One):
    queryset = READINGS
    serializer_class = ReadingShown


class ReadingTaken(serializers.Serializer):
    """What the instrument showed: "0.35", "350 mΩ", ">200", "no trip", "OK". `id` is made by the sender.

    `multiple`: of IΔn, of an RCD's test. `limit` with `limit_source`: from the standard or the maker, where none is
    computed. `as_read`: the person was asked about an unlikely value. `inspection`: a report that is being written, whose
    edition then judges.
    """

    id = Key()
    quantity = serializers.ChoiceField(choices=QUANTITIES)
    value = Text(max_length=20)
    instrument = Key(required=False, allow_null=True)
    inspection = Key(required=False, allow_null=True)
    multiple = serializers.ChoiceField(choices=[(m.value, m.words) for m in Multiple], required=False, default="1")
    test_volts = serializers.ChoiceField(choices=[250, 500, 1000], required=False, allow_null=True, default=None)
    equipment_connected = serializers.BooleanField(required=False, default=False)
    limit = serializers.DecimalField(max_digits=10, decimal_places=4, required=False, allow_null=True, default=None)
    limit_source = Text(required=False)
    already_corrected = serializers.BooleanField(required=False, default=False)
    as_read = serializers.BooleanField(required=False, default=False)


@verb(ReadingShown, status=201, summary="Take a reading on a circuit.")
class TakeReading(Act):
    model = Circuit
    right = Right.INSPECT
    serializer_class = ReadingTaken

    def do(self, thing: Circuit, given: dict[str, Any]) -> Reading:
        quantity = Quantity(given["quantity"])
        try:
            value = read(quantity, given["value"])
        except ValueError as wrong:
            raise Refused(str(wrong), field="value") from wrong
        limit = given["limit"]
        entered = None if limit is None else Entered(limit, given["limit_source"], given["already_corrected"])
        test = HowTested(Multiple(given["multiple"]), given["test_volts"], given["equipment_connected"], entered)
        report, tool = given.get("inspection"), given.get("instrument")
        return take_reading(
            thing,
            id=given["id"],
            quantity=quantity,
            value=value,
            instrument=Instrument.objects.filter(pk=tool).first() if tool else None,
            inspection=one(self, Inspection, report, "inspection") if report else None,
            test=test,
            as_read=given["as_read"],
            made_at=self.request.made_at,  # type: ignore[attr-defined]
            **self.doing,
        )
