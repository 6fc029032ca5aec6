"""What every noun of the API stands on: its rows, its list, its filters."""

import re
from collections.abc import Collection
from typing import Any, ClassVar

import django_filters
from django.core.exceptions import ValidationError as Unclear
from django.db.models import QuerySet
from django_filters.rest_framework import DjangoFilterBackend, FilterSet
from drf_spectacular.utils import extend_schema
from rest_framework.exceptions import ValidationError
from rest_framework.filters import BaseFilterBackend
from rest_framework.mixins import ListModelMixin
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from jobsite.api.headers import ETAG_HEADER, etag
from jobsite.api.patterns import YEARS_OF_INSTANTS
from remedials.desk.api.ground import Door

YES_OR_NO = [("true", "true"), ("false", "false")]
NOT_CODED = ("none", "not coded")


# --- what may be asked for --------------------------------------------------------------------------------------------


class OnlyKnown(BaseFilterBackend):
    """Refuses a query that nothing reads, or that says nothing: else the whole list is answered as if it were a part of it."""

    always: ClassVar[set[str]] = {"cursor", "page_size"}

    def filter_queryset(self, request: Request, queryset: QuerySet[Any], view: APIView) -> QuerySet[Any]:
        known = self.always | set(getattr(view, "filterset_class").base_filters)  # noqa: B009 - mypy does not know it
        if unknown := sorted(set(request.query_params) - known):
            raise ValidationError({name: ["There is no such filter."] for name in unknown})
        refuse_empty(request, but=self.always)
        return queryset


def refuse_empty(request: Request, *, but: Collection[str] = ()) -> None:
    """Raises ValidationError where a filter, other than `but`, says nothing: all would be answered as if it were a part."""
    said = request.query_params.lists()
    if empty := sorted(name for name, values in said if name not in but and not all(value.strip() for value in values)):
        raise ValidationError({name: ["Say what to look for, or leave this filter out."] for name in empty})


def only_asked(request: Request, *names: str) -> None:
    """Raises ValidationError for a query that a view which reads it itself does not know, or that says nothing."""
    if unknown := sorted(set(request.query_params) - set(names)):
        raise ValidationError({name: ["There is no such filter."] for name in unknown})
    refuse_empty(request, but=OnlyKnown.always)


class InstantField(django_filters.fields.IsoDateTimeField):
    """An instant of our time: of years far off the database knows no time of day."""

    def to_python(self, value: Any) -> Any:
        """The instant that is meant. Raises ValidationError for a year that is none of ours."""
        if value and not re.match(YEARS_OF_INSTANTS, str(value).strip()):
            raise Unclear("The year must be between 1901 and 2198.")
        return super().to_python(value)


class InstantFilter(django_filters.IsoDateTimeFilter):
    """By an instant (RFC 3339)."""

    field_class = InstantField


class Archived(FilterSet):
    """`current=true`: without what is archived."""

    gone = "retired_at"
    current = django_filters.ChoiceFilter(choices=YES_OR_NO, method="by_current", label="not archived or retired")

    def by_current(self, rows: QuerySet[Any], name: str, value: str) -> QuerySet[Any]:
        return rows.filter(**{f"{self.gone}__isnull": value == "true"})


# --- views ------------------------------------------------------------------------------------------------------------


class Rows(Door):
    """The rows of one kind that this person may see."""

    queryset: QuerySet[Any]

    def get_queryset(self) -> QuerySet[Any]:
        """Through the one door to rows; while the schema is drawn there is nobody to see any."""
        if getattr(self, "swagger_fake_view", False):
            return self.queryset.none()
        return self.queryset.visible_to(self.request.user)  # type: ignore[attr-defined]


class OfTheFirm(Rows):
    """Rows of the firm itself, which stand at no site: whoever holds the view's right sees all of them."""

    def get_queryset(self) -> QuerySet[Any]:
        """All: the right is the door."""
        return self.queryset.none() if getattr(self, "swagger_fake_view", False) else self.queryset.all()


class List(ListModelMixin, Rows):
    """A list, by key."""

    filter_backends = [OnlyKnown, DjangoFilterBackend]
    ordering = "number"

    def get(self, request: Request) -> Response:
        """The list."""
        return self.list(request)


class One(Rows):
    """One row."""

    filter_backends = ()
    lookup_field = "pk"

    @extend_schema(parameters=[ETAG_HEADER])
    def get(self, request: Request, **kwargs: Any) -> Response:
        """The row; its version, where it has one, also as its ETag."""
        row = self.get_object()
        tag = etag(row)
        return Response(self.get_serializer(row).data, headers={"ETag": tag} if tag else None)
