"""The year in summary of all units of a customer: behind their private link, and at the office."""

from uuid import UUID

from django.http import Http404, HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from jobsite.pages import page
from jobsite.people.guard import Request, needs, private
from jobsite.people.links import find_link
from jobsite.people.models import PrivateLink
from jobsite.people.opening import firm_to_ring, no_such_link
from jobsite.people.rights import Right
from jobsite.premises.models import Party
from jobsite.premises.views.common import seen
from jobsite.refused import Refused
from remedials.status.proof.making import year_for
from remedials.status.proof.one_maker import Busy
from remedials.status.proof.views import RETRY_AFTER, handed_out


@private
@require_safe
def customers_year(request: HttpRequest, token: str, year: int) -> HttpResponse:
    """The year in summary of all units of the link's customer, to keep. A HEAD makes nothing."""
    now = request.now  # type: ignore[attr-defined]
    link = find_link(token, purpose=PrivateLink.Purpose.PORTFOLIO, now=now)
    party = Party.objects.filter(pk=link.party, erased_at=None).first() if link and link.party else None
    if link is None or party is None:
        return no_such_link(request)
    if request.method == "HEAD":
        return HttpResponse(content_type="application/pdf")
    try:
        return handed_out(year_for(party, year, by=link, now=now))
    except Busy as busy:
        return _plain(busy, 503, {"Retry-After": RETRY_AFTER})
    except Refused as refused:
        return _plain(refused, 404)


def _plain(refused: Refused, status: int, headers: dict[str, str] | None = None) -> HttpResponse:
    shown = {"firm": firm_to_ring(), "sentence": refused.sentence}
    return HttpResponse(render_to_string("status/no_document.html", shown), status=status, headers=headers)


@never_cache
@needs(Right.KEEP_CUSTOMERS)
@require_safe
def office_year(request: Request, pk: UUID, year: int) -> HttpResponse:
    """The year in summary as the customer gets it."""
    party = seen(request, Party, pk)
    if party.erased_at:
        raise Http404
    try:
        return handed_out(year_for(party, year, by=request.user, now=request.now))
    except Refused as refused:
        back = reverse("proof:portfolio_summary", args=[party.pk])
        return page(request, "refused.html", {"refused": refused, "back": back})
