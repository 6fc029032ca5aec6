"""What the pages of prices show, as ready strings. The office's alone."""

from collections.abc import Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from django.db.models import Count, Prefetch

from jobsite import words
from jobsite.addresses import address
from jobsite.marks import code_mark
from jobsite.paging import Slice, keyset
from jobsite.premises.models import Site
from remedials.quotes.models import Costing, LineRemedial, Rate, StandardJob, Terms
from remedials.quotes.rules import costing as rules
from remedials.quotes.states import State
from remedials.works.choices import ItemKind
from remedials.works.models import Remedial
from remedials.works.queries.lists import observations_by_remedial
from remedials.works.rules import RETESTS
from remedials.works.states import Stage

MOST_WORDS = 8


def sums_in_words(worked: rules.Worked, asked: Decimal | None, terms: Terms | None) -> dict[str, Any]:
    """Labour, items, cost, mark-up, price and margin of a remedial; `asked`: the price set by hand."""
    price = worked.price if asked is None else asked
    percent = rules.margin_percent(worked.cost, price)
    return {
        "labour_cost": words.money(worked.labour.cost),
        "labour": words.money(worked.labour.price),
        "items_cost": words.money(worked.items_cost),
        "items_markup": words.money(worked.items_markup),
        "items": words.money(worked.items_price),
        "cost": words.money(worked.cost),
        "worked_out": words.money(worked.price),
        "price": words.money(price),
        "by_hand": asked is not None,
        "margin": words.money(rules.margin(worked.cost, price)),
        "margin_percent": "" if percent is None else f"{percent} %".replace("-", "\u2212"),
        "warning": rules.below_cost(worked.cost, price),
        "call_out": words.money(terms.call_out) if terms else "",
    }


def standing_offers(remedial: Remedial) -> list[str]:
    """The sent quotes in which a remedial stands: they keep the price they were sent with. One statement."""
    sent = [State.SENT.value, State.ANSWERED.value]
    rows = LineRemedial.objects.filter(remedial=remedial, line__offer__state__in=sent)
    found = rows.order_by("line__offer__quote__number", "line__offer__number").values_list(
        "line__offer__quote__number", "line__offer__number"
    )
    return [f"quote {number}, version {version}" for number, version in dict.fromkeys(found)]


def priced_words(costing: Costing | None) -> str:
    """Who priced it, when and by which rates; "" where nobody did."""
    if costing is None:
        return ""
    terms = f", by the rates from {words.day(costing.terms.holds_from)} on" if costing.terms else ""
    return f"Priced by {costing.priced_by}, {words.when(costing.priced_at)}{terms}."


def moved_on(costing: Costing | None, worked: rules.Worked | None) -> str:
    """That what it takes, or the rates, changed since it was priced; "" where they didn't."""
    if costing is None or worked is None or (costing.cost, costing.worked_out) == (worked.cost, worked.price):
        return ""
    return (
        f"What it takes or the rates changed since: it was worked out at {words.money(costing.worked_out)}, and now comes "
        f"to {words.money(worked.price)}. Save the price to take that over."
    )


# --- the pile of a site -----------------------------------------------------------------------------------------------


def pile_of(site: Site) -> list[dict[str, Any]]:
    """The remedials of a site that are still to be priced or offered, with their prices. Three statements."""
    rows = list(Remedial.objects.filter(site=site, stage=Stage.TO_PRICE).select_related("costing").order_by("number"))
    found = observations_by_remedial(rows)
    return [_pile_row(row, found.get(row.pk, [])) for row in rows]


def _pile_row(row: Remedial, observations: Sequence[Any]) -> dict[str, Any]:
    costing = getattr(row, "costing", None)
    return {
        "pk": str(row.pk),
        "number": str(row.number),
        "work": row.work,
        "marks": [code_mark(o.code, o.made_safe and not o.ended, needed=o.needs_code) for o in observations],
        "minutes": words.many(row.minutes, "minute") if row.minutes else "",
        "crew": words.many(row.crew, "person", "people") if row.crew > 1 else "",
        "price": words.money(costing.price) if costing else "",
        "below": bool(costing and rules.below_cost(costing.cost, costing.price)),
        "times": max(len(observations), 1),
        "address": address("quotes:price", row.pk),
        "page": address("desk:remedial", row.pk),
    }


# --- the price book ---------------------------------------------------------------------------------------------------


def book(*, text: str = "", show: str = "", after: str = "", size: int = 50) -> Slice:
    """One page of the price book by name: those in use, "retired" or "all". One statement."""
    rows = StandardJob.objects.annotate(takes=Count("items"))
    if show != "all":
        rows = rows.filter(retired_at__isnull=show != "retired")
    for word in text.split()[:MOST_WORDS]:
        rows = rows.filter(name__icontains=word) | rows.filter(plain__icontains=word)
    found = keyset(rows, ("sort", "id"), after=after, size=size)
    return Slice([_job_row(row) for row in found.rows], found.next)


def _job_row(row: Any) -> dict[str, Any]:
    return {
        "name": row.name,
        "address": address("quotes:job", row.pk),
        "plain": row.plain,
        "minutes": words.many(row.minutes, "minute") if row.minutes else "",
        "crew": str(row.crew),
        "skill": row.skill,
        "items": str(row.takes or ""),
        "retired": words.day(words.london(row.retired_at).date()) if row.retired_at else "",
    }


def job_in_words(job: StandardJob, terms: Terms | None, worked: rules.Worked | None) -> dict[str, Any]:
    """What the price book says of a job, and what it comes to at the rates of today. One statement."""
    return {
        "facts": [
            ("In plain words", job.plain),
            ("Time", words.many(job.minutes, "minute") if job.minutes else "none"),
            ("People at once", str(job.crew)),
            ("Skill", job.skill or "any"),
            ("VAT", job.get_treatment_display()),
            ("Certificate", job.certificate_kind or "none"),
            (
                "Read again after it",
                words.joined(*[RETESTS[k][0] for k in job.retests if k in RETESTS], by="; ") or "nothing",
            ),
        ],
        "items": [item_in_words(one) for one in job.items.all()],
        "sums": sums_in_words(worked, None, terms) if worked else None,
        "retired": words.day(words.london(job.retired_at).date()) if job.retired_at else "",
    }


def item_in_words(one: Any) -> dict[str, str]:
    """A thing that work takes, with its sums."""
    markup = "none" if one.kind == ItemKind.FIXED else "the firm's"
    return {
        "kind": one.get_kind_display(),
        "what": one.what,
        "quantity": f"{one.quantity.normalize():f}{words.THIN + one.unit if one.unit else ''}",
        "cost_each": words.money(one.cost_each),
        "markup": markup if one.markup_percent is None else f"{one.markup_percent.normalize():f} %",
        "supplier": words.joined(one.supplier, one.reference),
    }


# --- rates and terms --------------------------------------------------------------------------------------------------


def all_terms(today: date) -> dict[str, Any]:
    """The terms in force on `today`, those to come, and earlier ones, the latest first. Two statements."""
    rates = Prefetch("rates", Rate.objects.order_by("skill"))
    rows = list(Terms.objects.order_by("-holds_from").select_related("set_by").prefetch_related(rates))
    begun = [row for row in rows if row.holds_from <= today]
    return {
        "coming": [terms_in_words(row) for row in reversed(rows) if row.holds_from > today],
        "present": terms_in_words(begun[0]) if begun else None,
        "earlier": [terms_in_words(row) for row in begun[1:]],
    }


def terms_in_words(row: Terms) -> dict[str, Any]:
    """Rates and terms in words."""
    registered = f"registered, {row.vat_number}" if row.vat_number else "registered, its number not entered yet"
    return {
        "from": words.day(row.holds_from),
        "by": words.joined(f"set by {row.set_by}" if row.set_by else "", row.reason, by=": "),
        "rates": [
            (r.skill or "any other skill", words.money(r.cost_hour), words.money(r.price_hour)) for r in row.rates.all()
        ],
        "facts": [
            ("Call-out, once a visit", f"{words.money(row.call_out)}, which costs {words.money(row.call_out_cost)}"),
            ("Mark-up", f"{row.markup_percent.normalize():f} % on materials and equipment"),
            ("VAT", registered if row.vat_registered else "not registered"),
            ("A quote stands", words.many(row.valid_days, "day")),
            ("Chased before it lapses", words.many(row.lapse_notice_days, "day")),
            ("A question is answered within", words.many(row.answer_days, "day")),
            ("Refused work is offered again after", _again(row)),
        ],
        "texts": [
            ("Before the lines of a quote", row.text_before or "none"),
            ("After them", row.text_after or "none"),
            ("A consumer's right to cancel", row.cancellation_text or "the default"),
            ("A consumer's request to begin at once", row.begin_text or "the default"),
            ("The reverse charge", row.reverse_charge_text or "the default"),
        ],
    }


def _again(row: Terms) -> str:
    return f"C1 {row.again_c1_days}, C2 {row.again_c2_days}, FI {row.again_fi_days}, other {row.again_other_days} days"
