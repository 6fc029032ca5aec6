"""A customer's units: behind the customer's private link, and the same for the office, signed in.

Both have the same pages at the same relative addresses; they differ in who opens them, and in what stands around.
"""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from jobsite import clock
from jobsite.documents import PDF
from jobsite.downloads import as_file
from jobsite.ledger.actor import Actor
from jobsite.ledger.models import Document
from jobsite.pages import file_wanted, files, page
from jobsite.people.guard import Request, needs, private
from jobsite.people.links import find_link
from jobsite.people.models import PrivateLink
from jobsite.people.opening import firm_to_ring, no_such_link
from jobsite.people.operations import count_use
from jobsite.people.rights import Right
from jobsite.premises.models import Party
from jobsite.premises.views.common import seen
from jobsite.refused import Refused
from remedials.status.portfolio import queries
from remedials.status.portfolio.forms import NarrowForm
from remedials.status.portfolio.no_access import no_access_document
from remedials.status.portfolio.summary import summary, summary_document
from remedials.status.proof.one_maker import Busy
from remedials.status.proof.views import RETRY_AFTER, answer_document, handed_out
from remedials.status.views import answer_page, answer_photo

# Relative, so that the same template serves behind a link and in the office.
AT = {
    "units": "units/",
    "summary": "summary/",
    "document": "document/",
    "list": "../",
    "all": "?",
    "years": "../years/",
}


def _opened(request: Any, token: str) -> tuple[PrivateLink, Party] | None:
    """The link that `token` opens and whose units it shows; None where it opens nothing any more. Two statements."""
    link = find_link(token, purpose=PrivateLink.Purpose.PORTFOLIO, now=request.now)
    party = Party.objects.filter(pk=link.party, erased_at=None).first() if link and link.party else None
    return (link, party) if link and party else None


# --- behind the link --------------------------------------------------------------------------------------------------


@private
@require_safe
def portfolio(request: HttpRequest, token: str) -> HttpResponse:
    """All units of the link's customer, narrowed by what the address says; `?as=csv` or `?as=xlsx` is the same as a file."""
    now = request.now  # type: ignore[attr-defined]
    if (opened := _opened(request, token)) is None:
        return no_such_link(request)
    link, party = opened
    # The list narrowed, its next page or its file is no further opening.
    if request.method == "GET" and not request.GET:
        count_use(link, now=now)
    if kind := file_wanted(request):
        return _file(request, kind, party)
    return _plain("status/portfolio.html", _list(request, party))


@private
@require_safe
def in_short(request: HttpRequest, token: str) -> HttpResponse:
    """The summary on one page."""
    if (opened := _opened(request, token)) is None:
        return no_such_link(request)
    told = summary(opened[1], now=request.now)  # type: ignore[attr-defined]
    return _plain(
        "status/portfolio_summary.html", {"page": told, "firm": told.firm, "at": AT, "years": _years(request)}
    )


@private
@require_safe
def in_short_document(request: HttpRequest, token: str) -> HttpResponse:
    """The summary as a PDF, kept as it is handed out."""
    if (opened := _opened(request, token)) is None:
        return no_such_link(request)
    return _summary_document(request, opened[1], by=opened[0])


@private
@require_safe
def unit(request: HttpRequest, token: str, pk: UUID) -> HttpResponse:
    """How one of these units stands."""
    opened = _opened(request, token)
    answer = _unit(request, opened[1], pk) if opened else None
    return answer or no_such_link(request)


@private
@require_safe
def unit_photo(request: HttpRequest, token: str, pk: UUID, photo: UUID) -> HttpResponse:
    """One photograph of a unit's page."""
    opened = _opened(request, token)
    answer = _photo(request, opened[1], pk, photo) if opened else None
    return answer or no_such_link(request)


@private
@require_safe
def unit_document(request: HttpRequest, token: str, pk: UUID, which: str) -> HttpResponse:
    """A document of one of these units, made now or as it was made before."""
    opened = _opened(request, token)
    answer = _its_document(request, opened[1], pk, which, by=opened[0]) if opened else None
    return answer or no_such_link(request)


@private
@require_safe
def no_access(request: HttpRequest, token: str, pk: UUID) -> HttpResponse:
    """The attempts to get in to one unit as a PDF, kept as it is handed out."""
    opened = _opened(request, token)
    answer = _no_access(request, opened[1], pk, by=opened[0]) if opened else None
    return answer or no_such_link(request)


# --- in the office ----------------------------------------------------------------------------------------------------


@needs(Right.KEEP_CUSTOMERS)
def office_portfolio(request: Request, pk: UUID) -> HttpResponse:
    """The same list for the office, from the customer's page."""
    party = seen(request, Party, pk)
    if kind := file_wanted(request):
        return _file(request, kind, party)
    return page(request, "status/portfolio_office.html", _list(request, party) | {"party": party})


@needs(Right.KEEP_CUSTOMERS)
def office_in_short(request: Request, pk: UUID) -> HttpResponse:
    """The summary, as the customer's board reads it."""
    party = seen(request, Party, pk)
    context = {"page": summary(party, now=request.now), "party": party, "at": AT, "years": _years(request)}
    return page(request, "status/portfolio_office_summary.html", context)


@never_cache
@needs(Right.KEEP_CUSTOMERS)
def office_in_short_document(request: Request, pk: UUID) -> HttpResponse:
    """The summary as a PDF, kept as it is handed out."""
    return _summary_document(request, seen(request, Party, pk), by=request.user)


@never_cache
@needs(Right.KEEP_CUSTOMERS)
def office_unit(request: Request, pk: UUID, unit: UUID) -> HttpResponse:
    """How one of these units stands, as the customer reads it."""
    return _found(_unit(request, seen(request, Party, pk), unit))


@never_cache
@needs(Right.KEEP_CUSTOMERS)
def office_unit_photo(request: Request, pk: UUID, unit: UUID, photo: UUID) -> HttpResponse:
    """One photograph of a unit's page."""
    return _found(_photo(request, seen(request, Party, pk), unit, photo))


@never_cache
@needs(Right.KEEP_CUSTOMERS)
def office_unit_document(request: Request, pk: UUID, unit: UUID, which: str) -> HttpResponse:
    """A document of one of these units, as the customer gets it."""
    return _found(_its_document(request, seen(request, Party, pk), unit, which, by=request.user))


@never_cache
@needs(Right.KEEP_CUSTOMERS)
def office_no_access(request: Request, pk: UUID, unit: UUID) -> HttpResponse:
    """The attempts to get in to one unit as a PDF, kept as it is handed out."""
    return _found(_no_access(request, seen(request, Party, pk), unit, by=request.user))


# --- what both show ---------------------------------------------------------------------------------------------------


def _years(request: Any) -> list[int]:
    """The years whose summary is offered: this one so far, and the one before."""
    this = clock.local_day(request.now).year
    return [this, this - 1]


def _asked(request: HttpRequest) -> tuple[NarrowForm, queries.Asked]:
    form = NarrowForm(request.GET)
    typed = request.GET.get("page", "")
    at = int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 5 else 1
    return form, queries.Asked(**form.chosen(), page=at)


def _list(request: HttpRequest, party: Party) -> dict[str, Any]:
    form, asked = _asked(request)
    told = queries.portfolio(party, asked, now=request.now)  # type: ignore[attr-defined]
    return {
        "page": told,
        "firm": told.firm,
        "at": AT,
        "filter": form,
        "files": files(request, without=form.errors),
        "unread": [form[name].label for name in form.errors],
        "pages": [(words, _at_page(request, at) if at else "") for words, at in told.pages],
        "narrowed": any((asked.words, asked.danger, asked.dates, asked.shut_out)),
    }


def _at_page(request: HttpRequest, at: str) -> str:
    query = request.GET.copy()
    query["page"] = at
    return f"?{query.urlencode()}"


def _file(request: HttpRequest, kind: str, party: Party) -> HttpResponse:
    rows = queries.cells(party, _asked(request)[1], now=request.now)  # type: ignore[attr-defined]
    response = as_file(kind, f"units {party.name}", queries.HEADS, rows)
    response.headers["Cache-Control"] = "private, no-store"
    return response


def _unit(request: Any, party: Party, pk: UUID) -> HttpResponse | None:
    scope = queries.scope_at(party, pk, now=request.now)
    return answer_page(request, scope, now=request.now, back="../../") if scope else None


def _photo(request: Any, party: Party, pk: UUID, photo: UUID) -> HttpResponse | None:
    scope = queries.scope_at(party, pk, now=request.now)
    return answer_photo(request, scope, photo) if scope else None


def _its_document(request: Any, party: Party, pk: UUID, which: str, *, by: Actor) -> HttpResponse | None:
    scope = queries.scope_at(party, pk, now=request.now)
    return answer_document(request, which, scope, by=by, now=request.now) if scope else None


def _no_access(request: Any, party: Party, pk: UUID, *, by: Actor) -> HttpResponse | None:
    scope = queries.scope_at(party, pk, now=request.now)
    if scope is None:
        return None
    return _made(request, lambda: no_access_document(party, scope, by=by, now=request.now))


def _summary_document(request: Any, party: Party, *, by: Actor) -> HttpResponse:
    return _made(request, lambda: summary_document(party, by=by, now=request.now))


def _made(request: HttpRequest, make: Callable[[], Document]) -> HttpResponse:
    """A document as a download. Whoever only asks whether it is there (HEAD, as mail scanners send) has none made."""
    if request.method == "HEAD":
        return HttpResponse(content_type=PDF)
    try:
        return handed_out(make())
    except Busy as busy:
        return _not_made(busy, 503, {"Retry-After": RETRY_AFTER})
    except Refused as refused:
        return _not_made(refused, 422)


def _not_made(refused: Refused, status: int, headers: dict[str, str] | None = None) -> HttpResponse:
    shown = {"firm": firm_to_ring(), "sentence": refused.sentence}
    return HttpResponse(render_to_string("status/no_document.html", shown), status=status, headers=headers)


def _plain(template: str, context: dict[str, Any]) -> HttpResponse:
    """Rendered without the request: no session is read, no token made, so no cookie is set."""
    return HttpResponse(render_to_string(template, context))


def _found(answer: HttpResponse | None) -> HttpResponse:
    """For the office: the answer, or 404 where the customer does not answer for the unit."""
    if answer is None:
        raise Http404
    return answer
