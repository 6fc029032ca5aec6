"""Whether the party that a draft goes to may approve all of it, for whoever builds it."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from uuid import UUID

from jobsite.words import money
from remedials.quotes.models import Line, Offer
from remedials.quotes.queries.answering import LineNow, to_pay
from remedials.quotes.queries.limits import limits_of, roles_held, units_of
from remedials.quotes.queries.offering import Work
from remedials.quotes.rules.choosing import by_unit, whole_offer
from remedials.quotes.rules.totals import of_line


def beyond_the_party(
    offer: Offer, lines: Sequence[Line], works: Mapping[UUID, Sequence[Work]], *, now: datetime
) -> list[str]:
    """A sentence for each unit at which all of it comes to more than its party may approve. Two statements."""
    if not lines:
        return []
    taken = whole_offer([of_line(line) for line in lines], reverse_charge=offer.reverse_charge).keys
    now_lines = [LineNow(one, [w.remedial for w in works.get(one.pk, ())]) for one in lines if one.key in taken]
    units = units_of(offer, now_lines)
    limits = limits_of(offer, units, roles_held(units, now=now), offer.quote.party_id, linked=False)
    chosen = by_unit(
        (to_pay(one.line, reverse_charge=offer.reverse_charge), [r.unit_id for r in one.remedials] or list(units))
        for one in now_lines
    )
    said = []
    for key, pounds in chosen.items():
        limit = limits.get(key)
        if limit is None or pounds <= limit:
            continue
        place = units[key].site.name if units[key].whole_site else units[key].name
        may = f"may approve up to {money(limit)}" if limit else "may not approve work"
        said.append(
            f"{offer.quote.party.name} {may} at {place}, and this comes to {money(pounds)}: "
            "they would have to pass it on to whoever may."
        )
    return said
