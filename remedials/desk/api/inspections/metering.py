"""Two meters of one defect compared: to read, and to compare."""

from decimal import Decimal
from typing import Any

import django_filters
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from inspections import operations
from inspections.choices import MetersFound, MeterUnit
from inspections.models import MeterComparison, MeterFigure, Observation
from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.refused import Refused
from remedials.desk.api.ground import Act, Key, Moment, Text, one, verb
from remedials.desk.api.inspections.readings import instrument
from remedials.desk.api.reading import List, One

WH_PER_KWH = 1000
WHOLE = ([True, True, False], [False, False, True])  # of start, end and energy, what is said
EITHER = "Enter start and end of the register, or the energy that it shows."
COMPARISONS = MeterComparison.objects.prefetch_related("figures")


class MeterFigureShown(serializers.ModelSerializer):
    """What one of the two counted; `start` and `end` of its register in `unit`, the energy in Wh."""

    class Meta:
        model = MeterFigure
        fields = ["relied_on", "what", "instrument", "unit", "start", "end", "wh"]


class ComparisonShown(serializers.ModelSerializer):
    """Two meters over the same interval, and what their ratio (in doubt over relied on) points to as common practice.

    `answers`: the earlier comparison that this one puts right. `source_wh`: what a second source gave, in Wh.
    """

    figures = MeterFigureShown(many=True, read_only=True)
    points_to: Any = serializers.ListField(child=serializers.CharField(), read_only=True)

    class Meta:
        model = MeterComparison
        fields = [
            "id", "site", "observation", "began_at", "ended_at", "three_phase", "source_wh", "tolerance_percent", "found",
            "ratio", "points_to", "sentence", "note", "answers", "figures", "taken_by", "taken_at",
        ]  # fmt: skip


class ComparisonFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    observation = django_filters.UUIDFilter(field_name="observation_id")
    found = django_filters.ChoiceFilter(choices=MetersFound.choices)


@extend_schema_view(get=extend_schema(summary="Comparisons of two meters, in the order in which they were made."))
class Comparisons(List):
    right = Right.INSPECT
    queryset = COMPARISONS
    serializer_class = ComparisonShown
    filterset_class = ComparisonFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One comparison of two meters."))
class OneComparison(One):
    right = Right.INSPECT
    queryset = COMPARISONS
    serializer_class = ComparisonShown


class Figure(serializers.DecimalField):
    """A state of a register or an energy."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(
            **{"max_digits": 12, "decimal_places": 6, "required": False, "allow_null": True, "default": None} | kwargs
        )


class MeterRead(serializers.Serializer):
    """What was read of one meter: `start` and `end` of its register, or the `energy` that it shows; all in `unit`."""

    what = Text(help_text="Which meter or monitor, and where it measures.")
    unit = serializers.ChoiceField(choices=MeterUnit.choices)
    start = Figure()
    end = Figure()
    energy = Figure(help_text="With its sign: negative where it counts as export.")
    instrument = Key(required=False, allow_null=True, default=None, help_text="One of the firm's own.")

    def counted(self, given: dict[str, Any], field: str) -> operations.Counted:
        """What was read, as the operation takes it. Raises ValidationError for an instrument that is not in use.

        Raises Refused for what is neither a register from start to end nor an energy, or both.
        """
        if [given[name] is not None for name in ("start", "end", "energy")] not in WHOLE:
            raise Refused(EITHER, field=field)
        return operations.Counted(**given | {"instrument": instrument(given["instrument"], field)})


class MetersCompared(serializers.Serializer):
    """Two meters over the same interval. `id` is made by the sender: the same again makes no second."""

    id = Key()
    began_at = Moment()
    ended_at = Moment()
    three_phase = serializers.BooleanField(required=False, default=False)
    relied_on = MeterRead()
    in_doubt = MeterRead()
    source_kwh = Figure(help_text="What a second source gave in the interval, in kWh.")
    note = Text(required=False)
    answers = Key(required=False, allow_null=True, default=None, help_text="The comparison that this one puts right.")

    example = {
        "id": key("new"),
        "began_at": "2026-02-03T09:00:00Z",
        "ended_at": "2026-02-03T10:00:00Z",
        "relied_on": {"what": "the supplier's meter at the intake", "unit": "kWh", "start": "100", "end": "103"},
        "in_doubt": {"what": "the monitor's clamps", "unit": "Wh", "energy": "1500"},
    }


@verb(ComparisonShown, status=201, summary="Compare two meters of a defect that is under investigation.")
class CompareMeters(Act):
    right = Right.INSPECT
    model = Observation
    serializer_class = MetersCompared

    def do(self, thing: Observation, given: dict[str, Any]) -> MeterComparison:
        source: Decimal | None = given.pop("source_kwh")
        answers = given.pop("answers")
        for name in ("relied_on", "in_doubt"):
            given[name] = MeterRead().counted(given[name], name)
        return operations.compare_meters(
            thing,
            source_wh=None if source is None else source * WH_PER_KWH,
            answers=one(self, MeterComparison, answers, "answers") if answers else None,
            **given,
            **self.doing,
        )
