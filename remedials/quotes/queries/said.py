"""All that a version of a quote says to the customer, as plain JSON: what the PDF and the answering page show.

The same facts make the same dict, byte for byte in its canonical form: it is frozen when the version is sent.
"""

from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from inspections.queries.facts import facts_on
from inspections.standards.facts import Facts
from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.premises.choices import Nation
from jobsite.premises.models import Site
from remedials.quotes.choices import Certainty
from remedials.quotes.models import Line, Offer, Terms
from remedials.quotes.rules.choosing import whole_offer
from remedials.quotes.rules.totals import of_line
from remedials.quotes.rules.vat import energy_warning, percent_words, rate_on
from remedials.quotes.rules.wording import Text, shows_rights, worded

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
    sites = _sites(offer, {line.site_id for line in lines})
    terms, facts = terms_in_force(today), facts_on(today)
    said = [_line(line, offer, today, facts, many_sites=len(sites) > 1) for line in lines]
    firm, reverse, rights = _firm(terms, offer), offer.reverse_charge, shows_rights(consumer=offer.consumer)
    address = ", ".join(part for part in (firm["name"], *firm["address"].splitlines(), firm["email"]) if part)
    return {
        "number": offer.quote.number,
        "version": offer.number,
        "name": offer.quote.name,
        "firm": firm,
        "to": {"name": offer.quote.party.name, "address": offer.quote.party.address},
        "sites": [{"id": str(site.pk), "name": site.name, "address": _address(site)} for site in sites],
        "on": today.isoformat(),
        "valid_until": _iso(offer.valid_until),
        "work_until": _iso(offer.work_until),
        "consumer": offer.consumer,
        "vat_registered": offer.vat_registered,
        "reverse_charge": offer.reverse_charge,
        "reverse_charge_words": worded(Text.REVERSE_CHARGE, terms.reverse_charge_text).words if reverse else "",
        "text_before": offer.text_before,
        "text_after": offer.text_after,
        "variation_of": offer.quote.variation_of.number if offer.quote.variation_of else None,
        "cancellation": _worded(Text.CANCELLATION, terms.cancellation_text, address, facts) if rights else None,
        "cancellation_form": _worded(Text.CANCELLATION_FORM, "", address, facts) if rights else None,
        "begin": _worded(Text.BEGIN, terms.begin_text, address, facts) if rights else None,
        "energy_note": _energy_note(offer, lines, today, facts),
        "lines": said,
        "totals": _totals(lines, offer.reverse_charge),
    }


def _sites(offer: Offer, named: set[UUID | None]) -> list[Site]:
    """The sites that its lines name; all of the quote's where a line names none."""
    sites = list(Site.objects.filter(quotes=offer.quote_id).order_by("sort", "pk"))
    return sites if None in named else [site for site in sites if site.pk in named] or sites


def terms_in_force(day: date) -> Terms:
    """The firm's terms on `day`; the defaults before it has set any."""
    return Terms.objects.filter(holds_from__lte=day).order_by("-holds_from").first() or Terms(holds_from=day)


def _iso(day: date | None) -> str | None:
    return day.isoformat() if day else None


def _firm(terms: Terms, offer: Offer) -> dict[str, str]:
    firm = the_firm()
    vat_number = terms.vat_number if offer.vat_registered else ""
    return {
        "name": firm.name,
        "address": firm.address,
        "phone": firm.phone,
        "email": firm.email,
        "vat_number": vat_number,
    }


def _worded(text: Text, own: str, firm: str, facts: Facts) -> dict[str, Any]:
    wording = worded(text, own, firm=firm, facts=facts)
    return {"words": wording.words, "default": wording.default}


def _energy_note(offer: Offer, lines: Iterable[Line], today: date, facts: Facts) -> str:
    """That energy-saving work may fall after the relief; nothing of a firm that charges no VAT."""
    treatments = [line.treatment for line in lines] if offer.vat_registered else []
    return energy_warning(treatments, on=today, work_until=offer.work_until, facts=facts)


def _address(site: Site) -> str:
    return ", ".join(part for part in (*site.address.splitlines(), site.postcode) if part)


def _lines(offer: Offer) -> list[Line]:
    related = "offers_remedials__remedial__unit", "offers_remedials__remedial__site"
    return list(offer.lines.order_by("position").select_related("site").prefetch_related(*related))


def _line(line: Line, offer: Offer, today: date, facts: Facts, *, many_sites: bool) -> dict[str, Any]:
    offered = [row.remedial for row in line.offers_remedials.all()]
    vat = line.vat if offer.vat_registered else ZERO
    return {
        "id": str(line.pk),
        "key": str(line.key),
        "kind": line.kind,
        "site": str(line.site_id or ""),
        "where": _where(offered, many_sites=many_sites),
        "words": line.words,
        "danger": line.danger,
        "code": line.code,
        "price": _sum(line.price),
        "percent": _percent(line.rate),
        "rate_words": _rate_words(line, offer, today, facts),
        "vat": _sum(vat),
        "to_pay": _sum(line.price if offer.reverse_charge else line.price + vat),
        "certainty": line.certainty,
        "certainty_words": CERTAINTY_WORDS[line.certainty],
        "optional": line.optional,
        "either": line.either,
        "needs": sorted(str(key) for key in line.needs),
    }


def _rate_words(line: Line, offer: Offer, today: date, facts: Facts) -> str:
    """The rate in words. That of energy-saving materials says until when it holds, where it is still the rate."""
    if not offer.vat_registered:
        return "no VAT"
    nation = line.site.nation if line.site else Nation.ENGLAND
    rate = rate_on(line.treatment, today, nation=nation, facts=facts)
    return rate.words if rate.percent == line.rate else percent_words(line.rate)


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
    """What everything comes to, of alternatives the dearest: the sums of what is shown on the lines."""
    whole = whole_offer([of_line(line) for line in lines], reverse_charge=reverse_charge)
    sums = whole.totals
    return {
        "rates": [
            {
                "percent": _percent(row.percent),
                "words": _vat_words(row.percent),
                "net": _sum(row.net),
                "vat": _sum(row.vat),
            }
            for row in sums.rates
        ],
        "net": _sum(sums.net),
        "vat": _sum(sums.vat),
        "to_pay": _sum(sums.to_pay),
        "reverse_vat": _sum(sums.reverse_vat),
        "words": " ".join(filter(None, [f"{whole.words}." if whole.words else "", sums.words])),
    }


def _vat_words(percent: Decimal) -> str:
    return f"VAT at {percent_words(percent)}"
