"""Customers' pages behind private links: no account, no cookie, nothing to press."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views.decorators.http import require_safe

from jobsite.ledger.files import read_file
from jobsite.people.guard import private
from jobsite.people.links import find_link
from jobsite.people.models import PrivateLink
from jobsite.people.operations import count_use
from remedials.status import queries


@private
@require_safe
def site(request: HttpRequest, token: str) -> HttpResponse:
    """How the site or unit of the link stands. Opening it changes nothing but the count of its uses."""
    now = request.now  # type: ignore[attr-defined]
    link = find_link(token, purpose=PrivateLink.Purpose.STATUS, now=now)
    shown = queries.status_of(link, now=now) if link else None
    if link is None or shown is None:
        return _no_such_link()
    if request.method == "GET":
        count_use(link, now=now)
    # Rendered without the request: no session is read, no token made, so no cookie is set.
    return HttpResponse(render_to_string("status/site.html", {"page": shown, "firm": shown.firm}))


@private
@require_safe
def photo(request: HttpRequest, token: str, pk: UUID) -> HttpResponse:
    """One photograph of the link's page."""
    link = find_link(token, purpose=PrivateLink.Purpose.STATUS, now=request.now)  # type: ignore[attr-defined]
    file = queries.photo_file(link, pk) if link else None
    if file is None:
        return _no_such_link()
    return HttpResponse(read_file(file), content_type=file.media_type)


def _no_such_link() -> HttpResponse:
    """The same answer for a wrong, an expired and a withdrawn link: it tells nobody which of them it was."""
    return HttpResponse(render_to_string("status/no_such_link.html", {"firm": queries.whom_to_ring()}), status=404)
