"""What a line comes to: the rate of VAT that falls on it and the VAT, reckoned whenever it is written and once more
before it is sent, by the facts as the firm has put them right.
"""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal

from django.db.models import Sum

from inspections.queries.facts import facts_on
from inspections.standards.facts import Facts
from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.premises.choices import Nation
from jobsite.refused import Refused
from remedials.quotes.models import Line, Offer
from remedials.quotes.operations.ground import count_on, locked_offer, must_quote, tell
from remedials.quotes.queries.terms import terms_on
from remedials.quotes.rules.money import MOST_OFFER, in_bounds
from remedials.quotes.rules.vat import rate_on, reverse_charge_missing, vat_of
from remedials.quotes.states import State
from remedials.quotes.verbs import Verb


def rate_for(treatment: str, *, on: date, nation: str, vat_registered: bool, facts: Facts) -> Decimal:
    """The rate in percent: 0 where the firm is not registered."""
    return rate_on(treatment, on, nation=nation, facts=facts).percent if vat_registered else Decimal(0)


def reckon(line: Line, offer: Offer, *, on: date, facts: Facts | None = None) -> Line:
    """Set the rate and the VAT of `line` as they are on `on`. Raises Refused for a price that cannot be one.

    `facts`: those of that day, for many lines at once; without them, one statement.
    """
    for name, what in (("price", "The price"), ("cost", "The cost")):
        if fault := in_bounds(getattr(line, name), what=what):
            raise Refused(fault, field=name)
    nation, facts = line.site.nation if line.site else Nation.ENGLAND, facts or facts_on(on)
    line.rate = rate_for(line.treatment, on=on, nation=nation, vat_registered=offer.vat_registered, facts=facts)
    line.vat = vat_of(line.price, line.rate)
    return line


@operation
def reckon_anew(offer: Offer, *, by: Actor, now: datetime) -> list[Line]:
    """Reckon the VAT of a draft by the rates of today; the lines that came out otherwise, none where all still held.

    Between writing and sending a rate may end, the firm may put a fact right, or be registered no longer. Of what was sent nothing is reckoned.
    Raises NotAllowed.
    """
    must_quote(by)
    offer = locked_offer(offer)
    if offer.state != State.DRAFT:
        return []
    today = clock.local_day(now)
    facts, terms, changed = facts_on(today), terms_on(today), []
    registered = terms.vat_registered if terms else offer.vat_registered
    turned, offer.vat_registered = registered != offer.vat_registered, registered
    for line in offer.lines.select_related("site"):
        before = line.rate, line.vat
        reckon(line, offer, on=today, facts=facts)
        if (line.rate, line.vat) != before:
            line.written_in = offer.version + 1
            changed.append(line)
    if changed or turned:
        Line.objects.bulk_update(changed, ["rate", "vat", "written_in"])
        count_on(offer, vat_registered=registered)
        told = {"version": offer.number, "changed": ["vat"], "lines": [str(line.key) for line in changed]}
        tell(Verb.LINE_EDITED, offer.quote, by=by, now=now, facts=told)
    return changed


def must_be_within(offer: Offer, lines: Iterable[Line]) -> None:
    """Raises Refused where `lines`, new or changed, and the others of `offer` come to more than an offer may."""
    lines = list(lines)
    others = offer.lines.exclude(pk__in=[line.pk for line in lines]).aggregate(sum=Sum("price"))["sum"] or Decimal(0)
    if others + sum((line.price for line in lines), Decimal(0)) > MOST_OFFER:
        raise Refused(f"The lines come to more than £{MOST_OFFER:,.0f}: make several quotes.", field="price")


def must_hold(offer: Offer) -> None:
    """Raises Refused, beside the first field, where the reverse charge is asked for and a condition is not recorded."""
    if not offer.reverse_charge:
        return
    missing = reverse_charge_missing(
        vat_registered=offer.vat_registered,
        consumer=offer.consumer,
        customer_vat_number=offer.customer_vat_number,
        cis_reportable=offer.cis_reportable,
        end_user=offer.end_user,
        rates=list(offer.lines.values_list("rate", flat=True)),
    )
    for field, sentence in missing:
        raise Refused(sentence, field=field)
