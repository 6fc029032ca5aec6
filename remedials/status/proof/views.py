"""Handing out documents: behind a customer's link, and to the office."""

from datetime import datetime
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string
from django.views.decorators.http import require_safe

from jobsite.downloads import as_pdf
from jobsite.ledger.actor import Actor
from jobsite.ledger.files import read_file
from jobsite.ledger.models import Document
from jobsite.pages import page
from jobsite.people.guard import Request, needs, private
from jobsite.people.links import find_link
from jobsite.people.models import PrivateLink
from jobsite.people.opening import firm_to_ring, no_such_link
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.refused import Refused
from remedials.status.facts import Scope, scope_at, scope_of
from remedials.status.proof.making import NoSuchDocument, document_for
from remedials.status.proof.one_maker import Busy
from remedials.status.proof.queries import documents_for

RETRY_AFTER = "30"


@private
@require_safe
def customers_document(request: HttpRequest, token: str, which: str) -> HttpResponse:
    """A document of what the link opens, made now or as it was made before, to keep."""
    now = request.now  # type: ignore[attr-defined]
    link = find_link(token, purpose=PrivateLink.Purpose.STATUS, now=now)
    scope = scope_of(link) if link else None
    if link is None or scope is None:
        return no_such_link(request)
    return answer_document(request, which, scope, by=link, now=now)


def answer_document(request: HttpRequest, which: str, scope: Scope, *, by: Actor, now: datetime) -> HttpResponse:
    """The document `which` of `scope` (a kind, or "danger-notice-31") as a download, for a page below any private link.

    Where there is nothing to say yet, or others are being made, one plain page says so. A HEAD, as mail scanners send, makes nothing.
    """
    if request.method == "HEAD":
        return HttpResponse(content_type="application/pdf")
    try:
        document = document_for(which, scope, by=by, now=now)
    except NoSuchDocument:
        return no_such_link(request)
    except Busy as busy:
        return _plain(busy.sentence, 503, {"Retry-After": RETRY_AFTER})
    except Refused as refused:
        return _plain(refused.sentence, 404)
    return handed_out(document)


def _plain(sentence: str, status: int, headers: dict[str, str] | None = None) -> HttpResponse:
    shown = {"firm": firm_to_ring(), "sentence": sentence}
    return HttpResponse(render_to_string("status/no_document.html", shown), status=status, headers=headers)


def handed_out(document: Document) -> HttpResponse:
    """The file of a document, byte for byte, as a download that no cache keeps."""
    response = as_pdf(read_file(document.file), f"{document.title} {document.made_at:%Y-%m-%d}")
    response["Content-Disposition"] = response["Content-Disposition"].replace("inline", "attachment", 1)
    response["Cache-Control"] = "no-store"
    return response


@needs(Right.SHARE_STATUS)
def site_documents(request: Request, pk: UUID) -> HttpResponse:
    """The documents of a site that customers keep, and of each of its units."""
    site = get_object_or_404(Site.objects.visible_to(request.user), pk=pk)
    scope = scope_at(site.pk)
    if scope is None:
        raise Http404
    one = next((unit for unit in scope.units if str(unit.pk) == request.GET.get("unit", "")), None)
    shown = scope_at(site.pk, one.pk) if one else scope
    context = {
        "site": site,
        "unit": one,
        "lines": documents_for(shown) if shown else [],
        "ask": f"?unit={one.pk}" if one else "",
        "units": [] if scope.units[0].whole_site and len(scope.units) == 1 else scope.units,
    }
    return page(request, "status/documents.html", context)


@needs(Right.SHARE_STATUS)
@require_safe
def office_document(request: Request, pk: UUID, which: str) -> HttpResponse:
    """A document of a site, or of its unit `?unit=KEY`, as a customer gets it."""
    site = get_object_or_404(Site.objects.visible_to(request.user), pk=pk)
    scope = _asked(request, site)
    if scope is None:
        raise Http404
    try:
        return handed_out(document_for(which, scope, by=request.user, now=request.now))
    except Refused as refused:
        context = {"site": site, "lines": documents_for(scope), "units": [], "refused": refused}
        return page(request, "status/documents.html", context)


def _asked(request: Request, site: Site) -> Scope | None:
    try:
        return scope_at(site.pk, UUID(request.GET["unit"]) if request.GET.get("unit") else None)
    except ValueError:
        return None
