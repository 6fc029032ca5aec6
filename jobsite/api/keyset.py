"""Pages by key."""

from typing import Any

from django.core.exceptions import BadRequest, ValidationError
from rest_framework import exceptions
from rest_framework.pagination import BasePagination, CursorPagination
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.utils.urls import replace_query_param

from jobsite.paging import Slice, keyset

LONGEST = 3  # digits of a page's size


class KeysetPages(CursorPagination):
    """Pages by key, never by counting. A list view names its own `ordering`: one field, stored and unique."""

    page_size = 50
    max_page_size = 200
    page_size_query_param = "page_size"
    ordering = "id"

    def get_ordering(self, request: Any, queryset: Any, view: Any) -> tuple[str, ...]:
        """The view's own `ordering`."""
        return (getattr(view, "ordering", self.ordering),)

    def get_page_size(self, request: Any) -> int:
        """Rows a page. Raises ValidationError for what is no such number."""
        sent = request.query_params.get(self.page_size_query_param)
        if sent is None:
            return self.page_size
        if not (sent.isascii() and sent.isdigit() and len(sent) <= LONGEST and 1 <= int(sent) <= self.max_page_size):
            said = f"A page has 1 to {self.max_page_size} rows."
            raise exceptions.ValidationError({self.page_size_query_param: [said]})
        return int(sent)

    def get_schema_operation_parameters(self, view: Any) -> list[dict[str, Any]]:
        """Both parameters, for the description of the API."""
        size = {"type": "integer", "minimum": 1, "maximum": self.max_page_size, "default": self.page_size}
        cursor = {"type": "string"}
        return [
            {"in": "query", "name": self.cursor_query_param, "required": False, "schema": cursor,
             "description": "Where the page begins: take it from `next` or `previous`, never make one."},
            {"in": "query", "name": self.page_size_query_param, "required": False, "schema": size,
             "description": "Rows a page."},
        ]  # fmt: skip

    def paginate_queryset(self, queryset: Any, request: Any, view: Any = None) -> list[Any] | None:
        """One page. Raises NotFound for a cursor that we did not make: its position would break the query."""
        self.field = queryset.model._meta.get_field(self.get_ordering(request, queryset, view)[0].lstrip("-"))
        return super().paginate_queryset(queryset, request, view)

    def decode_cursor(self, request: Any) -> Any:
        """The cursor of the request, its position known to be a value of the field that the list is ordered by."""
        cursor = super().decode_cursor(request)
        if cursor is not None and cursor.position is not None:
            try:
                self.field.clean(cursor.position, None)
            except ValidationError:
                raise exceptions.NotFound(self.invalid_cursor_message) from None
        return cursor


class ForwardPages(BasePagination):
    """Pages of a list in an order of its own, of several columns (the view's `order`); only forwards."""

    cursor_query_param = "cursor"
    schema_of = KeysetPages()

    def slice_of(self, rows: Any, *, after: str, size: int, view: Any) -> Slice:
        """The rows that begin behind `after`. Raises BadRequest for a cursor that the list did not make."""
        return keyset(rows, view.order, after=after, size=size)

    def paginate_queryset(self, queryset: Any, request: Request, view: Any = None) -> list[Any]:
        """One page. Raises NotFound for a cursor that we did not make."""
        self.request = request
        size = self.schema_of.get_page_size(request) or KeysetPages.page_size
        after = request.query_params.get(self.cursor_query_param, "")
        try:
            found = self.slice_of(queryset, after=after, size=size, view=view)
        except BadRequest:
            raise exceptions.NotFound(self.schema_of.invalid_cursor_message) from None
        self.next = found.next
        return found.rows

    def get_paginated_response(self, data: Any) -> Response:
        """The page with the address of the one after it."""
        here = self.request.build_absolute_uri()
        after = replace_query_param(here, self.cursor_query_param, self.next) if self.next else None
        return Response({"next": after, "previous": None, "results": data})

    def get_paginated_response_schema(self, schema: Any) -> Any:
        """The same shape as of the other lists."""
        return self.schema_of.get_paginated_response_schema(schema)

    def get_schema_operation_parameters(self, view: Any) -> Any:
        """The same parameters as of the other lists."""
        return self.schema_of.get_schema_operation_parameters(view)
