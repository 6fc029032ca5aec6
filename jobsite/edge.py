"""The edge of the service: what is true of every request before a view sees it."""

from collections.abc import Callable, Iterable
from typing import Any
from urllib.parse import unquote_to_bytes

from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest
from django.utils.http import parse_header_parameters

from jobsite import clock

Application = Callable[[dict[str, Any], Callable[..., Any]], Iterable[bytes]]


class Edge:
    """Reads the clock once a request (`request.now`) and turns away text that no database can hold.

    A NUL byte or broken UTF-8 in the address, the query or a cookie is an attack or an accident; it
    would end in a database error deep below, so it is answered here with 400. Form fields are checked
    by `jobsite.forms`, JSON by `jobsite.api`.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.now = clock.now()  # type: ignore[attr-defined]
        if not all(map(readable, (request.path, request.META.get("QUERY_STRING", ""), *request.COOKIES.values()))):
            return HttpResponseBadRequest("This address cannot be read.", content_type="text/plain; charset=utf-8")
        return self.get_response(request)


def only_utf8(application: Application) -> Application:
    """The WSGI application behind a check of what the request says of its own encoding: nothing, or UTF-8.

    Django decodes the query by whatever codec the request names, before any middleware; one that is none of text
    (zlib, rot13) then breaks it. Browsers send forms and JSON as UTF-8 only.
    """

    def checked(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
        _, named = parse_header_parameters(environ.get("CONTENT_TYPE", ""))
        if named.get("charset", "utf-8").lower() not in ("utf-8", "utf8"):
            start_response("415 Unsupported Media Type", [("Content-Type", "text/plain; charset=utf-8")])
            return [b"Send this as UTF-8."]
        return application(environ, start_response)

    return checked


def readable(text: str) -> bool:
    """Whether `text`, percent-decoded, is UTF-8 without a NUL."""
    try:
        raw = unquote_to_bytes(text)
        return "\0" not in raw.decode("utf-8")
    except UnicodeError:
        return False
