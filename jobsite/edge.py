"""The edge of the service: what is true of every request before a view sees it."""

import json
from collections.abc import Callable, Iterable
from typing import Any
from urllib.parse import unquote_to_bytes

from django.conf import settings
from django.http import HttpRequest, HttpResponse, HttpResponseBadRequest, HttpResponseNotAllowed
from django.http.response import HttpResponseBase
from django.middleware.gzip import GZipMiddleware
from django.utils.crypto import salted_hmac
from django.utils.http import parse_header_parameters

from jobsite import clock
from jobsite.api.outside import BELOW as API
from jobsite.api.outside import problem_page
from jobsite.logs import holds_token

Application = Callable[[dict[str, Any], Callable[..., Any]], Iterable[bytes]]


NOT_UTF8 = "Send this as UTF-8."
UNREADABLE = "This address cannot be read."
SERVICE_HEADER = "X-Service"
NOT_SEARCHED = {"X-Robots-Tag": "noindex, nofollow, noarchive"}
# What holds for every answer behind a private link: kept nowhere, found by nobody, naming itself to nobody.
PRIVATE = NOT_SEARCHED | {"Cache-Control": "no-store", "Referrer-Policy": "no-referrer"}
SIGNING_OUT = "/accounts/logout/"
METHODS = ("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS")
NOT_READABLE_BY_ALL = {
    "type": "about:blank",
    "title": "Not allowed",
    "status": 403,
    "detail": "Use https; end this token.",
}


def service_id() -> str:
    """The name of this installation in the header X-Service of every answer; it follows from the secret and tells nothing
    of it. A phone takes nothing without it for ours, such as the page of somebody's guest network.
    """
    return salted_hmac("jobsite.edge.service", "", algorithm="sha256").hexdigest()[:24]


class Edge:
    """Reads the clock once a request (`request.now`), turns away text that no database can hold, says whose answer it is, and
    that nothing of this service is for search engines.

    There is no robots.txt on purpose: what it keeps a crawler from reading it may still list by its address, and for a private
    link that is the token (RFC 9309: it is no access control). A crawler that reads the header lists nothing.

    What a signed-in person reads is kept by no cache, not by the browser's own either, unless its view says otherwise; the pages
    that an engineer's phone fetches to keep (X-Pack) are kept there by our own scripts, for that person alone.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response
        self.service = service_id()

    def __call__(self, request: HttpRequest) -> HttpResponse:
        request.now = clock.now()  # type: ignore[attr-defined]
        response = self.get_response(request)
        response[SERVICE_HEADER] = self.service
        # Also where no view answered: the redirect to the same address with its slash, an address beside it, an error.
        for name, value in (PRIVATE if holds_token(request.path) else NOT_SEARCHED).items():
            response.headers[name] = value
        if "Cache-Control" not in response and (request.path.startswith(API) or _somebodys(request)):
            response["Cache-Control"] = "private, no-cache" if "X-Pack" in request.headers else "private, no-store"
        if request.path == SIGNING_OUT and request.method == "POST":
            # Pictures that the browser kept for a day. Not "storage": what waits to be sent stays for its person, and what
            # the phone kept to be read the worker throws away itself (`worker.js`).
            response["Clear-Site-Data"] = '"cache"'
        return response


def _somebodys(request: HttpRequest) -> bool:
    """Whether the answer was made for somebody signed in. Who is signed in is not asked here: that would cost a statement."""
    user = getattr(request, "_cached_user", None)
    return bool(user and user.is_authenticated)


class Readable:
    """Turns away what no view should see: text that no database can hold, methods that nobody uses here, and a program that
    calls the API by plain http: people are led to https, but a redirect would hide that its token went over the network readable.

    A NUL byte in the address, the query or a cookie, or broken UTF-8 in the first two, is an attack or an accident; it
    would end in a database error deep below, so it is answered here with 400. Form fields are checked
    by `jobsite.forms`, JSON by `jobsite.api`, which answers for its methods itself too.
    """

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        address = readable(request.path) and readable(request.META.get("QUERY_STRING", ""))
        # A cookie's % stands for itself; its quoted \000 was read as a NUL already.
        if not address or any("\0" in value for value in request.COOKIES.values()):
            if request.path.startswith(API):
                return problem_page(400, UNREADABLE)
            return HttpResponseBadRequest(UNREADABLE, content_type="text/plain; charset=utf-8")
        if request.method not in METHODS and not request.path.startswith(API):
            return HttpResponseNotAllowed(METHODS, b"Not used here.", content_type="text/plain; charset=utf-8")
        if request.path.startswith(API) and settings.SECURE_SSL_REDIRECT and not request.is_secure():
            return HttpResponse(json.dumps(NOT_READABLE_BY_ALL), status=403, content_type="application/problem+json")
        return self.get_response(request)


class Smaller(GZipMiddleware):
    """Compresses answers, but for a row of the API with its ETag.

    Compressed it would be a weak one, and If-Match never takes those (RFC 9110, section 13.1.1).
    """

    def process_response(self, request: HttpRequest, response: HttpResponseBase) -> HttpResponseBase:
        """The answer, smaller where that harms nothing."""
        if response.has_header("ETag") and "json" in response.get("Content-Type", ""):
            return response
        return super().process_response(request, response)


def only_utf8(application: Application) -> Application:
    """The WSGI application behind a check of what the request says of its own encoding: nothing, or UTF-8.

    Django decodes the query by whatever codec the request names, before any middleware; one that is none of text
    (zlib, rot13) then breaks it. Browsers send forms and JSON as UTF-8 only.
    """

    def checked(environ: dict[str, Any], start_response: Callable[..., Any]) -> Iterable[bytes]:
        _, named = parse_header_parameters(environ.get("CONTENT_TYPE", ""))
        if named.get("charset", "utf-8").lower() not in ("utf-8", "utf8"):
            headers, body = dict(bare_headers()), NOT_UTF8.encode()
            if environ.get("PATH_INFO", "").startswith(API):
                refusal = problem_page(415, NOT_UTF8)
                headers["Content-Type"], body = refusal["Content-Type"], refusal.content
            start_response("415 Unsupported Media Type", list(headers.items()))
            return [body]
        return application(environ, start_response)

    return checked


def bare_headers() -> list[tuple[str, str]]:
    """The headers of an answer that no middleware sees."""
    headers = [
        ("Content-Type", "text/plain; charset=utf-8"),
        ("Content-Security-Policy", "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"),
        ("X-Content-Type-Options", "nosniff"),
        ("Referrer-Policy", "no-referrer"),
        ("Cache-Control", "no-store"),
        *NOT_SEARCHED.items(),
    ]
    if settings.SECURE_HSTS_SECONDS:
        headers += [("Strict-Transport-Security", f"max-age={settings.SECURE_HSTS_SECONDS}; includeSubDomains")]
    return headers


def readable(text: str) -> bool:
    """Whether `text`, percent-decoded, is UTF-8 without a NUL."""
    try:
        raw = unquote_to_bytes(text)
        return "\0" not in raw.decode("utf-8")
    except UnicodeError:
        return False
