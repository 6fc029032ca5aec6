"""What is answered below the API's address where none of its views was reached: as problem documents too (RFC 9457).

Everywhere else Django's own pages stand.
"""

import json
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.views import defaults

BELOW = "/api/"
TITLES = {400: "Malformed", 404: "Not found", 415: "Unsupported media type", 500: "Server error"}
DETAILS = {
    400: "This request cannot be read.",
    404: "There is no such address.",
    500: "Something went wrong here. It was noted.",
}


def problem_page(status: int, detail: str = "") -> HttpResponse:
    """A problem document without a view."""
    body = {"type": "about:blank", "title": TITLES[status], "status": status, "detail": detail or DETAILS[status]}
    return HttpResponse(json.dumps(body), status=status, content_type="application/problem+json")


def bad_request(request: HttpRequest, exception: Exception) -> HttpResponse:
    """400 before any view: a body that is too large, an address that cannot be read."""
    return problem_page(400) if request.path.startswith(BELOW) else defaults.bad_request(request, exception)


def not_found(request: HttpRequest, exception: Any) -> HttpResponse:
    """404 for an address that is none."""
    return problem_page(404) if request.path.startswith(BELOW) else defaults.page_not_found(request, exception)


def server_error(request: HttpRequest) -> HttpResponse:
    """500, without a word of what went wrong."""
    return problem_page(500) if request.path.startswith(BELOW) else defaults.server_error(request)
