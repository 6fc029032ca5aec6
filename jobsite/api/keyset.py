"""Pages by key."""

from typing import Any

from django.core.exceptions import ValidationError
from rest_framework.exceptions import NotFound
from rest_framework.pagination import CursorPagination


class KeysetPages(CursorPagination):
    """Pages by key, never by counting. A list view names its own `ordering`: one field, stored and unique."""

    page_size = 50
    max_page_size = 200
    page_size_query_param = "page_size"
    ordering = "id"

    def get_ordering(self, request: Any, queryset: Any, view: Any) -> tuple[str, ...]:
        """The view's own `ordering`."""
        return (getattr(view, "ordering", self.ordering),)

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
                raise NotFound(self.invalid_cursor_message) from None
        return cursor
