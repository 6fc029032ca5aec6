"""Taking over what remedials are priced at now into the lines of a draft."""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from inspections.queries.facts import facts_on
from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from remedials.quotes.models import Line, Offer
from remedials.quotes.operations.ground import count_on, locked_draft, must_quote, tell
from remedials.quotes.operations.reckoning import must_be_within, reckon
from remedials.quotes.queries.building import priced_now, works_by_line
from remedials.quotes.verbs import Verb


@operation
def take_prices(offer: Offer, *, by: Actor, now: datetime, keys: Iterable[UUID] | None = None) -> list[Line]:
    """Set price and cost of the lines with `keys` (None: all) to what their remedials are priced at now.

    Lines with a remedial that isn't priced, or with none, stay as they are. The lines that changed are returned.
    Raises NotAllowed, Refused.
    """
    must_quote(by)
    offer = locked_draft(offer)
    lines = [line for line in offer.lines.select_related("site") if keys is None or line.key in set(keys)]
    works, today = works_by_line(lines), clock.local_day(now)
    facts, changed = facts_on(today), []
    told: dict[str, list[str]] = {}
    for line in lines:
        price = priced_now(works.get(line.pk, []))
        if price is None:
            continue
        cost = sum((work.costing.cost for work in works[line.pk] if work.costing), Decimal(0))
        if (price, cost) != (line.price, line.cost):
            told[str(line.key)] = [f"{line.price:.2f}", f"{price:.2f}"]
            line.price, line.cost, line.written_in = price, cost, offer.version + 1
            changed.append(reckon(line, offer, on=today, facts=facts))
    if not changed:
        return []
    must_be_within(offer, changed)
    Line.objects.bulk_update(changed, ["price", "cost", "rate", "vat", "written_in"])
    count_on(offer)
    more: dict[str, Any] = {"version": offer.number, "changed": ["price"], "prices": told}
    tell(Verb.LINE_EDITED, offer.quote, by=by, now=now, facts=more)
    return changed
