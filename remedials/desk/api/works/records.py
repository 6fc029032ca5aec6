"""What was said and done about remedials, to read: yes, no, waiting, time on site, power, ways out."""

from typing import Any

import django_filters
from django.db.models import QuerySet
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_field, extend_schema_view
from rest_framework import serializers

from remedials.desk.api.ground import rows
from remedials.desk.api.reading import YES_OR_NO, List, One, Rows
from remedials.quotes.policy import may_price
from remedials.works.models import Approval, PowerStep, Remedial, Stint, Used, Waiting, WayOut

POUNDS = serializers.DecimalField(max_digits=10, decimal_places=2, allow_null=True)


class OfRemedial(Rows):
    """Rows of remedials: seen by whoever sees the remedial."""

    def get_queryset(self) -> QuerySet[Any]:
        """Through the door to remedials."""
        if getattr(self, "swagger_fake_view", False):
            return self.queryset.none()
        return self.queryset.filter(remedial__in=rows(self, Remedial))


class ByRemedial(FilterSet):
    """Rows of one remedial, or of those of one site."""

    remedial = django_filters.UUIDFilter(field_name="remedial_id")
    site = django_filters.UUIDFilter(field_name="remedial__site_id", label="of the remedials of this site")


# --- yes and no -------------------------------------------------------------------------------------------------------


class ApprovalShown(serializers.ModelSerializer):
    """Who said yes, how and when. `pounds`: to which sum without VAT, for those who see prices, null for others.

    `recorded_by` is null where they answered on their own link; `taken_back_at`: recorded by mistake.
    """

    pounds = serializers.SerializerMethodField()

    class Meta:
        model = Approval
        fields = [
            "id", "remedial", "given_by", "party", "how", "given_on", "pounds", "reference", "recorded_by", "recorded_at",
            "taken_back_at",
        ]  # fmt: skip

    @extend_schema_field(POUNDS)
    def get_pounds(self, approval: Approval) -> str | None:
        """The sum, for those who see prices."""
        shown = approval.pounds is not None and may_price(self.context["request"].user)
        return str(approval.pounds) if shown else None


@extend_schema_view(get=extend_schema(summary="Approvals of remedials, in the order in which they were recorded."))
class Approvals(OfRemedial, List):
    """Every yes that was recorded, also one that was taken back."""

    queryset = Approval.objects.all()
    serializer_class = ApprovalShown
    filterset_class = ByRemedial
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One approval."))
class OneApproval(OfRemedial, One):
    """Who said yes to one remedial."""

    queryset = Approval.objects.all()
    serializer_class = ApprovalShown


class WayOutShown(serializers.ModelSerializer):
    """Why a remedial left the list without our work: declined, cancelled, done by others (`looked_by`: looked at since by).

    `reference`: the others' certificate or letter; `file`: the SHA-256 of their paper as it is kept.
    """

    class Meta:
        model = WayOut
        fields = [
            "id", "remedial", "stage", "who", "reason", "on", "offer_again_on", "reference", "file", "looked_by", "looked_on",
            "recorded_by", "recorded_at", "taken_back_at",
        ]  # fmt: skip


class WayOutFilter(ByRemedial):
    stage = django_filters.ChoiceFilter(choices=WayOut._meta.get_field("stage").choices)


@extend_schema_view(get=extend_schema(summary="Remedials declined, cancelled or done by others, as it was recorded."))
class WaysOut(OfRemedial, List):
    """Every way out that was recorded, also one that was taken back."""

    queryset = WayOut.objects.all()
    serializer_class = WayOutShown
    filterset_class = WayOutFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One way out."))
class OneWayOut(OfRemedial, One):
    """Why one remedial left the list without our work."""

    queryset = WayOut.objects.all()
    serializer_class = WayOutShown


# --- waiting ----------------------------------------------------------------------------------------------------------


class WaitingShown(serializers.ModelSerializer):
    """That an observation or a remedial waits on somebody outside: who, for what, when to chase, who of us does."""

    class Meta:
        model = Waiting
        fields = [
            "id", "site", "observation", "remedial", "on_whom", "for_what", "reference", "asked_on", "promised_for", "chase_on",
            "owner", "recorded_by", "ended_at", "ended_how",
        ]  # fmt: skip


class WaitingFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    remedial = django_filters.UUIDFilter(field_name="remedial_id")
    observation = django_filters.UUIDFilter(field_name="observation_id")
    owner = django_filters.UUIDFilter(field_name="owner_id", label="who of us chases")
    open = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_open", label="still waits")
    chase_until = django_filters.DateFilter(field_name="chase_on", lookup_expr="lte", label="to chase by this day")

    def by_open(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(ended_at__isnull=value == "true")


@extend_schema_view(get=extend_schema(summary="What waits on somebody outside."))
class Waitings(List):
    """What waits and what waited, in the order in which it was noted."""

    queryset = Waiting.objects.all()
    serializer_class = WaitingShown
    filterset_class = WaitingFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One waiting."))
class OneWaiting(One):
    """What one thing waits for."""

    queryset = Waiting.objects.all()
    serializer_class = WaitingShown


# --- on site ----------------------------------------------------------------------------------------------------------


class UsedShown(serializers.ModelSerializer):
    """A material that was used: how much of it, in which unit (empty for pieces)."""

    class Meta:
        model = Used
        fields = ["what", "quantity", "unit"]


class StintShown(serializers.ModelSerializer):
    """What one engineer's time at a remedial came to. `minutes` of this engineer on site, as they say."""

    used = UsedShown(many=True, read_only=True)

    class Meta:
        model = Stint
        fields = ["id", "remedial", "proof", "came", "because", "minutes", "used", "by", "at"]


STINTS = Stint.objects.prefetch_related("used")


@extend_schema_view(get=extend_schema(summary="Engineers' time at remedials: finished, part done, could not be done."))
class Stints(OfRemedial, List):
    """In the order in which they were recorded."""

    queryset = STINTS
    serializer_class = StintShown
    filterset_class = ByRemedial
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One engineer's time at a remedial."))
class OneStint(OfRemedial, One):
    """How long, what came of it, what was used."""

    queryset = STINTS
    serializer_class = StintShown


class PowerStepRow(serializers.ModelSerializer):
    """Power off, locked and proved dead, or on again: an engineer's word, not a claim of this program."""

    class Meta:
        model = PowerStep
        fields = ["id", "remedial", "kind", "where", "by", "at"]


@extend_schema_view(get=extend_schema(summary="Power off and proved dead, and on again, as engineers recorded it."))
class PowerSteps(OfRemedial, List):
    """In the order in which they were recorded."""

    queryset = PowerStep.objects.all()
    serializer_class = PowerStepRow
    filterset_class = ByRemedial
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One step of power off or on."))
class OnePowerStep(OfRemedial, One):
    """The engineer's word."""

    queryset = PowerStep.objects.all()
    serializer_class = PowerStepRow
