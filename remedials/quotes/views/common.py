"""What the pages of quotes share: rows by the door of visible_to."""

from uuid import UUID

from django.http import Http404
from django.shortcuts import get_object_or_404

from jobsite.people.guard import Request
from remedials.quotes.models import Line, Offer, Quote
from remedials.quotes.states import State


def the_quote(request: Request, pk: UUID) -> Quote:
    """The quote if this person may see it, else 404."""
    rows = Quote.objects.visible_to(request.user).select_related("party", "owner", "variation_of")
    return get_object_or_404(rows, pk=pk)


def the_draft(request: Request, pk: UUID) -> Offer | None:
    """The draft of the quote, None where it has none now. 404 where this person may not see the quote."""
    quote = the_quote(request, pk)
    offer = quote.offers.filter(state=State.DRAFT).first()
    if offer is not None:
        offer.quote = quote
    return offer


def the_line(request: Request, pk: UUID) -> Line:
    """The line if this person may see its quote, else 404."""
    found = Line.objects.select_related("offer__quote__party", "site").filter(pk=pk).first()
    if found is None or not Quote.objects.visible_to(request.user).filter(pk=found.offer.quote_id).exists():
        raise Http404
    return found
