"""Earth electrode resistance RA: no more than 50 V ÷ IΔn, and above 200 Ω perhaps not stable.

Source: Table 41.5 of BS 7671 with its note 2 (NICEIC in a trade Q&A, 20 Dec 2012: 167 Ω; threads of the IET's forum:
1667 Ω; read in secondary pages). BS 7430 suggests 100 Ω. The 21 Ω of older texts is the distributor's electrode.
"""

from decimal import Decimal
from typing import Any

from inspections.standards.confidence import Confidence, weaker
from inspections.standards.devices import VOLTAGE_OPERATED
from inspections.standards.facts import SHIPPED, Fact, Facts
from inspections.standards.limits import EnterLimit, Limit, Limits, entered_most, shown
from inspections.standards.quantities import Quantity
from inspections.standards.situation import Situation
from inspections.standards.trips import TT_TOUCH_VOLTS
from inspections.standards.typed import Value
from inspections.standards.verdicts import Doubt, Judged, Warn, by_limits, judged_by, number_of, unlikely, warned

UNSTABLE_ABOVE = Fact(
    key="electrode.unstable-above",
    title="Above this an earth electrode may not be stable",
    value=Decimal(200),
    unit="Ω",
    source="Note 2 to Table 41.5 of BS 7671, as NICEIC in a trade Q&A of 20 Dec 2012 has it",
    confidence=Confidence.SECONDARY,
    least=Decimal(1),
    most=Decimal(2000),
)
ROWS = (UNSTABLE_ABOVE,)

# An electrode of less is a building's steel at best, and none has more than a rod in dry rock. Our own choice.
LOW_OHMS, HIGH_OHMS = Decimal("0.1"), Decimal(20_000)

_NO_RCD = EnterLimit(
    "No RCD is recorded that the electrode would serve: record it, or enter the limit from the design, with its source."
)


def limits(situation: Situation, facts: Facts = SHIPPED) -> Limits:
    """The highest electrode resistance that passes, in ohms.

    Raises ValueError for an entered limit that cannot be, or without its source.
    """
    if situation.entered:
        return Limits(entered_most(situation.entered, "Ω"))
    rcd = situation.rcd
    if rcd is None or rcd.rated_residual_ma is None or rcd.kind == VOLTAGE_OPERATED:
        return Limits(_NO_RCD)
    touch = facts.of(TT_TOUCH_VOLTS)
    ohms = 1000 * touch.value / rcd.rated_residual_ma
    basis = (
        f"{touch.value.normalize():f} V ÷ {rcd.rated_residual_ma.normalize():f} mA = {shown(ohms)} Ω ({touch.source})"
    )
    return Limits(Limit(basis=basis, confidence=weaker(Confidence.COMPUTED, touch.confidence), most=ohms, by_rcd=True))


def judge(value: Value, situation: Situation, facts: Facts = SHIPPED, *, as_read: bool = False) -> Judged:
    """The verdict on an electrode resistance in ohms. Raises ValueError for what no tester shows."""
    number = number_of(Quantity.ELECTRODE, value)
    question = "" if value.above else unlikely(number, "Ω", low=LOW_OHMS, high=HIGH_OHMS)
    if question and not as_read:
        return Doubt(question)
    return by_limits(value, "Ω", limits(situation, facts), warned(value, [stability(facts)]))


def aside(situation: Situation, facts: Facts = SHIPPED) -> dict[str, Any]:
    """What a phone needs to judge it."""
    found = {"rule": "bounds", "low": f"{LOW_OHMS:f}", "high": f"{HIGH_OHMS:f}", "warn": [stability(facts).aside]}
    return found | judged_by(limits(situation, facts))


def stability(facts: Facts) -> Warn:
    """A warning where a passing electrode may not stay as it is."""
    above = facts.of(UNSTABLE_ABOVE)
    return Warn(above=above.value, words=f"Above {above.shown} the earth electrode may not be stable.")
