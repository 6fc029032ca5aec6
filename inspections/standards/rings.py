"""Ring final circuits: ends, and readings with the ends cross-connected, in ohms.

Source: Basic Electrical Installation Work, p.354 (as copied); a training page; threads 16502 and 36313 of a trade
forum: r1 and rn within 0.05 Ω of each other, r2 about 1.67 × r1 for 2.5/1.5 mm², cross-connected a quarter of the
sum at each point, spurs higher, R1+R2 the highest. Read in secondary pages.
"""

from collections.abc import Iterable
from decimal import Decimal
from typing import Any

from inspections.standards.confidence import Confidence
from inspections.standards.continuity import (
    HIGH_OHMS,
    LOW_OHMS,
    about,
    broken,
    loop_aside,
    loop_words,
    near,
    nearness,
)
from inspections.standards.facts import SHIPPED, Fact, Facts
from inspections.standards.limits import Limit, Limits
from inspections.standards.quantities import Quantity
from inspections.standards.situation import Situation
from inspections.standards.typed import Value
from inspections.standards.verdicts import (
    Doubt,
    Judged,
    Result,
    Verdict,
    bounds,
    by_limits,
    noted,
    number_of,
    unlikely,
)

Q = Quantity

ENDS_APART = Fact(
    key="ring.ends-apart",
    title="Ends of a ring's line and neutral within",
    value=Decimal("0.05"),
    unit="Ω",
    source="Basic Electrical Installation Work, p.354; a training page; two threads of a trade forum",
    confidence=Confidence.SECONDARY,
    least=Decimal("0.01"),
    most=Decimal(1),
)
ROWS = (ENDS_APART,)

# Cross-connected readings lie within a tenth and 0.05 Ω of a quarter of the sum; from 85 % of the whole sum on
# the ends were more likely not cross-connected. Our own choice.
TOLERANCE, WHOLE = Decimal("0.1"), Decimal("0.85")

_PARTNER = {Q.RING_R1: Q.RING_RN, Q.RING_RN: Q.RING_R1}
_NAMES = {Q.RING_R1: "r1", Q.RING_RN: "rn", Q.RING_R2: "r2"}


def highest_cross_connected(ohms: Iterable[Decimal]) -> Decimal:
    """R1+R2 of a ring: the highest of the readings at its points, in ohms. Raises ValueError for none."""
    return max(ohms)


class Ring:
    """One of r1, rn, r2, a cross-connected reading at a point, or R1+R2 of a ring."""

    def __init__(self, quantity: Quantity) -> None:
        self.quantity = quantity

    def limits(self, situation: Situation, facts: Facts = SHIPPED) -> Limits:
        """Bounds in ohms for r1 and rn where the other one was read; else nothing decides."""
        partner = _PARTNER.get(self.quantity)
        other = situation.others.get(partner) if partner else None
        if partner is None or other is None:
            return Limits(None)
        apart = facts.of(ENDS_APART)
        basis = _apart_basis(partner, apart).replace("{other}", f"{other:f}")
        least, most = max(other - apart.value, Decimal(0)), other + apart.value
        return Limits(Limit(basis=basis, confidence=apart.confidence, least=least, most=most))

    def aside(self, situation: Situation, facts: Facts = SHIPPED) -> dict[str, Any]:
        """What a phone needs to judge it: which of the ring's other readings it lies beside, and how near."""
        found: dict[str, Any] = {"zero": True} | nearness(TOLERANCE)
        if partner := _PARTNER.get(self.quantity):
            apart = facts.of(ENDS_APART)
            beside = Limit(basis=_apart_basis(partner, apart), confidence=apart.confidence, most=apart.value)
            return found | {"rule": "end", "partner": partner.value, "apart": bounds(beside)}
        if self.quantity is Q.RING_R2:
            return found | {"rule": "protective", "r1": Q.RING_R1.value} | _sizes_aside(situation)
        end = self._end
        names = {"name": f"r1+{_NAMES[end]}", "r1": Q.RING_R1.value, "end": end.value, "whole": f"{WHOLE:f}"}
        loop = loop_aside(situation, facts) if self.quantity is Q.R1_R2 else {}
        return found | {"rule": "cross"} | names | loop

    @property
    def _end(self) -> Quantity:
        """The conductor that is cross-connected with the line."""
        return Q.RING_RN if self.quantity is Q.RING_CROSS_RN else Q.RING_R2

    def judge(self, value: Value, situation: Situation, facts: Facts = SHIPPED, *, as_read: bool = False) -> Judged:
        """The verdict on ohms, beside the ring's other readings. Raises ValueError for what no tester shows."""
        number = number_of(self.quantity, value, zero=True)
        if value.above:
            return broken(value)
        question = unlikely(number, "Ω", low=LOW_OHMS, high=HIGH_OHMS)
        if question and not as_read:
            return Doubt(question)
        if self.quantity in _PARTNER:
            found = self.limits(situation, facts)
            return by_limits(value, "Ω", found) if found.decides else noted(f"{value.words('Ω')}.")
        if self.quantity is Q.RING_R2:
            return _protective(value, number, situation)
        return self._cross_connected(value, number, situation, facts, as_read=as_read)

    def _cross_connected(
        self, value: Value, number: Decimal, situation: Situation, facts: Facts, *, as_read: bool
    ) -> Judged:
        end = self._end
        r1, other = situation.others.get(Q.RING_R1), situation.others.get(end)
        loop = loop_words(number, situation, facts) if self.quantity is Q.R1_R2 else None
        warnings = [loop[1]] if loop and not loop[0] else []
        if r1 is None or other is None:
            return noted(f"{value.words('Ω')}.", warnings)
        total, name = r1 + other, f"r1+{_NAMES[end]}"
        quarter = f"({name})/4 is {about(total / 4)}"
        if near(number, total / 4, TOLERANCE):
            words = f"{value.words('Ω')}: {quarter}."
            return Verdict(
                Result.WARNING if warnings else Result.PASS, " ".join([words, *warnings]), warnings=(*warnings,)
            )
        if number >= WHOLE * total and not as_read:
            return Doubt(f"{number:f} Ω is near {name}, {about(total)}: were the ends cross-connected? {quarter}.")
        higher = "a spur reads higher, and so does a loose joint" if number > total / 4 else "check the connections"
        warnings.insert(0, f"{quarter}: {higher}.")
        return noted(f"{value.words('Ω')}.", warnings)


def _apart_basis(partner: Quantity, apart: Fact[Decimal]) -> str:
    """The basis of r1 and rn; `{other}` stands for the other one's ohms."""
    return f"within {apart.shown} of {_NAMES[partner]}, {{other}} Ω ({apart.source})"


def _sizes_aside(situation: Situation) -> dict[str, Any]:
    line, cpc = situation.line_mm2, situation.cpc_mm2
    if not line or not cpc:
        return {}
    return {"line": f"{line:f}", "cpc": f"{cpc:f}", "times": _ratio_words(line, cpc)}


def _ratio_words(line: Decimal, cpc: Decimal) -> str:
    ratio = (line / cpc).quantize(Decimal("0.01"))
    return f"× {ratio} for {line.normalize():f}/{cpc.normalize():f} mm²"


def _protective(value: Value, number: Decimal, situation: Situation) -> Verdict:
    """r2 beside r1 times the ratio of the sizes."""
    r1, line, cpc = situation.others.get(Q.RING_R1), situation.line_mm2, situation.cpc_mm2
    if r1 is None or not line or not cpc:
        return noted(f"{value.words('Ω')}.")
    words = f"r1 of {r1:f} Ω {_ratio_words(line, cpc)} is {about(r1 * line / cpc)}"
    if near(number, r1 * line / cpc, TOLERANCE):
        return Verdict(Result.PASS, f"{value.words('Ω')}: {words}.")
    return noted(f"{value.words('Ω')}.", [f"{words}: check sizes and joints."])
