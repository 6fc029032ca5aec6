"""All that a version of a quote says to the customer, as plain JSON: what the PDF and the answering page show.

The same facts make the same dict, byte for byte in its canonical form: it is frozen when the version is sent.
"""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from typing import Any

from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.premises.models import Site
from remedials.quotes.choices import Certainty
from remedials.quotes.models import Line, Offer, Terms

ZERO = Decimal("0.00")
CERTAINTY_WORDS = {
    Certainty.FIXED.value: "",
    Certainty.PROVISIONAL.value: "Provisional: charged by what it takes; we tell you before it costs more than this.",
    Certainty.CAPPED.value: "Charged by what it takes, and not more than this.",
}


def offer_as_said(offer: Offer, *, now: datetime) -> dict[str, Any]:
    """What `offer` says to the customer if it is sent at `now`: sums as text with two decimals, dates as ISO text."""
    today = clock.local_day(now)
    lines = _lines(offer)
    sites = list(Site.objects.filter(quotes=offer.quote_id).order_by("sort", "pk"))
    terms = Terms.objects.filter(holds_from__lte=today).order_by("-holds_from").first() or Terms(holds_from=today)
    said = [_line(line, offer, many_sites=len(sites) > 1) for line in lines]
    return {
        "number": offer.quote.number,
        "version": offer.number,
        "name": offer.quote.name,
        "firm": _firm(terms),
        "to": {"name": offer.quote.party.name, "address": offer.quote.party.address},
        "sites": [{"id": str(site.pk), "name": site.name, "address": _address(site)} for site in sites],
        "on": today.isoformat(),
        "valid_until": _iso(offer.valid_until),
        "work_until": _iso(offer.work_until),
        "consumer": offer.consumer,
        "vat_registered": offer.vat_registered,
        "reverse_charge": offer.reverse_charge,
        "reverse_charge_words": terms.reverse_charge_text if offer.reverse_charge else "",
        "text_before": offer.text_before,
        "text_after": offer.text_after,
        "variation_of": offer.quote.variation_of.number if offer.quote.variation_of else None,
        "cancellation": {"words": terms.cancellation_text, "default": False} if offer.consumer else None,
        "begin": {"words": terms.begin_text, "default": False} if offer.consumer else None,
        "energy_note": "",
        "lines": said,
        "totals": _totals(lines, offer.reverse_charge),
    }


def _iso(day: date | None) -> str | None:
    return day.isoformat() if day else None


def _firm(terms: Terms) -> dict[str, str]:
    firm = the_firm()
    vat_number = terms.vat_number if terms.vat_registered else ""
    return {
        "name": firm.name,
        "address": firm.address,
        "phone": firm.phone,
        "email": firm.email,
        "vat_number": vat_number,
    }


def _address(site: Site) -> str:
    return ", ".join(part for part in (*site.address.splitlines(), site.postcode) if part)


def _lines(offer: Offer) -> list[Line]:
    related = "offers_remedials__remedial__unit", "offers_remedials__remedial__site"
    return list(offer.lines.order_by("position").prefetch_related(*related))


def _line(line: Line, offer: Offer, *, many_sites: bool) -> dict[str, Any]:
    offered = [row.remedial for row in line.offers_remedials.all()]
    vat = line.vat if offer.vat_registered else ZERO
    return {
        "id": str(line.pk),
        "key": str(line.key),
        "kind": line.kind,
        "site": str(offered[0].site_id) if offered else "",
        "where": _where(offered, many_sites=many_sites),
        "words": line.words,
        "danger": line.danger,
        "code": line.code,
        "price": _sum(line.price),
        "percent": _percent(line.rate),
        "rate_words": f"{_percent(line.rate)} %",
        "vat": _sum(vat),
        "to_pay": _sum(line.price if offer.reverse_charge else line.price + vat),
        "certainty": line.certainty,
        "certainty_words": CERTAINTY_WORDS[line.certainty],
        "optional": line.optional,
        "either": line.either,
        "needs": sorted(str(key) for key in line.needs),
    }


def _where(offered: Iterable[Any], *, many_sites: bool) -> str:
    """The places of the remedials that a line offers, each once: the unit, and the site where the quote has several."""
    places = []
    for remedial in offered:
        parts = [remedial.site.name] if many_sites else []
        parts += [] if remedial.unit.whole_site else [remedial.unit.name]
        places += [", ".join(parts)] if parts else []
    return "; ".join(dict.fromkeys(places))


def _sum(pounds: Decimal) -> str:
    return f"{pounds:.2f}"


def _percent(rate: Decimal) -> str:
    return f"{rate.normalize():f}"


def _totals(lines: Iterable[Line], reverse_charge: bool) -> dict[str, Any]:
    rates: dict[str, tuple[Decimal, Decimal]] = {}
    for line in lines:
        net, vat = rates.get(_percent(line.rate), (ZERO, ZERO))
        rates[_percent(line.rate)] = net + line.price, vat + line.vat
    net = sum((net for net, _ in rates.values()), ZERO)
    vat = sum((vat for _, vat in rates.values()), ZERO)
    charged = ZERO if reverse_charge else vat
    return {
        "rates": [
            {"percent": rate, "words": f"{rate} %", "net": _sum(net), "vat": _sum(vat)}
            for rate, (net, vat) in sorted(rates.items(), key=lambda row: -Decimal(row[0]))
        ],
        "net": _sum(net),
        "vat": _sum(charged),
        "to_pay": _sum(net + charged),
        "reverse_vat": _sum(vat - charged),
        "words": "",
    }
