"""Readings: to look at, and to take one on a circuit as the instrument shows it."""

from typing import Any

import django_filters
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from inspections.choices import QUANTITIES, Quantity, Verdict
from inspections.models import Inspection, Reading
from inspections.operations import take_reading, take_readings
from inspections.operations.reading import NotTaken, Taken
from inspections.queries.situations import HowTested
from inspections.standards.limits import Entered
from inspections.standards.readings import Value, read
from inspections.standards.situation import Multiple
from jobsite.api.examples import key
from jobsite.people.models import Instrument
from jobsite.people.queries import instruments_in_use
from jobsite.people.rights import Right
from jobsite.premises.models import Board, Circuit, Supply
from jobsite.refused import Refused
from remedials.desk.api.ground import Act, Key, Text, UnknownRow, one, rows, verb
from remedials.desk.api.inspections.ground import MOST_AT_ONCE, several
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
    instrument = django_filters.UUIDFilter(field_name="instrument_id")
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


class Judged(serializers.Serializer):
    """What an instrument showed, and how the test was made."""

    id = Key()
    quantity = serializers.ChoiceField(choices=QUANTITIES)
    value = Text(max_length=20, help_text='"0.35", "350 mΩ", ">200", "no trip", "OK"')
    multiple = serializers.ChoiceField(choices=[(m.value, m.words) for m in Multiple], required=False, default="1")
    test_volts = serializers.ChoiceField(choices=[250, 500, 1000], required=False, allow_null=True, default=None)
    equipment_connected = serializers.BooleanField(required=False, default=False)
    limit = serializers.DecimalField(max_digits=10, decimal_places=4, required=False, allow_null=True, default=None)
    limit_source = Text(required=False)
    already_corrected = serializers.BooleanField(required=False, default=False)
    as_read = serializers.BooleanField(required=False, default=False)


def value_of(given: dict[str, Any]) -> tuple[Quantity, Value, HowTested]:
    """What was read of which quantity, and how. Raises Refused beside `value` for what no instrument shows."""
    quantity = Quantity(given["quantity"])
    try:
        value = read(quantity, given["value"])
    except ValueError as wrong:
        raise Refused(str(wrong), field="value") from wrong
    limit = given["limit"]
    entered = None if limit is None else Entered(limit, given["limit_source"], given["already_corrected"])
    how = HowTested(Multiple(given["multiple"]), given["test_volts"], given["equipment_connected"], entered)
    return quantity, value, how


def instrument(key: Any, field: str = "instrument") -> Instrument | None:
    """The instrument with this key, None for none. Raises ValidationError beside `field` for one that is not in use."""
    found = instruments_in_use().filter(pk=key).first() if key else None
    if key and found is None:
        raise UnknownRow({field: ["There is no such instrument in use."]})
    return found  # type: ignore[no-any-return]


class ReadingTaken(Judged):
    """What the instrument showed: "0.35", "350 mΩ", ">200", "no trip", "OK". `id` is made by the sender.

    `multiple`: of IΔn, of an RCD's test. `limit` with `limit_source`: from the standard or the maker, where none is
    computed. `as_read`: the person was asked about an unlikely value. `inspection`: a report that is being written, whose
    edition then judges.
    """

    instrument = Key(required=False, allow_null=True)
    inspection = Key(required=False, allow_null=True)

    example = {"id": key("new"), "quantity": "loop-impedance", "value": "0.35", "instrument": key("instrument")}


@verb(ReadingShown, status=201, summary="Take a reading on a circuit.")
class TakeReading(Act):
    model = Circuit
    right = Right.INSPECT
    serializer_class = ReadingTaken

    def do(self, thing: Circuit, given: dict[str, Any]) -> Reading:
        quantity, value, test = value_of(given)
        report = given.get("inspection")
        return take_reading(
            thing,
            id=given["id"],
            quantity=quantity,
            value=value,
            instrument=instrument(given.get("instrument")),
            inspection=one(self, Inspection, report, "inspection") if report else None,
            test=test,
            as_read=given["as_read"],
            made_at=self.request.made_at,  # type: ignore[attr-defined]
            **self.doing,
        )


class ReadingAt(Judged):
    """A reading on a way of the board (`circuit`), at the origin (`supply`), or, with neither, at the board itself."""

    circuit = Key(required=False, allow_null=True, default=None)
    supply = Key(required=False, allow_null=True, default=None)


class ReadingsTaken(serializers.Serializer):
    """Readings of a board, all taken with one instrument: all are kept, or none. The keys are made by the sender.

    Where some cannot be taken, the refusal has the sentence of each under its key in `errors`.
    """

    readings: Any = several(ReadingAt, allow_empty=False, max_length=MOST_AT_ONCE)
    instrument = Key(required=False, allow_null=True, default=None)
    inspection = Key(required=False, allow_null=True, default=None)

    example = {
        "readings": [
            {"id": key("new"), "circuit": key("circuit"), "quantity": "loop-impedance", "value": "0.35"},
        ],
        "instrument": key("instrument"),
    }


class ReadingsShown(serializers.Serializer):
    """The readings as they were kept, in their order."""

    results = ReadingShown(many=True)


@verb(ReadingsShown, status=201, summary="Take the readings of a board at once.")
class TakeReadings(Act):
    model = Board
    right = Right.INSPECT
    serializer_class = ReadingsTaken

    def do(self, thing: Board, given: dict[str, Any]) -> Any:
        report = given["inspection"]
        taken, wrong = self._taken(thing, given["readings"])
        if wrong:
            raise Several(wrong)
        try:
            made = take_readings(
                taken,
                instrument=instrument(given["instrument"]),
                inspection=one(self, Inspection, report, "inspection") if report else None,
                made_at=self.request.made_at,  # type: ignore[attr-defined]
                **self.doing,
            )
        except NotTaken as refused:
            raise Several({str(pk): [told.sentence] for pk, told in refused.problems.items()}) from refused
        return {"results": made}

    def _taken(self, board: Board, said: list[dict[str, Any]]) -> tuple[list[Taken], dict[str, list[str]]]:
        """Each as the operation takes it, and what cannot be read, by its key."""
        ways = {row.pk: row for row in rows(self, Circuit).filter(board=board)}
        origins = {row.pk: row for row in rows(self, Supply).filter(site=board.site_id)}
        taken, wrong = [], {}
        for row in said:
            place = self._place(board, ways, origins, row)
            try:
                quantity, value, test = value_of(row)
            except Refused as refused:
                wrong[str(row["id"])] = [refused.sentence]
            else:
                taken.append(Taken(row["id"], place, quantity, value, test, row["as_read"]))
        return taken, wrong

    @staticmethod
    def _place(board: Board, ways: dict[Any, Circuit], origins: dict[Any, Supply], row: dict[str, Any]) -> Any:
        circuit, supply = row["circuit"], row["supply"]
        if circuit and supply:
            raise Refused("Name the circuit or the supply, not both.", field="readings")
        if (circuit and circuit not in ways) or (supply and supply not in origins):
            raise UnknownRow({"readings": ["There is no such circuit on this board, or no such supply."]})
        return ways[circuit] if circuit else origins[supply] if supply else board


class Several(Refused):
    """Several readings of which some cannot be taken: a sentence for each, by its key."""

    def __init__(self, errors: dict[str, list[str]]) -> None:
        super().__init__("Nothing was kept yet: look at the readings that are marked.")
        self.errors = errors
