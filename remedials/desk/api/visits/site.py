"""Getting in to a site, to read: times, closed days, whom to ask, keys, codes (never a code itself), what to see to."""

from typing import Any

import django_filters
from django.db.models import Prefetch, Q, QuerySet
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite import clock
from remedials.desk.api.reading import YES_OR_NO, List, One, Rows
from remedials.visits.models import AccessTime, AlarmCode, CheckIn, ClosedDays, KeyMove, OccupierNote, SeeTo, SiteKey
from remedials.visits.queries.getting_in import sites_whose_people


class BySite(FilterSet):
    """Rows of one site."""

    site = django_filters.UUIDFilter(field_name="site_id")


class ByUnit(BySite):
    """Rows of one site, or of one unit of it."""

    unit = django_filters.UUIDFilter(field_name="unit_id")


# --- when -------------------------------------------------------------------------------------------------------------


class AccessTimeShown(serializers.ModelSerializer):
    """A time of the week at which people are let in, local time; of the whole site where `unit` is null. 0 is Monday."""

    class Meta:
        model = AccessTime
        fields = ["id", "site", "unit", "weekdays", "start", "end", "note"]


@extend_schema_view(get=extend_schema(summary="Times of the week at which people are let in."))
class AccessTimes(List):
    """A site or unit with none is open at any time; a unit with its own is not ruled by those of its site."""

    queryset = AccessTime.objects.all()
    serializer_class = AccessTimeShown
    filterset_class = ByUnit
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One time of the week at which people are let in."))
class OneAccessTime(One):
    """On which days, from when until when."""

    queryset = AccessTime.objects.all()
    serializer_class = AccessTimeShown


class ClosedDaysShown(serializers.ModelSerializer):
    """Days on which nobody may work there, both included; at the whole site where `unit` is null."""

    class Meta:
        model = ClosedDays
        fields = ["id", "site", "unit", "first", "last", "why"]


class ClosedDaysFilter(ByUnit):
    until = django_filters.DateFilter(field_name="last", lookup_expr="gte", label="not over before this day")


@extend_schema_view(get=extend_schema(summary="Days on which nobody may work at a site."))
class AllClosedDays(List):
    """Past ones too."""

    queryset = ClosedDays.objects.all()
    serializer_class = ClosedDaysShown
    filterset_class = ClosedDaysFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One stretch of closed days."))
class OneClosedDays(One):
    """From when to when, and why."""

    queryset = ClosedDays.objects.all()
    serializer_class = ClosedDaysShown


# --- whom to ask ------------------------------------------------------------------------------------------------------


class OccupierShown(serializers.ModelSerializer):
    """Whom to ask at a unit, and what to mind about the people there. Personal: no more of it than is needed."""

    class Meta:
        model = OccupierNote
        fields = [
            "id",
            "site",
            "unit",
            "contact",
            "phone",
            "email",
            "best_times",
            "mind",
            "loses_power_badly",
            "version",
        ]


@extend_schema_view(get=extend_schema(summary="Whom to ask at units, and what to mind there."))
class Occupiers(List):
    """The office sees all; an engineer those of sites they are booked at, from two days before until a day after."""

    queryset = OccupierNote.objects.all()
    serializer_class = OccupierShown
    filterset_class = ByUnit
    ordering = "id"

    def get_queryset(self) -> QuerySet[Any]:
        """Through the door to rows, and through that of people."""
        notes = super().get_queryset()
        if getattr(self, "swagger_fake_view", False):
            return notes
        sites = sites_whose_people(self.request.user, now=self.request.now)  # type: ignore[arg-type, attr-defined]
        return notes if sites is None else notes.filter(site__in=sites)


# --- keys and codes ---------------------------------------------------------------------------------------------------


class KeyMoveShown(serializers.ModelSerializer):
    """That a key went out to somebody, came in, or was given back for good."""

    class Meta:
        model = KeyMove
        fields = ["id", "way", "who", "note", "at", "recorded_by"]


class KeyShown(serializers.ModelSerializer):
    """A key of a site that the firm keeps, by its tag: where it hangs, or who has it, and where it was, the first first."""

    moves = KeyMoveShown(many=True, read_only=True)

    class Meta:
        model = SiteKey
        fields = [
            "id",
            "site",
            "tag",
            "what",
            "held_for",
            "place",
            "out_to",
            "back_by",
            "given_back_at",
            "moves",
            "version",
        ]


class KeyFilter(BySite):
    out = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_out", label="somebody has it")
    out_to = django_filters.UUIDFilter(field_name="out_to_id", label="who has it")
    kept = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_kept", label="not given back for good")

    def by_out(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(out_to__isnull=value == "false")

    def by_kept(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(given_back_at__isnull=value == "true")


KEYS = SiteKey.objects.prefetch_related(Prefetch("moves", KeyMove.objects.order_by("at", "pk")))


@extend_schema_view(get=extend_schema(summary="Keys of sites that the firm keeps."))
class Keys(List):
    """Those given back for good too."""

    queryset = KEYS
    serializer_class = KeyShown
    filterset_class = KeyFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One key."))
class OneKey(One):
    """Where it is, and where it was."""

    queryset = KEYS
    serializer_class = KeyShown


class CodeShown(serializers.ModelSerializer):
    """That a code is kept, and what it opens or silences. The code itself is never given out here."""

    class Meta:
        model = AlarmCode
        fields = ["id", "site", "place", "retired_at", "version"]


class CodeFilter(BySite):
    current = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_current", label="not erased")

    def by_current(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(retired_at__isnull=value == "true")


@extend_schema_view(get=extend_schema(summary="What codes are kept of sites; never a code itself."))
class Codes(List):
    """An engineer who is booked there looks at a code on its page."""

    queryset = AlarmCode.objects.all()
    serializer_class = CodeShown
    filterset_class = CodeFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="What one code opens or silences; never the code itself."))
class OneCode(One):
    """An engineer who is booked there looks at it on its page."""

    queryset = AlarmCode.objects.all()
    serializer_class = CodeShown


# --- before work, and alone at work -----------------------------------------------------------------------------------


class SeeToShown(serializers.ModelSerializer):
    """What must be seen to before work at a site, a unit of it, or on one remedial begins; how it was, once it was.

    `by`: by when `owner` should. `holds_until`: the last day on which it holds, null for good.
    """

    class Meta:
        model = SeeTo
        fields = [
            "id", "site", "unit", "remedial", "kind", "what", "owner", "by", "met_on", "met_how", "holds_until", "withdrawn_at",
            "version",
        ]  # fmt: skip


class SeeToFilter(ByUnit):
    remedial = django_filters.UUIDFilter(field_name="remedial_id")
    owner = django_filters.UUIDFilter(field_name="owner_id")
    open = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_open", label="still to be seen to today")

    def by_open(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        today = clock.local_day(self.request.now)
        still = Q(withdrawn_at=None) & (Q(met_on=None) | Q(holds_until__lt=today))
        return rows.filter(still) if value == "true" else rows.exclude(still)


@extend_schema_view(get=extend_schema(summary="What must be seen to before work."))
class AllToSeeTo(List):
    """What was seen to and what need not be any more, too."""

    queryset = SeeTo.objects.all()
    serializer_class = SeeToShown
    filterset_class = SeeToFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One thing to be seen to before work."))
class OneToSeeTo(One):
    """What, by whom and by when."""

    queryset = SeeTo.objects.all()
    serializer_class = SeeToShown


class CheckInRow(serializers.ModelSerializer):
    """That somebody is in a place alone. `out_by`: when they said they would be out; `out_at`: when they were.

    `said_at`: when they said so, null as they went in; `heard_at`: when that reached us, where it was later.
    `found_safe`: how somebody else made sure that all was well.
    """

    class Meta:
        model = CheckIn
        fields = ["id", "site", "visit", "user", "in_at", "out_by", "said_at", "heard_at", "out_at", "found_safe"]


class CheckInFilter(BySite):
    visit = django_filters.UUIDFilter(field_name="visit_id")
    user = django_filters.UUIDFilter(field_name="user_id")
    inside = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_inside", label="not out yet")

    def by_inside(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(out_at__isnull=value == "true")


class OwnCheckIns(Rows):
    """A subcontractor's own only; the others see who is alone where."""

    queryset = CheckIn.objects.all()
    serializer_class = CheckInRow

    def get_queryset(self) -> QuerySet[Any]:
        """Through the door to rows, and for a subcontractor one more."""
        found, user = super().get_queryset(), self.request.user
        return found.filter(user=user) if user.is_authenticated and user.subcontractor else found


@extend_schema_view(get=extend_schema(summary="Who is, and was, in a place alone."))
class CheckIns(OwnCheckIns, List):
    """In the order in which they went in."""

    filterset_class = CheckInFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="That one person was in a place alone."))
class OneCheckIn(OwnCheckIns, One):
    """Since when, and until when they said."""
