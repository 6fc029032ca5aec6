"""What a line comes to: the rate of VAT that falls on it and the VAT, reckoned whenever it is written."""

from collections.abc import Iterable
from datetime import date
from decimal import Decimal

from django.db.models import Sum

from jobsite.premises.choices import Nation
from jobsite.refused import Refused
from remedials.quotes.models import Line, Offer
from remedials.quotes.rules.money import MOST_OFFER, in_bounds
from remedials.quotes.rules.vat import rate_on, reverse_charge_missing, vat_of


def rate_for(treatment: str, *, on: date, nation: str, vat_registered: bool) -> Decimal:
    """The rate in percent: 0 where the firm is not registered."""
    return rate_on(treatment, on, nation=nation).percent if vat_registered else Decimal(0)


def reckon(line: Line, offer: Offer, *, on: date) -> Line:
    """Set the rate and the VAT of `line` as they are on `on`. Raises Refused for a price that cannot be one."""
    for name, what in (("price", "The price"), ("cost", "The cost")):
        if fault := in_bounds(getattr(line, name), what=what):
            raise Refused(fault, field=name)
    nation = line.site.nation if line.site else Nation.ENGLAND
    line.rate = rate_for(line.treatment, on=on, nation=nation, vat_registered=offer.vat_registered)
    line.vat = vat_of(line.price, line.rate)
    return line


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
        rates=[],
    )
    for field, sentence in missing:
        raise Refused(sentence, field=field)
