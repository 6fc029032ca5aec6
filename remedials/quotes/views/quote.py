"""The page of a quote, its next version, what changed between two, and throwing a draft away."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import redirect
from django.views.decorators.http import require_POST

from jobsite.addresses import address
from jobsite.ids import key_in, new_id
from jobsite.pages import act, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import Refused
from remedials.quotes.operations import drafting
from remedials.quotes.queries.differing import differences
from remedials.quotes.queries.quote import quote_page
from remedials.quotes.views.common import the_draft, the_quote


@needs(Right.PRICE)
def quote(request: Request, pk: UUID, *, refused: Refused | None = None) -> HttpResponse:
    """A quote: who, how it stands, its lines, versions, answers, questions, and what was done."""
    row = the_quote(request, pk)
    wanted = request.GET.get("version", "")
    version = int(wanted) if wanted.isascii() and wanted.isdigit() and len(wanted) < 6 else None
    shown = quote_page(row, request.user, now=request.now, version=version)
    return page(request, "quotes/quote.html", {"quote": shown, "refused": refused})


@require_POST
@needs(Right.PRICE)
def revise(request: Request, pk: UUID) -> HttpResponse:
    """Begin the next version; sent twice it is begun once."""
    row = the_quote(request, pk)
    key = key_in(request.POST.get("id", "")) or new_id()
    return act(
        request,
        lambda: drafting.revise_quote(row, id=key, by=request.user, now=request.now),
        then=address("quotes:build", pk),
        said=lambda offer: f"Version {offer.number} begun. The version that was sent stays in force until this one is.",
        again=lambda refused: quote(request, pk, refused=refused),
    )


@needs(Right.PRICE)
def drop(request: Request, pk: UUID) -> HttpResponse:
    """Throw the draft away, after a page that says what that means."""
    offer = the_draft(request, pk)
    if offer is None:
        return redirect(address("quotes:quote", pk))
    first, number = offer.number == 1, offer.quote.number
    if request.method != "POST":
        context = {"offer": offer, "first": first, "back": address("quotes:build", pk)}
        return page(request, "quotes/drop.html", context)
    return act(
        request,
        lambda: drafting.drop_draft(offer, by=request.user, now=request.now),
        then=address("quotes:quotes") if first else address("quotes:quote", pk),
        said=f"Quote {number} thrown away." if first else f"The draft of version {offer.number} is thrown away.",
        again=lambda refused: page(
            request, "quotes/drop.html",
            {"offer": offer, "first": first, "back": address("quotes:build", pk), "refused": refused},
        ),
    )  # fmt: skip


@needs(Right.PRICE)
def difference(request: Request, pk: UUID) -> HttpResponse:
    """What changed between two versions, line by line; by default the last two."""
    row = the_quote(request, pk)
    shown = differences(row, request.GET.get("from", ""), request.GET.get("to", ""), now=request.now)
    context = {"quote": row, "back": address("quotes:quote", pk), **shown}
    return page(request, "quotes/difference.html", context)
