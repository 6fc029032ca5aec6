"""Customers' pages behind private links: no account, no cookie, nothing to press."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views.decorators.http import require_safe

from jobsite.ledger.files import read_file
from jobsite.ledger.photographs import CARD_SIDE, small
from jobsite.people.guard import private
from jobsite.people.links import find_link
from jobsite.people.models import PrivateLink
from jobsite.people.opening import no_such_link
from jobsite.people.operations import count_use
from remedials.status import queries
from remedials.status.facts import Scope, scope_of

FURTHER = (
    "item",
    "open",
    "closed",
    "drawing",
    "reports",
)  # what the page's own address asks for besides the page itself


@private
@require_safe
def site(request: HttpRequest, token: str) -> HttpResponse:
    """How the site or unit of the link stands. Opening it changes nothing but the count of its uses."""
    now = request.now  # type: ignore[attr-defined]
    link = find_link(token, purpose=PrivateLink.Purpose.STATUS, now=now)
    scope = scope_of(link) if link else None
    if link is None or scope is None:
        return no_such_link(request)
    if request.method == "GET" and not is_further(request):
        count_use(link, now=now)
    return answer_page(request, scope, now=now)


@private
@require_safe
def photo(request: HttpRequest, token: str, pk: UUID) -> HttpResponse:
    """One photograph of the link's page."""
    link = find_link(token, purpose=PrivateLink.Purpose.STATUS, now=request.now)  # type: ignore[attr-defined]
    scope = scope_of(link) if link else None
    return answer_photo(request, scope, pk) if scope else no_such_link(request)


# --- for every page that shows a site or unit, whichever link led there ------------------------------------------------


def is_further(request: HttpRequest) -> bool:
    """Whether the address asks for a part of the page by itself, which is no opening of the link once more."""
    return any(key in request.GET for key in FURTHER)


def answer_page(request: HttpRequest, scope: Scope, *, now: datetime, back: str = "") -> HttpResponse:
    """The status page of `scope`, or the part of it that the address asks for.

    Its own addresses are relative, so that it may stand below any link; `back`: the address that led to it. The caller has
    found the link and answers with the headers of `@private`.
    """
    template, page = _asked(request, scope, now)
    context = {"page": page, "back": back, "firm": page.head.firm if page else queries.whom_to_ring()}
    # Rendered without the request: no session is read, no token made, so no cookie is set.
    return HttpResponse(render_to_string(template, context), status=200 if page else 404)


def _asked(request: HttpRequest, scope: Scope, now: datetime) -> tuple[str, Any]:
    """The template and what it shows; None where the address asks for what is not there."""
    key = next((key for key in FURTHER if key in request.GET), "")
    if not key:
        return "status/site.html", queries.status_in(scope, now=now)
    number = _number(request.GET[key])
    found: Any
    match key:
        case "drawing":
            template, found = "status/drawing.html", queries.drawn_in(scope, now=now)
        case "reports":
            template, found = "status/reports.html", queries.standing_in(scope, now=now)
        case "item":
            template, found = "status/some.html", queries.item_in(scope, number, now=now)
        case _:
            template, found = "status/some.html", queries.some_in(scope, number, ended=key == "closed", now=now)
    return template if found else "status/not_here.html", found


def _number(typed: str) -> int:
    """A number as an address has it; 0, which nothing has, for anything else."""
    return int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 19 else 0


def answer_photo(request: HttpRequest, scope: Scope, pk: UUID) -> HttpResponse:
    """One photograph that the page of `scope` shows, with `?small` one of a few kilobytes."""
    file = queries.photo_in(scope, pk)
    if file is None:
        return no_such_link(request)
    if "small" in request.GET:
        return HttpResponse(small(file, CARD_SIDE), content_type="image/jpeg")
    return HttpResponse(read_file(file), content_type=file.media_type)
