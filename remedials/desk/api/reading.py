"""What every noun of the API stands on: its rows, its list, its filters."""

from typing import Any, ClassVar

import django_filters
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
        if empty := sorted(
            name
            for name, values in request.query_params.lists()
            if name not in self.always and not all(value.strip() for value in values)
        ):
            raise ValidationError({name: ["Say what to look for, or leave this filter out."] for name in empty})
        return queryset


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
