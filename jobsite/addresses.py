"""Addresses of pages for lists: reversed once a name, because reversing anew for each row is slow."""

from functools import cache
from ipaddress import ip_address
from urllib.parse import urlencode, urlsplit
from uuid import UUID

from django.conf import settings
from django.urls import reverse

ANY = UUID(int=0)


def address(name: str, key: object = None, **query: object) -> str:
    """The address of the page `name`, for the row `key` where it has one, with `query` (lists repeat a name).

    Raises NoReverseMatch where there is no such page.
    """
    path = _shape(name, key is not None).format(key)
    return f"{path}?{urlencode(query, doseq=True)}" if query else path


def public_address(path: str) -> str:
    """`path` as somebody outside types it in; "" where the service has no address but that of the machine it runs on.

    For papers, which outlive the machine: "localhost" or a bare number would lead whoever reads them nowhere.
    """
    host = urlsplit(settings.SITE_ADDRESS).hostname or ""
    try:
        here = not ip_address(host).is_global
    except ValueError:
        here = "." not in host or host.endswith(".localhost")
    return "" if here else f"{settings.SITE_ADDRESS.rstrip('/')}{path}"


@cache
def _shape(name: str, keyed: bool) -> str:
    """The address as a template for `format`."""
    return reverse(name, args=[ANY] if keyed else None).replace(str(ANY), "{}")
