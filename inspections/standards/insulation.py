"""Insulation resistance: the lowest that passes, by the circuit's voltage and the edition.

Source: the insulation table of BS 7671 (Table 64, formerly 61; its number from memory). 500 V row: a trade
magazine, EW, May 2023, p.25; SELV and PELV: NICEIC/ELECSA Pocket Guide 27; all rows: tables of the IEC standard
with the same limits. Older sheets by 0.5 MΩ (16th edition, Table 71A): a web page that reproduces it.
"""

from dataclasses import replace
from decimal import Decimal
from typing import Any

from inspections.standards.confidence import Confidence
from inspections.standards.editions import Edition
from inspections.standards.facts import SHIPPED, Fact, Facts
from inspections.standards.limits import Limit, Limits
from inspections.standards.quantities import Quantity
from inspections.standards.situation import ExtraLow, Situation
from inspections.standards.typed import Value
from inspections.standards.verdicts import Doubt, Judged, Warn, by_limits, judged_by, number_of, unlikely, warned

_SINCE_2008 = tuple(edition for edition in Edition if edition is not Edition.EARLIER)
_BEFORE = (Edition.EARLIER,)


def _megohms(key: str, title: str, value: str, confidence: Confidence, editions: tuple[Edition, ...]) -> Fact[Decimal]:
    return Fact(
        key=f"insulation.{key}",
        title=title,
        value=Decimal(value),
        unit="MΩ",
        source=_SOURCE if editions is not _BEFORE else _SOURCE_16,
        confidence=confidence,
        editions=editions,
        least=Decimal("0.01"),
        most=Decimal(100),
    )


_SOURCE = "Insulation table of BS 7671, as a trade magazine (EW, May 2023), a trade body's guide and IEC tables have it"
_SOURCE_16 = "Table 71A of the 16th edition, as a web page reproduces it"
_READ, _RECALLED = Confidence.SECONDARY, Confidence.MEMORY

SELV = _megohms("selv", "Lowest insulation resistance, SELV and PELV", "0.5", _READ, _SINCE_2008)
TO_500_V = _megohms("to-500-v", "Lowest insulation resistance, up to and including 500 V", "1.0", _READ, _SINCE_2008)
OVER_500_V = _megohms("over-500-v", "Lowest insulation resistance, above 500 V", "1.0", _READ, _SINCE_2008)
SELV_BEFORE = _megohms("selv.before-2008", "Lowest insulation resistance, SELV and PELV", "0.25", _RECALLED, _BEFORE)
TO_500_V_BEFORE = _megohms("to-500-v.before-2008", "Lowest insulation resistance, up to 500 V", "0.5", _READ, _BEFORE)
OVER_500_V_BEFORE = _megohms(
    "over-500-v.before-2008", "Lowest insulation resistance, above 500 V", "1.0", _RECALLED, _BEFORE
)
LOOK_BELOW = Fact(
    key="insulation.look-below",
    title="A passing insulation resistance below this deserves a look",
    value=Decimal(2),
    unit="MΩ",
    source="Older advice in the trade",
    confidence=Confidence.PRACTICE,
    least=Decimal(0),
    most=Decimal(1000),
)
ROWS: tuple[Fact[Decimal], ...] = (
    SELV,
    TO_500_V,
    OVER_500_V,
    SELV_BEFORE,
    TO_500_V_BEFORE,
    OVER_500_V_BEFORE,
    LOOK_BELOW,
)

# Voltages of the test, d.c.; 250 V too where connected equipment could be harmed (Reg. 643.3.3, EW 2023).
SELV_VOLTS, USUAL_VOLTS, HIGH_VOLTS = 250, 500, 1000
# A tester's last place, and more than any usual tester's range. Our own choice.
LOW_MOHM, HIGH_MOHM = Decimal("0.01"), Decimal(10_000)


def test_volts(situation: Situation) -> int:
    """The d.c. voltage that the test asks for, in volts."""
    if situation.extra_low in (ExtraLow.SELV, ExtraLow.PELV) or situation.equipment_connected:
        return SELV_VOLTS
    return USUAL_VOLTS if _nominal(situation) <= 500 else HIGH_VOLTS


def rows_of(edition: Edition) -> tuple[Fact[Decimal], ...]:
    """The lowest values that the edition selects: SELV and PELV, to 500 V, above."""
    if edition is Edition.EARLIER:
        return (SELV_BEFORE, TO_500_V_BEFORE, OVER_500_V_BEFORE)
    return (SELV, TO_500_V, OVER_500_V)


def limits(situation: Situation, facts: Facts = SHIPPED) -> Limits:
    """The lowest insulation resistance that passes, in MΩ, by voltage and edition."""
    row = facts.of(_row(situation))
    kind = situation.extra_low or f"circuit {'up to and including' if _nominal(situation) <= 500 else 'above'} 500 V"
    source = (
        f"as corrected from {row.source}" if facts.corrected(row) else f"insulation table, {situation.edition.label}"
    )
    live = ", live conductors joined, to earth" if situation.equipment_connected else ""
    basis = f"at least {row.shown}: {kind}, tested at {test_volts(situation)} V d.c.{live}, {source}"
    return Limits(Limit(basis=basis, confidence=row.confidence, unit="MΩ", least=row.value))


def judge(value: Value, situation: Situation, facts: Facts = SHIPPED, *, as_read: bool = False) -> Judged:
    """The verdict on an insulation resistance in MΩ. Raises ValueError for what no tester shows."""
    number = number_of(Quantity.INSULATION, value, zero=True)
    question = "" if value.above else unlikely(number, "MΩ", low=LOW_MOHM, high=HIGH_MOHM)
    if question and not as_read:
        return Doubt(question)
    found = limits(situation, facts)
    return by_limits(value, "MΩ", found, _warnings(value, situation, facts))


def aside(situation: Situation, facts: Facts = SHIPPED) -> dict[str, Any]:
    """What a phone needs to judge it, also for a test with equipment connected."""
    connected = replace(situation, equipment_connected=True)
    found = {"rule": "bounds", "zero": True, "low": f"{LOW_MOHM:f}", "high": f"{HIGH_MOHM:f}"}
    found |= _aside(situation, facts) | {"warn": [warn.aside for warn in _warns(situation, facts)]}
    return found | {"connected": _aside(connected, facts)}


def _aside(situation: Situation, facts: Facts) -> dict[str, Any]:
    return judged_by(limits(situation, facts)) | {"asked": test_volts(situation)}


def _nominal(situation: Situation) -> Decimal:
    return situation.nominal_volts if situation.nominal_volts is not None else situation.u0_volts


def _row(situation: Situation) -> Fact[Decimal]:
    extra_low, to_500_v, over_500_v = rows_of(situation.edition)
    if situation.extra_low in (ExtraLow.SELV, ExtraLow.PELV):
        return extra_low
    return to_500_v if _nominal(situation) <= 500 else over_500_v


def _warnings(value: Value, situation: Situation, facts: Facts) -> list[str]:
    asked, tested = test_volts(situation), situation.test_volts
    low = (
        [f"It was tested at {tested} V, where {asked} V is asked for."] if tested is not None and tested < asked else []
    )
    return [*low, *warned(value, _warns(situation, facts))]


def _warns(situation: Situation, facts: Facts) -> list[Warn]:
    later, look = facts.of(_row(replace(situation, edition=Edition.A4_2026))), facts.of(LOOK_BELOW)
    since = f"The editions since 2008 ask for {later.shown}: see that the report's edition is the earlier one."
    deserves = f"Below {look.shown} it deserves a look, though it passes ({look.confidence.value})."
    return [Warn(below=later.value, words=since), Warn(below=look.value, words=deserves, in_range=True)]
