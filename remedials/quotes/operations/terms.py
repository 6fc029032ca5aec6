"""Setting the firm's rates and terms from a day on."""

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any, NamedTuple

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone
from jobsite.ledger.rules import FIRM_CHAIN
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from jobsite.words import day
from remedials.quotes import policy
from remedials.quotes.models import Rate, Terms, fold
from remedials.quotes.rules.vat import vat_number_fault
from remedials.quotes.verbs import Verb
from remedials.works.operations.ground import person
from remedials.works.operations.taking import plain_number

MOST_RATES, MOST_HOUR, MOST_CALL_OUT = 30, Decimal(10_000), Decimal(100_000)
SUMS = ("call_out", "call_out_cost", "markup_percent")
DAYS = (
    "valid_days", "lapse_notice_days", "answer_days", "again_c1_days", "again_c2_days", "again_fi_days",
    "again_other_days",
)  # fmt: skip
NOUGHT_ALLOWED = frozenset({"lapse_notice_days", "answer_days"})
TEXTS = ("vat_number", "text_before", "text_after", "cancellation_text", "begin_text", "reverse_charge_text")
FIELDS = (*SUMS, "vat_registered", *DAYS, *TEXTS)


class Charge(NamedTuple):
    """What an hour of a skill costs the firm and is charged at, in pounds; the empty skill is any other."""

    skill: str
    cost_hour: Decimal
    price_hour: Decimal


@operation
def set_terms(
    *,
    holds_from: date,
    rates: Sequence[Charge | tuple[str, Decimal, Decimal]],
    by: Actor,
    now: datetime,
    reason: str = "",
    version: int | None = None,
    **figures: Any,
) -> Terms:
    """Set rates and terms from `holds_from` on; what is left out of `figures` (of FIELDS) stays as in the last terms.

    What was priced and offered before keeps its sums. Terms of the same day are set anew; `version` is theirs as the
    person saw it, 0 where there were none (None: not said). Raises NotAllowed, ChangedMeanwhile, and Refused for a day
    past (unless they are the first) and for numbers that can't be; the field of a rate is named "rates-<row>-<field>".
    """
    if unknown := set(figures) - set(FIELDS):
        raise TypeError(f"no such terms: {sorted(unknown)}")
    if not policy.may_set_terms(by):
        raise NotAllowed(policy.NOT_YOUR_FIRM)
    alone(FIRM_CHAIN)
    charges = [Charge(skill.strip(), cost, price) for skill, cost, price in rates]
    _must_be_rates(charges)
    values = _values(holds_from, figures)
    present = Terms.objects.select_for_update().filter(holds_from=holds_from).first()
    if present and _same(present, charges, values | {"reason": reason.strip()}):
        return present
    _must_hold_from(holds_from, present, version, now=now)
    terms = _kept(present, holds_from, values | {"reason": reason.strip(), "set_by": person(by)}, charges)
    words = {name: values[name] for name in TEXTS} | {"reason": terms.reason}
    words["skills"] = "; ".join(charge.skill or "any other" for charge in charges)
    record(Verb.TERMS_SET, site=None, subject=terms, by=by, now=now, facts=_facts(terms, charges), words=words)
    return terms


def _values(holds_from: date, figures: dict[str, Any]) -> dict[str, Any]:
    """All of FIELDS: those of the terms before, with `figures` over them. Raises Refused for what can't be."""
    before = Terms.objects.filter(holds_from__lte=holds_from).order_by("-holds_from").first() or Terms()
    values = {name: getattr(before, name) for name in FIELDS} | figures
    values |= {name: values[name].strip() for name in TEXTS}
    for name in SUMS:
        most = Decimal(1000) if name == "markup_percent" else MOST_CALL_OUT
        _must_be_sum(values[name], most, name)
    for name in DAYS:
        if not (0 if name in NOUGHT_ALLOWED else 1) <= values[name] <= 3650:
            raise Refused("Write a number of days, at most 3650.", field=name)
    if values["vat_registered"] and values["vat_number"] and (wrong := vat_number_fault(values["vat_number"])):
        raise Refused(wrong, field="vat_number")
    return values


def _must_be_sum(amount: Decimal, most: Decimal, field: str) -> None:
    if not 0 <= amount <= most or amount != round(amount, 2):
        raise Refused(f"Write a number from 0 to {most:,}, with at most 2 digits after the point.", field=field)


def _must_be_rates(charges: Sequence[Charge]) -> None:
    if not charges:
        raise Refused("Enter at least one rate: what an hour costs and what it is charged at.")
    if len(charges) > MOST_RATES:
        raise Refused(f"At most {MOST_RATES} rates.")
    seen: set[str] = set()
    for number, charge in enumerate(charges):
        if (key := fold(charge.skill)) in seen:
            name = f"“{charge.skill}”" if charge.skill else "any other skill"
            raise Refused(f"There are two rates for {name}: keep one.", field=f"rates-{number}-skill")
        seen.add(key)
        _must_be_sum(charge.cost_hour, MOST_HOUR, f"rates-{number}-cost_hour")
        _must_be_sum(charge.price_hour, MOST_HOUR, f"rates-{number}-price_hour")


def _must_hold_from(holds_from: date, present: Terms | None, version: int | None, *, now: datetime) -> None:
    if holds_from < clock.local_day(now) and Terms.objects.exists():
        raise Refused(
            "This day is past: what was priced since stays as it is. Choose today or later.", field="holds_from"
        )
    if version is not None and version != (present.version if present else 0):
        sentence = (
            f"There are terms from {day(holds_from)} on already: look at what they say, and save again to set them anew."
            if present
            else f"Somebody set the terms from {day(holds_from)} on anew meanwhile."
        )
        raise ChangedMeanwhile(sentence, theirs=present or Terms(holds_from=holds_from, version=0))


def _same(terms: Terms, charges: Sequence[Charge], values: dict[str, Any]) -> bool:
    return all(getattr(terms, n) == v for n, v in values.items()) and set(charges) == {
        Charge(rate.skill, rate.cost_hour, rate.price_hour) for rate in terms.rates.all()
    }


def _kept(terms: Terms | None, holds_from: date, values: dict[str, Any], charges: Sequence[Charge]) -> Terms:
    if terms is None:
        terms = Terms.objects.create(holds_from=holds_from, **values)
    else:
        for name, value in values.items():
            setattr(terms, name, value)
        terms.version += 1
        terms.save(update_fields=[*values, "version"])
        terms.rates.all().delete()
    Rate.objects.bulk_create(Rate(terms=terms, **charge._asdict()) for charge in charges)
    return terms


def _facts(terms: Terms, charges: Sequence[Charge]) -> dict[str, Any]:
    facts: dict[str, Any] = {"holds_from": terms.holds_from.isoformat(), "vat_registered": terms.vat_registered}
    facts |= {name: plain_number(getattr(terms, name)) for name in SUMS}
    facts |= {name: getattr(terms, name) for name in DAYS}
    return facts | {"rates": [[f"{charge.cost_hour:.2f}", f"{charge.price_hour:.2f}"] for charge in charges]}
