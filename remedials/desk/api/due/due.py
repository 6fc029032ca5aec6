"""The due list to read: the rows of the page, in its order, narrowed as there."""

from datetime import date
from typing import Any

import django_filters
from django.db.models import QuerySet
from django_filters.rest_framework import FilterSet
from drf_spectacular.utils import extend_schema, extend_schema_view
from rest_framework import serializers

from inspections.choices import Code
from jobsite import clock
from jobsite.api.keyset import ForwardPages
from jobsite.paging import Slice
from remedials.desk.api.reading import NOT_CODED, YES_OR_NO, List
from remedials.due.models import DueRow
from remedials.due.queries import HEAP_WORDS, NO_DATE, narrowed, rows_due, slice_of_rows


class DueShown(serializers.ModelSerializer):
    """An open obligation, by `kind` and `ref`, the key of what is to be done; `site` is null for what is the firm's own.

    `loose`: a C1, C2 or FI without an owner or a date. `due` is null where there is no date. `waits_on` is whom outside it
    waits for. `in_hand_until`, `in_hand_why`: the owner's own word, until when nobody is reminded of it.
    """

    due = serializers.SerializerMethodField()
    observation = serializers.UUIDField(allow_null=True)
    in_hand_why = serializers.CharField(allow_null=True)

    class Meta:
        model = DueRow
        fields = [
            "kind", "ref", "site", "unit", "board", "observation", "remedial", "quote", "visit", "person", "code",
            "made_safe", "loose", "subject", "next_step", "rule", "owner", "waits_on", "due", "first_recorded_on",
            "remedy_by", "in_hand_until", "in_hand_why",
        ]  # fmt: skip

    def get_due(self, row: DueRow) -> date | None:
        """The day by which the step is taken."""
        return None if row.due == NO_DATE else row.due


class DueFilter(FilterSet):
    site = django_filters.UUIDFilter(field_name="site_id")
    observation = django_filters.UUIDFilter(field_name="observation")
    remedial = django_filters.UUIDFilter(field_name="remedial")
    kind = django_filters.CharFilter(field_name="kind")
    owner = django_filters.CharFilter(method="by_owner", label='a person\'s key, or "nobody"')
    code = django_filters.ChoiceFilter(choices=[*Code.choices, NOT_CODED], method="by_code", label="code in force")
    only = django_filters.ChoiceFilter(
        choices=list(HEAP_WORDS.items()), method="by_heap", label="what nobody may overlook"
    )
    loose = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_loose", label="without owner or date")
    due_by = django_filters.DateFilter(field_name="due", lookup_expr="lte", label="due on this day or before")

    def by_owner(self, rows: Any, name: str, value: str) -> Any:
        return narrowed(rows, owner=value)

    def by_code(self, rows: Any, name: str, value: str) -> Any:
        return narrowed(rows, code=value)

    def by_heap(self, rows: Any, name: str, value: str) -> Any:
        return narrowed(rows, heap=value)

    def by_loose(self, rows: Any, name: str, value: str) -> Any:
        return rows.filter(loose=value == "true")


class DuePages(ForwardPages):
    """Pages by the key of the page's own order."""

    def slice_of(self, rows: Any, *, after: str, size: int, view: Any) -> Slice:
        """One page, in two statements."""
        return slice_of_rows(rows, after=after, size=size)


@extend_schema_view(get=extend_schema(summary="What is due, in the order of the page: by date, then by danger."))
class Due(List):
    """The due list as it stands today for who asks."""

    queryset = DueRow.objects.all()
    serializer_class = DueShown
    filterset_class = DueFilter
    pagination_class = DuePages

    def get_queryset(self) -> QuerySet[Any]:
        """The rows that this person sees in the list today; while the schema is drawn there is nobody to see any."""
        if getattr(self, "swagger_fake_view", False):
            return self.queryset.none()
        today = clock.local_day(self.request.now)  # type: ignore[attr-defined]
        return rows_due(self.request.user, today=today)  # type: ignore[arg-type]
