"""The page on which a draft is built: its lines with cost and margin, what they come to, what must be looked at."""

from collections.abc import Iterable
from datetime import datetime
from decimal import Decimal
from itertools import pairwise
from typing import Any
from uuid import UUID

from inspections.queries.facts import facts_on
from jobsite import clock
from jobsite.addresses import address
from jobsite.marks import code_mark
from jobsite.words import day, money
from remedials.quotes.choices import LineKind
from remedials.quotes.models import Line, LineRemedial, Offer
from remedials.quotes.queries.approving import beyond_the_party
from remedials.quotes.queries.offering import Work, works_of
from remedials.quotes.queries.quote import address_of, notes_of
from remedials.quotes.queries.sums import comes_to, margin_words
from remedials.quotes.rules.danger import rank
from remedials.quotes.rules.vat import energy_warning, percent_words, vat_number_doubt
from remedials.quotes.rules.warnings import Row, Warned, warnings
from remedials.works.states import WORDS, Stage

OFFERABLE = frozenset({Stage.TO_PRICE, Stage.QUOTED})
HEADINGS = {
    "C1": "C1: danger present",
    "C2": "C2: potentially dangerous",
    "FI": "FI: further investigation",
    "C3": "C3: improvement recommended",
    "": "Without a code",
}


def build_page(offer: Offer, *, now: datetime) -> dict[str, Any]:
    """All that the page shows of a draft (with its quote). A bounded number of statements, however many lines."""
    lines = list(offer.lines.select_related("site"))
    works = works_by_line(lines)
    warned = warned_of(offer, lines, works, now=now)
    return {
        "title": f"Quote {offer.quote.number}, version {offer.number}",
        "row": offer,
        "name": offer.quote.name,
        "party": offer.quote.party.name,
        "address": address("quotes:quote", offer.quote_id),
        "groups": _groups(lines, works),
        "in_order": _in_order(lines),
        "count": len(lines),
        "totals": comes_to(lines, reverse_charge=offer.reverse_charge),
        "warned": shown_warnings(warned),
        "facts": _facts(offer),
        "stale": any(_stale(line, works.get(line.pk, [])) for line in lines),
        "text_before": offer.text_before,
        "text_after": offer.text_after,
        **{
            name: address(f"quotes:{name}", offer.quote_id)
            for name in ("describe", "lines_add", "drop", "order", "take_prices")
        },
        "send": address_of("quotes:send", offer.quote_id),
    }


def works_by_line(lines: Iterable[Line]) -> dict[UUID, list[Work]]:
    """The remedials of each line as they are offered, by the line's key in the database. Three statements."""
    rows = LineRemedial.objects.filter(line__in=[line.pk for line in lines]).select_related("remedial")
    links = list(rows.order_by("remedial__number"))
    works = {work.remedial.pk: work for work in works_of({row.remedial_id: row.remedial for row in links}.values())}
    found: dict[UUID, list[Work]] = {}
    for row in links:
        found.setdefault(row.line_id, []).append(works[row.remedial_id])
    return found


def warned_of(offer: Offer, lines: list[Line], works: dict[UUID, list[Work]], *, now: datetime) -> list[Warned]:
    """What must be looked at in a draft. At most three statements."""
    today = clock.local_day(now)
    treatments = [line.treatment for line in lines] if offer.vat_registered else []
    energy = energy_warning(treatments, on=today, work_until=offer.work_until, office=True, facts=facts_on(today))
    rows = [_row(number, line, works.get(line.pk, [])) for number, line in enumerate(lines, start=1)]
    limits = beyond_the_party(offer, lines, works, now=now)
    doubt = vat_number_doubt(offer.customer_vat_number)
    found = warnings(rows, today=today, valid_until=offer.valid_until, energy=energy, limits=limits)
    return [*found, Warned(doubt)] if doubt else found


def _stale(line: Line, works: list[Work]) -> bool:
    """Whether a line asks another price than its remedials are priced at now."""
    now = priced_now(works)
    return now is not None and now != line.price


def _row(number: int, line: Line, works: list[Work]) -> Row:
    open_ones = [o for work in works for o in work.observations if not o.ended]
    unpriced = tuple(str(work.remedial.number) for work in works if work.costing is None and not line.price)
    return Row(
        key=line.key,
        number=number,
        kind=line.kind,
        code=line.code,
        price=line.price,
        cost=line.cost,
        bare=any(o.code == line.code and not o.made_safe for o in open_ones),
        remedials=len(works),
        unpriced=unpriced,
        changed=tuple(
            (str(work.remedial.number), WORDS[Stage(work.remedial.stage)])
            for work in works
            if work.remedial.stage not in OFFERABLE
        ),
        now=priced_now(works),
        either=line.either,
        needs=tuple(line.needs),
    )


def priced_now(works: list[Work]) -> Decimal | None:
    """What the costings of a line's remedials come to now; None where there are none or one is missing."""
    if not works or any(work.costing is None for work in works):
        return None
    return sum((work.price for work in works), Decimal(0))


def shown_warnings(warned: list[Warned]) -> list[dict[str, Any]]:
    """Warnings for the page, each with the place of its line."""
    return [{"sentence": w.sentence, "at": f"#l-{w.key}" if w.key else "", "danger": w.danger} for w in warned]


def _in_order(lines: list[Line]) -> bool:
    """Whether the lines stand in the order of danger, so that they can be shown in groups."""
    places = [(line.kind == LineKind.CALL_OUT, rank(line.code)) for line in lines]
    return all(one <= other for one, other in pairwise(places))


def _groups(lines: list[Line], works: dict[UUID, list[Work]]) -> list[dict[str, Any]]:
    """The lines under headings by danger; under none where they stand in an order of their own."""
    rows = rows_of(lines, works)
    if not _in_order(lines):
        return [{"heading": "", "rows": rows}]
    found: dict[str, list[dict[str, Any]]] = {}
    for row in rows:
        heading = "Coming to the site" if row["call_out"] else HEADINGS[row["code"]]
        found.setdefault(heading, []).append(row)
    return [{"heading": heading, "rows": group} for heading, group in found.items()]


def rows_of(lines: list[Line], works: dict[UUID, list[Work]], *, only: UUID | None = None) -> list[dict[str, Any]]:
    """Each line as a row of the page, or the one that has the key `only` in the database. No statement."""
    numbers = {line.key: number for number, line in enumerate(lines, start=1)}
    several = len({line.site_id for line in lines if line.site_id}) > 1
    rows = []
    for place, line in enumerate(lines):
        if only is None or line.pk == only:
            row = _shown(line, works.get(line.pk, []), numbers, several=several)
            row["before_up"] = str(lines[place - 1].key) if place else ""
            row["before_down"] = str(lines[place + 2].key) if place + 2 < len(lines) else "end"
            row["last"] = place + 1 == len(lines)
            rows.append(row)
    return rows


def _shown(line: Line, works: list[Work], numbers: dict[UUID, int], *, several: bool) -> dict[str, Any]:
    needs = [str(numbers[key]) for key in line.needs if key in numbers]
    return {
        "id": str(line.pk),
        "key": str(line.key),
        "number": str(numbers[line.key]),
        "code": line.code,
        "call_out": line.kind == LineKind.CALL_OUT,
        "mark": code_mark(line.code) if line.code else "",
        "words": line.words,
        "danger": line.danger,
        "site": line.site.name if several and line.site else "",
        "notes": notes_of(line) + ([f"needs line {', '.join(needs)}"] if needs and line.kind == LineKind.WORK else []),
        "price": money(line.price),
        "rate": percent_words(line.rate),
        "vat": money(line.vat),
        "cost": money(line.cost),
        "margin": margin_words(line.price, line.cost),
        "below": line.cost > line.price,
        "edit": address("quotes:line_edit", line.pk),
        "remove": address("quotes:line_remove", line.pk),
        "move": address("quotes:line_move", line.pk),
        "remedials": [
            {
                "number": str(work.remedial.number),
                "address": address("desk:remedial", work.remedial.pk),
                "price": address_of("quotes:price", work.remedial.pk),
                "priced": work.costing is not None,
            }
            for work in works
        ],
    }


def _facts(offer: Offer) -> list[tuple[str, str]]:
    charge = f"yes, VAT number {offer.customer_vat_number}" if offer.reverse_charge else "no"
    return [
        ("For", "a consumer: sums with VAT first" if offer.consumer else "a business: sums without VAT first"),
        ("Valid until", day(offer.valid_until) or "not said yet"),
        ("Work expected by", day(offer.work_until) or "not said"),
        ("Reverse charge", charge),
        ("Owner", str(offer.quote.owner)),
    ]


def row_of(line: Line, *, now: datetime) -> dict[str, Any]:
    """The row of one line, with what all comes to and what must be looked at now. As many statements as the page."""
    offer = line.offer
    lines = list(offer.lines.select_related("site"))
    works = works_by_line(lines)
    warned = warned_of(offer, lines, works, now=now)
    return {
        "row": next(iter(rows_of(lines, works, only=line.pk)), None),
        "totals": comes_to(lines, reverse_charge=offer.reverse_charge),
        "warned": shown_warnings(warned),
    }
