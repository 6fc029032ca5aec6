"""Pages by key."""

from rest_framework.pagination import CursorPagination


class KeysetPages(CursorPagination):
    """Pages by key, never by counting; a list view names its own `ordering`, all of its fields stored and unique."""

    page_size = 50
    max_page_size = 200
    page_size_query_param = "page_size"
    ordering = "id"
