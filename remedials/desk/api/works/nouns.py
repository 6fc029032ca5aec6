"""Remedials, to read. What is not a field here is not given out."""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from remedials.desk.api.reading import YES_OR_NO, List, One
from remedials.works.models import Item, Remedial, RequiredReading
from remedials.works.queries.lists import MOST_WORDS
from remedials.works.states import WORDS

REMEDIALS = Remedial.objects.prefetch_related("observations", "required_readings", "items")


class RequiredReadingShown(serializers.ModelSerializer):
    """A reading that a remedial must pass; its limit in the quantity's unit where a person entered one."""

    class Meta:
        model = RequiredReading
        fields = ["id", "circuit", "quantity", "limit_entered", "limit_source"]


class WorkItemShown(serializers.ModelSerializer):
    """What the work takes besides time: how much of it, in which unit (empty for pieces), from where. No costs here."""

    class Meta:
        model = Item
        fields = ["id", "kind", "what", "quantity", "unit", "supplier", "reference"]


class RemedialShown(serializers.ModelSerializer):
    """A remedial, with the observations that it puts right, the readings that it must pass, and what it takes.

    `minutes` of the whole crew together on site; `crew`: how many people it takes at once.
    """

    observations: Any = serializers.PrimaryKeyRelatedField(many=True, read_only=True)
    required_readings = RequiredReadingShown(many=True, read_only=True)
    items = WorkItemShown(many=True, read_only=True)
    stage = serializers.ChoiceField(choices=Remedial.STAGES)

    class Meta:
        model = Remedial
        fields = [
            "id", "number", "site", "unit", "observations", "work", "stage", "skill", "minutes", "crew", "power_off",
            "see_to_first", "parts_ready_on", "photo_required", "certificate_kind", "notifiable", "network", "owner", "step_by", "call_back_of", "made_at",
            "required_readings", "items", "version",
        ]  # fmt: skip


class RemedialFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    observation = django_filters.UUIDFilter(method="by_observation", label="an observation that it puts right")
    stage = django_filters.MultipleChoiceFilter(choices=[(stage.value, words) for stage, words in WORDS.items()])
    owner = django_filters.UUIDFilter(field_name="owner_id", label="who has the next step")
    nobodys = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_nobody", label="nobody has the next step")
    words = django_filters.CharFilter(method="by_words", max_length=200, label="words in the work or the site's name")
    parts_after = django_filters.DateFilter(
        field_name="parts_ready_on", lookup_expr="gt", label="its parts come after this day"
    )
    open = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_open", label="keeps its observations open")

    def by_observation(self, rows: QuerySet[Any], name: str, value: Any) -> QuerySet[Any]:
        return rows.filter(remedies__observation=value)

    def by_nobody(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(owner__isnull=value == "true")

    def by_words(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        for word in value.split()[:MOST_WORDS]:
            rows = rows.filter(Q(work__icontains=word) | Q(site__name__icontains=word))
        return rows

    def by_open(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        unfinished = Remedial.objects.unfinished().values("pk")
        return rows.filter(pk__in=unfinished) if value == "true" else rows.exclude(pk__in=unfinished)


@extend_schema_view(get=extend_schema(summary="Remedials, in the order of their numbers."))
class Remedials(List):
    queryset = REMEDIALS
    serializer_class = RemedialShown
    filterset_class = RemedialFilter


@extend_schema_view(get=extend_schema(summary="One remedial."))
class OneRemedial(One):
    queryset = REMEDIALS
    serializer_class = RemedialShown
