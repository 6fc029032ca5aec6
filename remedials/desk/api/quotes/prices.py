"""The firm's rates and terms, its price book, and what remedials are priced at, to read: for those who see prices."""

from typing import Any

import django_filters
from django.db.models import Q, QuerySet
from django.http import HttpResponse
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from jobsite.people.rights import Right
from remedials.desk.api.files import XLSX, File, file, kept
from remedials.desk.api.ground import rows
from remedials.desk.api.quotes.money import NET, InPounds, Pounds
from remedials.desk.api.reading import Archived, List, One
from remedials.quotes.book.written import written
from remedials.quotes.models import Costing, Rate, StandardItem, StandardJob, Terms
from remedials.quotes.operations import book
from remedials.works.models import Item

PERCENT = "Percent, as text."


# --- rates and terms --------------------------------------------------------------------------------------------------


class RateShown(serializers.ModelSerializer):
    """What an hour of a skill costs the firm and is charged at; the empty skill is any other."""

    cost_hour, price_hour = Pounds(help_text=NET), Pounds(help_text=NET)

    class Meta:
        model = Rate
        fields = ["skill", "cost_hour", "price_hour"]


class TermsShown(InPounds, serializers.ModelSerializer):
    """What the firm charges and on what terms it offers, from a day on. `..._days` are days."""

    call_out, call_out_cost = Pounds(help_text=NET), Pounds(help_text=NET)
    rates = RateShown(many=True, read_only=True)

    class Meta:
        model = Terms
        fields = [
            "id", "holds_from", "call_out", "call_out_cost", "currency", "markup_percent", "vat_registered", "vat_number",
            "valid_days", "lapse_notice_days", "answer_days", "again_c1_days", "again_c2_days", "again_fi_days",
            "again_other_days", "text_before", "text_after", "cancellation_text", "begin_text", "reverse_charge_text",
            "reason", "set_by", "rates", "version",
        ]  # fmt: skip


class TermsFilter(FilterSet):
    on = django_filters.DateFilter(method="by_day", label="those in force on this day")

    def by_day(self, rows: QuerySet[Any], name: str, value: Any) -> QuerySet[Any]:
        last = Terms.objects.filter(holds_from__lte=value).order_by("-holds_from").values("pk")[:1]
        return rows.filter(pk__in=last)


TERMS = Terms.objects.prefetch_related("rates")


@extend_schema_view(get=extend_schema(summary="Rates and terms, by the day from which they hold."))
class AllTerms(List):
    right = Right.PRICE
    queryset = TERMS
    serializer_class = TermsShown
    filterset_class = TermsFilter
    ordering = "holds_from"


@extend_schema_view(get=extend_schema(summary="Rates and terms from one day on."))
class OneTerms(One):
    right = Right.PRICE
    queryset = TERMS
    serializer_class = TermsShown


# --- the price book ---------------------------------------------------------------------------------------------------

ITEM = ["kind", "what", "quantity", "unit", "cost_each", "markup_percent", "supplier", "reference"]


class JobItemShown(serializers.ModelSerializer):
    """What a standard job takes besides time, for one of it. `markup_percent` null: the firm's own."""

    cost_each = Pounds(help_text=NET)

    class Meta:
        model = StandardItem
        fields = ITEM


class JobShown(InPounds, serializers.ModelSerializer):
    """A standard job of the price book. `minutes` a person is there, `crew` people at once."""

    items = JobItemShown(many=True, read_only=True)

    class Meta:
        model = StandardJob
        fields = [
            "id", "name", "plain", "minutes", "crew", "skill", "retests", "certificate_kind", "treatment", "items",
            "currency", "retired_at", "version",
        ]  # fmt: skip


class JobFilter(Archived):
    q = django_filters.CharFilter(method="by_words", label="words of the name or of what is done")

    def by_words(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        for word in value.split()[:8]:
            rows = rows.filter(Q(name__icontains=word) | Q(plain__icontains=word))
        return rows


JOBS = StandardJob.objects.prefetch_related("items")


@extend_schema_view(
    get=extend_schema(summary="Standard jobs of the price book, in the order in which they were added.")
)
class Jobs(List):
    right = Right.PRICE
    queryset = JOBS
    serializer_class = JobShown
    filterset_class = JobFilter
    ordering = "id"


@extend_schema_view(get=extend_schema(summary="One standard job."))
class OneJob(One):
    right = Right.PRICE
    queryset = JOBS
    serializer_class = JobShown


@file(XLSX, summary="The whole price book as a spreadsheet, retired jobs too; it can be sent back.")
class BookFile(File):
    right = Right.PRICE
    queryset = StandardJob.objects.all()

    def get_object(self) -> Any:
        """Every job that this person sees."""
        return rows(self, StandardJob).order_by("sort", "id").prefetch_related("items")

    def answer(self, row: Any) -> HttpResponse:
        """The jobs and their items, a sheet each."""
        data = written((book.as_written(one), one.retired_at is not None) for one in row)
        return kept(data, XLSX, "price-book.xlsx")


# --- what remedials are priced at -------------------------------------------------------------------------------------


class ItemShown(serializers.ModelSerializer):
    """What a remedial takes besides time. `markup_percent` null: the firm's own."""

    cost_each = Pounds(help_text=NET)

    class Meta:
        model = Item
        fields = ITEM


class CostingShown(InPounds, serializers.ModelSerializer):
    """What a remedial takes and is priced at. `set_price` with its reason where a person set it, else null.

    `version` is the remedial's, which counts on with its price too.
    """

    minutes: Any = serializers.IntegerField(source="remedial.minutes", read_only=True, allow_null=True)
    crew: Any = serializers.IntegerField(source="remedial.crew", read_only=True)
    skill: Any = serializers.CharField(source="remedial.skill", read_only=True)
    items = ItemShown(source="remedial.items", many=True, read_only=True)
    price, cost, worked_out = Pounds(help_text=NET), Pounds(help_text=NET), Pounds(help_text=NET)
    set_price = Pounds(help_text=NET, allow_null=True)
    version: Any = serializers.IntegerField(source="remedial.version", read_only=True)

    class Meta:
        model = Costing
        fields = [
            "remedial", "job", "minutes", "crew", "skill", "items", "plain", "treatment", "call_out", "cost", "worked_out",
            "set_price", "set_why", "price", "currency", "terms", "priced_by", "priced_at", "version",
        ]  # fmt: skip


class CostingFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="remedial__site_id")
    job = django_filters.UUIDFilter(field_name="job_id")
    remedial = django_filters.UUIDFilter(field_name="remedial_id")


COSTINGS = Costing.objects.select_related("remedial").prefetch_related("remedial__items")


@extend_schema_view(get=extend_schema(summary="What remedials are priced at, by their keys."))
class Costings(List):
    right = Right.PRICE
    queryset = COSTINGS
    serializer_class = CostingShown
    filterset_class = CostingFilter
    ordering = "remedial_id"


@extend_schema_view(get=extend_schema(summary="What one remedial is priced at: by the remedial's key."))
class OneCosting(One):
    right = Right.PRICE
    queryset = COSTINGS
    serializer_class = CostingShown
