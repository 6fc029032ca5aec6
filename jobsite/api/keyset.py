"""Pages by key."""

from typing import Any

from django.core.exceptions import ValidationError
from rest_framework import exceptions
from rest_framework.pagination import CursorPagination

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
