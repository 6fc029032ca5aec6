"""What changed between two versions of a quote, line by line."""

from datetime import datetime
from typing import Any

from remedials.quotes.models import Offer, Quote
from remedials.quotes.queries.said import offer_as_said
from remedials.quotes.rules.differences import What, between
from remedials.quotes.states import State

MOST_LETTERS = 120


def differences(quote: Quote, old: str, new: str, *, now: datetime) -> dict[str, Any]:
    """The versions to choose from and what changed from `old` to `new` (their numbers as text; else the last two)."""
    offers = list(quote.offers.order_by("number"))
    by_number = {str(offer.number): offer for offer in offers}
    later = by_number.get(new) or offers[-1]
    earlier = by_number.get(old) or next((one for one in reversed(offers) if one.number < later.number), offers[0])
    found = between(_said(earlier, quote, now), _said(later, quote, now))
    return {
        "numbers": list(by_number),
        "old": str(earlier.number),
        "new": str(later.number),
        "rows": [
            {
                "what": "The quote itself" if one.what == What.OFFER else f"Line {one.what}",
                "kind": one.what,
                "key": one.key,
                "name": one.name,
                "changes": one.changes,
            }
            for one in found
        ],
    }


def _said(offer: Offer, quote: Quote, now: datetime) -> dict[str, Any]:
    """What was said when it was sent; of a draft, what it would say now."""
    offer.quote = quote
    said: dict[str, Any] = offer_as_said(offer, now=now) if offer.state == State.DRAFT else offer.said
    return said
