"""What the firm has decided for its diary, from a day on: to read and to set."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_field, extend_schema_view
from rest_framework import serializers

from jobsite.people.rights import Right
from jobsite.refused import ChangedMeanwhile, Refused
from remedials.desk.api.ground import Act, Day, Text, Whole, verb
from remedials.desk.api.reading import List, One, Rows
from remedials.visits.models import DiaryTerms
from remedials.visits.operations.terms import set_diary_terms
from remedials.visits.queries.terms import diary_terms
from remedials.visits.rules.checks import FIXED, Check, Severity, severity_of

SET = [check for check in Check if check not in FIXED]
SEVERITIES = [(severity.value, severity.value) for severity in Severity]


class SeveritiesShown(serializers.Serializer):
    """How strictly a booking is looked at, check by check: refused, warned of (and booked with a reason), not said."""

    def get_fields(self) -> dict[str, Any]:
        """One for each check that the firm sets."""
        return {check.value: serializers.ChoiceField(SEVERITIES) for check in SET}

    def to_representation(self, instance: dict[str, str]) -> dict[str, str]:
        """What holds: where nothing was stored, the default."""
        return {check.value: severity_of(check, instance).value for check in SET}


class DiaryTermsShown(serializers.ModelSerializer):
    """The terms of the diary from the day `holds_from`. `..._minutes` minutes, `..._days` days, `code_hours` hours.

    `day_start`, `day_end`: usual hours, local time; `winding_factor`: road over straight line; `speed_kmh`: km/h.
    """

    severities = SeveritiesShown(read_only=True)

    class Meta:
        model = DiaryTerms
        fields = [
            "id", "holds_from", "severities", "day_start", "day_end", "winding_factor", "speed_kmh", "matrix_address",
            "visit_minutes_least", "confirm_days", "letter_days", "code_hours", "check_out_minutes", "reason", "set_by",
            "version",
        ]  # fmt: skip


class DiaryTermsFilter(FilterSet):
    on = django_filters.DateFilter(method="by_day", label="those in force on this day")

    def by_day(self, rows: QuerySet[Any], name: str, value: Any) -> QuerySet[Any]:
        return rows.filter(pk=diary_terms(value).pk)


class FirmsTerms(Rows):
    """The managers' page shows them."""

    right = Right.KEEP_FIRM
    queryset = DiaryTerms.objects.all()
    serializer_class = DiaryTermsShown

    def get_queryset(self) -> QuerySet[Any]:
        """Of every day."""
        return self.queryset.all()


@extend_schema_view(get=extend_schema(summary="Terms of the diary, by the day from which they hold."))
class AllDiaryTerms(FirmsTerms, List):
    """Before the first of them the defaults hold."""

    filterset_class = DiaryTermsFilter
    ordering = "holds_from"


@extend_schema_view(get=extend_schema(summary="Terms of the diary from one day on."))
class OneDiaryTerms(FirmsTerms, One):
    """How strictly bookings are looked at, the usual hours, how driving is reckoned."""


@extend_schema_field(
    {
        "type": "object",
        "propertyNames": {"enum": [check.value for check in Check]},
        "additionalProperties": {"type": "string", "enum": [severity.value for severity in Severity]},
    }
)
class SeveritiesSet(serializers.DictField):
    """How strict, by check."""


class DiaryTermsSet(serializers.Serializer):
    """What is to hold from the day `holds_from`; what is left out stays as it holds on that day. Units as they are read.

    `severities`: "refuse", "warn" or "silent" by check. `matrix_address`: a routing server's table service, or none.
    `seen`: the version of the terms of that very day as you saw them, 0 where there were none.
    """

    holds_from = Day()
    severities: Any = SeveritiesSet(child=serializers.ChoiceField(SEVERITIES), required=False)
    day_start = serializers.TimeField(required=False)
    day_end = serializers.TimeField(required=False)
    winding_factor = serializers.DecimalField(max_digits=4, decimal_places=2, min_value=1, max_value=3, required=False)
    speed_kmh = Whole(min_value=5, max_value=120, required=False)
    matrix_address = serializers.CharField(max_length=200, required=False, allow_blank=True)
    visit_minutes_least = Whole(min_value=5, max_value=480, required=False)
    confirm_days = Whole(min_value=0, max_value=60, required=False)
    letter_days = Whole(min_value=1, max_value=90, required=False)
    code_hours = Whole(min_value=0, max_value=24, required=False)
    check_out_minutes = Whole(min_value=0, max_value=240, required=False)
    reason = Text(required=False)
    seen = Whole(min_value=0)

    example = {"holds_from": "2026-03-01", "severities": {"bank-holiday": "refuse"}, "confirm_days": 4, "seen": 0}

    def validate_severities(self, value: dict[str, str]) -> dict[str, str]:
        """Only checks that there are; what may not be set is the operation's to refuse."""
        if unknown := sorted(set(value) - {check.value for check in Check}):
            raise serializers.ValidationError([f"There is no check called {name}." for name in unknown])
        return value


FIGURES = (
    "day_start", "day_end", "winding_factor", "speed_kmh", "matrix_address", "visit_minutes_least", "confirm_days",
    "letter_days", "code_hours", "check_out_minutes",
)  # fmt: skip


@verb(DiaryTermsShown, status=201, summary="Set the terms of the diary from a day on.")
class SetDiaryTerms(Act):
    """Set again for the same day, it takes the place of what was set."""

    model = DiaryTerms
    right = Right.KEEP_FIRM
    serializer_class = DiaryTermsSet

    def thing(self) -> None:
        """It may not be there yet."""

    def do(self, thing: None, given: dict[str, Any]) -> DiaryTerms:
        before = diary_terms(given["holds_from"])
        kept = {check.value: severity_of(check, before.severities).value for check in SET}
        given["severities"] = kept | given.get("severities", {})
        given["version"] = given.pop("seen")
        try:
            return set_diary_terms(**{name: getattr(before, name) for name in FIGURES} | given, **self.doing)
        except ChangedMeanwhile as changed:
            raise Refused(changed.sentence, field="seen") from changed
