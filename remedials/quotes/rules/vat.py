"""How VAT falls on the lines of a quote, when the domestic reverse charge may be used, and how VAT is rounded.

The rounding rule is `PER_LINE_NEAREST_PENNY`, and nothing else rounds VAT: the VAT of each line is worked out from its
net price and rounded to the nearest penny, half a penny up; every total is the sum of what is shown.
"""

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum

from inspections.standards import vat as published
from inspections.standards.confidence import Confidence, weaker
from inspections.standards.counting import day_words
from inspections.standards.facts import SHIPPED, Fact, Facts
from remedials.quotes.rules.money import penny


class Treatment(StrEnum):
    """How VAT falls on a line: the values are those that lines are stored with."""

    STANDARD = "standard"
    REDUCED = "reduced"
    ENERGY = "energy-saving"


@dataclass(frozen=True, slots=True)
class Rounding:
    """A rule of rounding with its name."""

    key: str
    words: str
    source: str
    confidence: Confidence


PER_LINE_NEAREST_PENNY = Rounding(
    key="per-line-nearest-penny",
    words=(
        "VAT is worked out for each line and rounded to the nearest penny, half a penny up. The VAT of a rate and of "
        "the whole is the sum of the lines'."
    ),
    source="HMRC's manual VATREC12010 and VATREC12030 (gov.uk): per line to the nearer 1p, never down to whole pennies",
    confidence=Confidence.READ,
)


@dataclass(frozen=True, slots=True)
class Rate:
    """A rate of VAT on a day. `words` for the customer; `basis` says where it comes from and how sure that is.

    `ends_on` is the last day on which it holds, where one is known; `later` is the rate after it.
    """

    percent: Decimal
    words: str
    basis: str
    confidence: Confidence
    ends_on: date | None = None
    later: Decimal | None = None


def percent_words(percent: Decimal) -> str:
    """A rate in words: "20 %", "17.5 %"."""
    return f"{percent.normalize():f} %"


def rate_on(treatment: str, on: date, *, nation: str, facts: Facts = SHIPPED) -> Rate:
    """The rate of VAT on a line with a tax point on that day; `nation` as premises are stored with, "" not known.

    Raises ValueError for a treatment that there isn't.
    """
    match Treatment(treatment):
        case Treatment.STANDARD:
            return _rate(facts.of(published.STANDARD), "standard rate")
        case Treatment.REDUCED:
            return _rate(facts.of(published.REDUCED), "reduced rate")
        case Treatment.ENERGY:
            return _energy_rate(on, nation, facts)


def _rate(row: Fact[Decimal], words: str) -> Rate:
    return Rate(row.value, f"{percent_words(row.value)}, {words}", _basis(row), row.confidence)


def _basis(*rows: Fact[Decimal] | Fact[date]) -> str:
    sources = "; ".join(dict.fromkeys(row.source for row in rows))
    notes = [row.confidence for row in rows if not row.confidence.sure]
    return f"{sources} ({notes[0].value})" if notes else sources


def _energy_rate(on: date, nation: str, facts: Facts) -> Rate:
    """Before the relief began the reduced rate is taken (from memory); no quote is written for such a day."""
    until, after = facts.of(published.ENERGY_UNTIL), facts.of(published.ENERGY_AFTER)
    if on > until.value:
        return _rate(after, "energy-saving materials")
    if on < published.relief_from(nation, facts):
        return _rate(facts.of(published.REDUCED), "energy-saving materials before the relief")
    row = facts.of(published.ENERGY)
    return Rate(
        percent=row.value,
        words=f"{percent_words(row.value)}, energy-saving materials until {day_words(until.value)}",
        basis=_basis(row, until),
        confidence=weaker(row.confidence, until.confidence),
        ends_on=until.value,
        later=after.value,
    )


def vat_of(net: Decimal, percent: Decimal) -> Decimal:
    """The VAT on a line's net price in pounds, by `PER_LINE_NEAREST_PENNY`."""
    return penny(net * percent / 100)


def energy_warning(
    treatments: Iterable[str], *, on: date, work_until: date | None, office: bool = False, facts: Facts = SHIPPED
) -> str:
    """What a quote with energy-saving materials must say where its work may fall after the relief; else "".

    `on`: the day for which its rates were reckoned; `work_until`: by when the work is expected to be done. The office
    reads besides why, and how sure that is.
    """
    until, now = facts.of(published.ENERGY_UNTIL).value, facts.of(published.ENERGY).value
    if Treatment.ENERGY not in set(treatments) or on > until or (work_until and work_until <= until):
        return ""
    later, ends = percent_words(facts.of(published.ENERGY_AFTER).value), day_words(until)
    why = f"may be done until {day_words(work_until)}" if work_until else "has no date by which it is done"
    said = (
        f"Energy-saving materials bear {percent_words(now)} VAT until {ends}. This work {why}: what is done after "
        f"{ends} bears {later}."
    )
    return f"{said} {published.TAX_POINT}" if office else said


# --- the domestic reverse charge --------------------------------------------------------------------------------------


def reverse_charge_missing(
    *,
    vat_registered: bool,
    consumer: bool,
    customer_vat_number: str,
    cis_reportable: bool | None,
    end_user: bool | None,
    rates: Collection[Decimal],
) -> list[tuple[str, str]]:
    """The conditions of the domestic reverse charge that don't hold or aren't recorded: field and sentence of each.

    Empty where it must be used. `rates`: the percentages of the lines; none yet is no fault.
    """
    number = vat_number_fault(customer_vat_number)
    checks = (
        (vat_registered, "vat_registered", "The firm must be registered for VAT."),
        (not consumer, "consumer", "It never applies to a consumer."),
        (bool(customer_vat_number.strip()), "customer_vat_number", "Enter the customer's VAT registration number."),
        (not (customer_vat_number.strip() and number), "customer_vat_number", number),
        (cis_reportable is not None, "cis_reportable", "Say whether the payment is reportable under the CIS."),
        (cis_reportable is not False, "cis_reportable", "It applies only to payments reportable under the CIS."),
        (end_user is not None, "end_user", "Say whether the customer told you in writing that it is an end user."),
        (
            end_user is not True,
            "end_user",
            "It doesn't apply to a customer that told you in writing it is an end user.",
        ),
        (not rates or any(rate > 0 for rate in rates), "reverse_charge", "No line bears VAT that could be reversed."),
    )
    return [(field, sentence) for holds, field, sentence in checks if not holds]


# Nine digits, with three more for a branch; or a department of government or health authority. From memory.
_NUMBER = re.compile(r"(GB|XI)?([0-9]{9}|[0-9]{12}|GD[0-4][0-9]{2}|HA[5-9][0-9]{2})")


def vat_number_fault(text: str) -> str:
    """What is wrong with the form of a UK VAT registration number, a sentence for its field; "" where nothing is.

    Whether it is registered, and to whom, only the tax authority's own look-up tells.
    """
    if not text.strip():
        return "Enter the VAT registration number."
    if _NUMBER.fullmatch(re.sub(r"[\s.-]", "", text).upper()):
        return ""
    return "A UK VAT registration number has 9 digits, such as GB 123 4567 89, or 12 for a branch."


def vat_number_doubt(text: str) -> str:
    """A warning where the last two digits don't check with the first seven; "" where they do, or no digits check.

    The way of checking (weights 8 to 2, modulo 97, or that with 55 added) is from memory: it refuses nothing.
    """
    digits = re.sub(r"[^0-9]", "", text)[:9]
    if vat_number_fault(text) or len(digits) < 9:
        return ""
    total = sum(int(digit) * weight for digit, weight in zip(digits, range(8, 1, -1), strict=False)) + int(digits[7:])
    return "" if 0 in (total % 97, (total + 55) % 97) else "The check digits of this VAT number don't agree: check it."
