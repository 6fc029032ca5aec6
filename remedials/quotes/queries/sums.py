"""The lines of a version as sums, and what they come to in words: for the office, with cost and margin."""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from jobsite.words import money
from remedials.quotes.models import Line
from remedials.quotes.rules.choosing import whole_offer
from remedials.quotes.rules.totals import of_line
from remedials.quotes.rules.vat import percent_words


def margin_words(price: Decimal, cost: Decimal) -> str:
    """What is left of a price when the cost is paid: "£50.00 (41.7 %)"; for the office only."""
    share = f" ({(price - cost) * 100 / price:.1f} %)" if price else ""
    return f"{money(price - cost)}{share}"


def comes_to(lines: Iterable[Line], *, reverse_charge: bool) -> dict[str, Any]:
    """What the lines come to if everything is taken, of alternatives the dearest. No statement."""
    sums = [of_line(line) for line in lines]
    whole = whole_offer(sums, reverse_charge=reverse_charge)
    found = whole.totals
    cost = sum((row.cost for row in sums if row.key in whole.keys), Decimal(0))
    return {
        "words": whole.words,
        "rates": [
            {"rate": percent_words(row.percent), "net": money(row.net), "vat": money(row.vat)} for row in found.rates
        ],
        "net": money(found.net),
        "vat": money(found.vat),
        "reverse_vat": money(found.reverse_vat) if reverse_charge else "",
        "to_pay": money(found.to_pay),
        "note": found.words,
        "cost": money(cost),
        "margin": margin_words(found.net, cost),
        "below": cost > found.net,
    }
