"""Addresses of pages for lists: reversed once a name, because reversing anew for each row is slow."""

from functools import cache
from urllib.parse import urlencode
from uuid import UUID

from django.urls import reverse

ANY = UUID(int=0)


def address(name: str, key: object = None, **query: object) -> str:
    """The address of the page `name`, for the row `key` where it has one, with `query` (lists repeat a name).

    Raises NoReverseMatch where there is no such page.
    """
    path = _shape(name, key is not None).format(key)
    return f"{path}?{urlencode(query, doseq=True)}" if query else path


@cache
def _shape(name: str, keyed: bool) -> str:
    """The address as a template for `format`."""
    return reverse(name, args=[ANY] if keyed else None).replace(str(ANY), "{}")
