"""Accepted lines of a period, for the firm's accounts. No invoice: what was agreed, with the answer that agreed it."""

from collections.abc import Iterator
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import Case, Count, F, OuterRef, QuerySet, Sum, Value, When

from jobsite import clock
from jobsite.addresses import address
from jobsite.columns import listed
from jobsite.paging import SIZE, Slice, keyset
from jobsite.people.models import User
from jobsite.words import day, money
from remedials.quotes.choices import AnsweredHow, Certainty
from remedials.quotes.models import LineAnswer, Offer, QuoteSite
from remedials.quotes.models.offers import POUNDS
from remedials.quotes.queries.periods import instants
from remedials.works.models import Remedial

ORDER = ("answer__given_at", "answer", "line__position", "pk")
HEADS = (
    "Accepted on", "Quote", "Version", "Customer", "Order number", "Site", "Work", "Net", "VAT rate, %", "VAT", "To pay",
    "VAT under the reverse charge", "Accepted", "By", "Price is", "Reverse charge",
)  # fmt: skip
ZERO = Value(Decimal("0.00"), output_field=POUNDS)


def accepted_lines(user: User, first: date, last: date) -> "QuerySet[LineAnswer, Any]":
    """The lines accepted from `first` to `last` whose yes stands, with `charged` and `reverse` VAT and `pays`."""
    start, end = instants(first, last)
    rows = LineAnswer.objects.filter(stands=True, says="yes", answer__given_at__gte=start, answer__given_at__lt=end)
    reverse = When(line__offer__reverse_charge=True, then=F("line__vat"))
    of_remedials = Remedial.objects.filter(quote_lines=OuterRef("line")).order_by("site__sort", "site").distinct()
    of_quote = QuoteSite.objects.filter(quote=OuterRef("line__offer__quote")).order_by("site__sort", "site")
    return (
        rows.filter(line__offer__in=Offer.objects.visible_to(user))
        .select_related("answer", "line__offer__quote__party", "line__site")
        .annotate(
            charged=Case(
                When(line__offer__reverse_charge=True, then=ZERO), default=F("line__vat"), output_field=POUNDS
            ),
            reverse=Case(reverse, default=ZERO, output_field=POUNDS),
            pays=F("charged") + F("line__price"),
            worked_at=listed(of_remedials, name="site__name"),
            quoted_for=listed(of_quote, name="site__name"),
        )
    )


def sums_by_rate(rows: "QuerySet[LineAnswer, Any]") -> list[dict[str, Any]]:
    """`rows` added up by VAT rate, the highest first: `rate`, whether under the `reverse_charge`, and sums. One statement."""
    sums = {
        "n": Count("pk"),
        "net": Sum("line__price"),
        "vat": Sum("charged"),
        "to_pay": Sum("pays"),
        "rev": Sum("reverse"),
    }
    bare: Any = rows.order_by().select_related(None)
    named = bare.values(rate=F("line__rate"), reverse_charge=F("line__offer__reverse_charge"))
    return list(named.annotate(**sums).order_by("-rate", "reverse_charge"))


def totals_of(rows: "QuerySet[LineAnswer, Any]") -> dict[str, Any]:
    """`rows` added up, by VAT rate and together, in ready strings; {} for none. One statement."""
    by_rate = sums_by_rate(rows)
    if not by_rate:
        return {}
    whole = {name: sum((row[name] for row in by_rate), Decimal(0)) for name in ("n", "net", "vat", "to_pay", "rev")}
    return {"rates": [_sums(_rate_words(row), row) for row in by_rate], "whole": _sums("Together", whole)}


def _rate_words(row: dict[str, Any]) -> str:
    rate = f"{row['rate'].normalize():f} %"
    return f"{rate}, reverse charge" if row["reverse_charge"] else rate


def _sums(head: str, row: dict[str, Any]) -> dict[str, str]:
    return {"head": head, "lines": f"{row['n']:,}"} | {
        name: money(row[name]) for name in ("net", "vat", "to_pay", "rev")
    }


def page_of_accepted(rows: "QuerySet[LineAnswer, Any]", *, after: str = "", size: int = SIZE) -> Slice:
    """One page of `rows` as dicts of ready strings, the earliest yes first. One statement."""
    found = keyset(rows, ORDER, after=after, size=size)
    return Slice([_row(row) for row in found.rows], found.next)


def _row(row: Any) -> dict[str, Any]:
    line, answer, offer = row.line, row.answer, row.line.offer
    return {
        "on": day(clock.local_day(answer.given_at)),
        "quote": f"{offer.quote.number}, version {offer.number}",
        "href": address("quotes:quote", offer.quote_id),
        "customer": offer.quote.party.name,
        "order": answer.order_number,
        "site": site_of(row),
        "words": line.words,
        "net": money(line.price),
        "rate": f"{line.rate.normalize():f} %",
        "vat": money(row.charged),
        "to_pay": money(row.pays),
        "how": AnsweredHow(answer.how).label,
        "by": answer.name,
        "certainty": Certainty(line.certainty).label if line.certainty != Certainty.FIXED else "",
        "reverse": f"reverse charge: the customer accounts for {money(row.reverse)} VAT"
        if offer.reverse_charge
        else "",
    }


def site_of(row: Any) -> str:
    """Where the work of a line is: its own site, that of its remedials, otherwise those of the quote."""
    if row.line.site is not None:
        return str(row.line.site.name)
    places = row.worked_at or row.quoted_for
    return ", ".join(dict.fromkeys(place["name"] for place in places))


def cells_of_accepted(rows: "QuerySet[LineAnswer, Any]") -> Iterator[tuple[Any, ...]]:
    """All of `rows` as cells for a file, the earliest yes first. One statement."""
    for row in rows.order_by(*ORDER):
        line, answer, offer = row.line, row.answer, row.line.offer
        yield (
            clock.local_day(answer.given_at), offer.quote.number, offer.number, offer.quote.party.name,
            answer.order_number, site_of(row), line.words, line.price, line.rate, row.charged, row.pays, row.reverse,
            AnsweredHow(answer.how).label, answer.name, Certainty(line.certainty).label,
            "yes" if offer.reverse_charge else "no",
        )  # fmt: skip
