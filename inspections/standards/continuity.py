"""Continuity of protective conductors: R1+R2, R2 and bonding, in ohms.

No standard gives a limit: what can be laid beside a reading is what its length and size should read (`conductors`),
and the loop impedance that it leads to. Both only warn. "Of the order of 0.05 Ω" for main bonding is Guidance
Note 3's, from memory.
"""

from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from typing import Any

from inspections.standards import impedance
from inspections.standards.conductors import expected_ohms
from inspections.standards.confidence import Confidence
from inspections.standards.facts import SHIPPED, Fact, Facts
from inspections.standards.limits import Limit, Limits, entered_most
from inspections.standards.quantities import Quantity
from inspections.standards.situation import Situation
from inspections.standards.typed import Value
from inspections.standards.verdicts import (
    Doubt,
    Judged,
    Result,
    Verdict,
    by_limits,
    given,
    judged_by,
    noted,
    number_of,
    unlikely,
)

BONDING = Fact(
    key="continuity.bonding",
    title="Continuity of main bonding, of the order of",
    value=Decimal("0.05"),
    unit="Ω",
    source="Guidance Note 3, not read",
    confidence=Confidence.MEMORY,
    least=Decimal("0.01"),
    most=Decimal(1),
)
ROWS = (BONDING,)

# A reading is as expected within a fifth and 0.05 Ω: lengths are guesses and joints add. Our own choice.
TOLERANCE, JOINTS_OHMS = Decimal("0.2"), Decimal("0.05")
# The last place of a continuity tester, and far more than any final circuit. Our own choice.
LOW_OHMS, HIGH_OHMS = Decimal("0.005"), Decimal(50)


class Continuity:
    """One of R1+R2, R2 and bonding."""

    def __init__(self, quantity: Quantity) -> None:
        self.quantity = quantity

    def limits(self, situation: Situation, facts: Facts = SHIPPED) -> Limits:
        """Only a limit that a person entered decides, in ohms. Raises ValueError for one that cannot be."""
        return Limits(entered_most(situation.entered, "Ω") if situation.entered else None)

    def judge(self, value: Value, situation: Situation, facts: Facts = SHIPPED, *, as_read: bool = False) -> Judged:
        """The verdict on ohms, against what is expected. Raises ValueError for what no tester shows."""
        number = number_of(self.quantity, value, zero=True)
        if value.above:
            return broken(value)
        question = unlikely(number, "Ω", low=LOW_OHMS, high=HIGH_OHMS)
        if question and not as_read:
            return Doubt(question)
        if situation.entered:
            return by_limits(value, "Ω", self.limits(situation, facts))
        if self.quantity is Quantity.BONDING:
            return _bonding(value, number, situation, facts)
        sizes = [situation.cpc_mm2] if self.quantity is Quantity.R2 else [situation.line_mm2, situation.cpc_mm2]
        expected = expected_ohms(sizes, situation.length_m, facts)
        loop = loop_words(number, situation, facts) if self.quantity is Quantity.R1_R2 else None
        return _as_expected(value, number, expected, _length_words(sizes, situation), loop)

    def aside(self, situation: Situation, facts: Facts = SHIPPED) -> dict[str, Any]:
        """What a phone needs to judge it: what it should read, the loop that it leads to, the usual of bonding."""
        found = {"rule": "continuity", "zero": True} | judged_by(self.limits(situation, facts)) | nearness(TOLERANCE)
        line = [situation.line_mm2] if self.quantity is Quantity.R1_R2 else []
        sizes = [*line, situation.cpc_mm2]
        found |= given(expected=expected_ohms(sizes, situation.length_m, facts), of=_length_words(sizes, situation))
        if self.quantity is Quantity.R1_R2:
            found |= loop_aside(situation, facts)
        return found | (_bonding_aside(facts) if self.quantity is Quantity.BONDING else {})


def nearness(tolerance: Decimal) -> dict[str, str]:
    """What `near` goes by and what is unlikely here, as a phone needs it."""
    return given(tolerance=tolerance, joints=JOINTS_OHMS, low=LOW_OHMS, high=HIGH_OHMS)


def loop_aside(situation: Situation, facts: Facts) -> dict[str, Any]:
    """The limit of the loop impedance that R1+R2 leads to, as a phone needs it; nothing where there is none."""
    limit = _loop_limit(situation, facts)
    return {"loop": given(most=limit.ohms_exact)} if limit else {}


def _loop_limit(situation: Situation, facts: Facts) -> Limit | None:
    """A limit that a person entered is of what is read here, not of the loop."""
    limit = impedance.limits(replace(situation, entered=None), facts).decides
    return limit if isinstance(limit, Limit) else None


def broken(value: Value) -> Verdict:
    """More than the tester's range: the conductor doesn't go through, whatever is expected of it."""
    return Verdict(Result.FAIL, f"{value.words('Ω')}: no continuity.")


def near(number: Decimal, expected: Decimal, tolerance: Decimal = TOLERANCE) -> bool:
    """Whether a reading is as expected, in ohms, but for joints and what nobody measures exactly."""
    return abs(number - expected) <= tolerance * expected + JOINTS_OHMS


def about(ohms: Decimal) -> str:
    """A computed resistance in words, to the last place that a tester shows."""
    return f"{ohms.quantize(Decimal('0.01'), ROUND_HALF_UP)} Ω"


def loop_words(r1_r2: Decimal, situation: Situation, facts: Facts) -> tuple[bool, str] | None:
    """What the loop impedance will come to with the board's Zdb, and whether that is within its limit."""
    zdb = situation.others.get(Quantity.LOOP_BOARD)
    limit = _loop_limit(situation, facts)
    if zdb is None or limit is None:
        return None
    total, fits = zdb + r1_r2, zdb + r1_r2 <= limit.ohms_exact
    words = f"With Zdb of {zdb:f} Ω the loop impedance comes to {total:f} Ω, "
    if fits:
        return True, f"{words}within {limit.ohms_shown} Ω."
    return False, f"{words}above {limit.ohms_shown} Ω: measure it, it is likely to fail."


def _length_words(sizes: list[Decimal | None], situation: Situation) -> str:
    written = "/".join(f"{size.normalize():f}" for size in sizes if size is not None)
    length = "" if situation.length_m is None else f"{situation.length_m:f} m of "
    return f"{length}{written} mm² copper"


def _as_expected(
    value: Value, number: Decimal, expected: Decimal | None, of: str, loop: tuple[bool, str] | None
) -> Verdict:
    said = []
    if number == 0:
        said.append("0 Ω is less than any conductor reads: check what the leads were nulled on.")
    if expected is not None and not near(number, expected):
        said.append(f"{of} should read about {about(expected)}: check the length, the joints and the sizes.")
    if loop and not loop[0]:
        said.append(loop[1])
    good = [f"{of} should read about {about(expected)}."] if expected is not None and near(number, expected) else []
    good += [loop[1]] if loop and loop[0] else []
    words = " ".join([f"{value.words('Ω')}.", *good])
    if said or not good:
        return noted(words, said)
    return Verdict(Result.PASS, words)


def _bonding(value: Value, number: Decimal, situation: Situation, facts: Facts) -> Verdict:
    expected = expected_ohms([situation.cpc_mm2], situation.length_m, facts)
    if expected is not None:
        return _as_expected(value, number, expected, _length_words([situation.cpc_mm2], situation), None)
    usual, (above, within, passes) = facts.of(BONDING), _bonding_words(facts)
    if number > usual.value:
        return noted(f"{value.words('Ω')}.", [above])
    if within:
        return noted(f"{value.words('Ω')}.", [within])
    return Verdict(Result.PASS, f"{value.words('Ω')} {passes}")


def _bonding_words(facts: Facts) -> tuple[str, str, str]:
    """What is said of one above the usual, of one within it where that isn't sure, and where it is."""
    usual = facts.of(BONDING)
    note = f" ({usual.confidence.note})" if usual.confidence.note else ""
    above = f"Above {usual.shown}, the usual for main bonding{note}: look at its length, size and clamps."
    within = f"Within {usual.shown}, the usual for main bonding{note}." if note else ""
    return above, within, f"is within {usual.shown}, the usual for main bonding."


def _bonding_aside(facts: Facts) -> dict[str, Any]:
    above, within, passes = _bonding_words(facts)
    return {"usual": given(most=facts.of(BONDING).value, above=above, within=within, passes=passes)}
