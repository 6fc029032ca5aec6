"""Every kind of reading from typed text to verdict: the one door for those who store and show readings.

`read` takes what was typed, `limits_for` says what it will be judged by, `judge` gives the verdict. Each
kind's own rule, with its sources, stands in a module of its own.
"""

from typing import Any, Protocol

from inspections.standards import continuity, electrodes, fault_currents, insulation, loops, rcd_times, rings
from inspections.standards.facts import SHIPPED, Facts
from inspections.standards.limits import Limits
from inspections.standards.quantities import Quantity
from inspections.standards.situation import Situation
from inspections.standards.typed import Value, read
from inspections.standards.verdicts import Doubt, Judged, Result, Verdict

__all__ = [
    "Doubt",
    "Judged",
    "Quantity",
    "Result",
    "Situation",
    "Value",
    "Verdict",
    "aside",
    "judge",
    "limits_for",
    "read",
]


class Rule(Protocol):
    """What each kind's module offers."""

    def limits(self, situation: Situation, facts: Facts) -> Limits: ...

    def judge(self, value: Value, situation: Situation, facts: Facts, *, as_read: bool) -> Judged: ...

    def aside(self, situation: Situation, facts: Facts) -> dict[str, Any]: ...


_Q = Quantity
_RULES: dict[Quantity, Rule] = {
    _Q.R1_R2: continuity.Continuity(_Q.R1_R2),
    _Q.R2: continuity.Continuity(_Q.R2),
    _Q.BONDING: continuity.Continuity(_Q.BONDING),
    _Q.RING_R1: rings.Ring(_Q.RING_R1),
    _Q.RING_RN: rings.Ring(_Q.RING_RN),
    _Q.RING_R2: rings.Ring(_Q.RING_R2),
    _Q.RING_CROSS_RN: rings.Ring(_Q.RING_CROSS_RN),
    _Q.RING_CROSS_R2: rings.Ring(_Q.RING_CROSS_R2),
    _Q.INSULATION: insulation,
    _Q.LOOP: loops.Circuit(),
    _Q.LOOP_BOARD: loops.AtBoard(),
    _Q.LOOP_ORIGIN: loops.Origin(),
    _Q.RCD_TIME: rcd_times,
    _Q.ELECTRODE: electrodes,
    _Q.FAULT_CURRENT: fault_currents,
}
_R1_R2_OF_RING = rings.Ring(_Q.R1_R2)


def _rule(quantity: Quantity, situation: Situation) -> Rule:
    """R1+R2 of a ring is the highest cross-connected reading, and judged as one."""
    return _R1_R2_OF_RING if situation.ring and quantity is _Q.R1_R2 else _RULES[quantity]


def limits_for(quantity: Quantity, situation: Situation, *, facts: Facts = SHIPPED) -> Limits:
    """What a reading of the quantity would be judged by, before anything is typed.

    Raises ValueError for an entered limit that cannot be, or without its source.
    """
    if quantity.yes_no:
        return Limits(None)
    return _rule(quantity, situation).limits(situation, facts)


def aside(quantity: Quantity, situation: Situation, *, facts: Facts = SHIPPED) -> dict[str, Any]:
    """All that a phone needs to judge a reading without the server, ready for JSON; `judging.js` lays it beside.

    The limits, factors and sentences are worked out here, by the rules that judge here: a phone has none of its own.
    Numbers are text, so that none passes through a binary fraction. Raises ValueError as `limits_for`.
    """
    about: dict[str, Any] = {"q": quantity.value, "unit": quantity.unit, "label": quantity.label}
    if quantity.yes_no:
        return about | {"rule": "answer"}
    return about | _rule(quantity, situation).aside(situation, facts)


def judge(
    quantity: Quantity, value: Value, situation: Situation, *, facts: Facts = SHIPPED, as_read: bool = False
) -> Judged:
    """The verdict on a reading, a question where it is unlikely, or the request to enter a limit.

    `as_read` True: the person was asked and says that the value is what the instrument showed.
    Raises ValueError with a sentence for what no instrument shows.
    """
    if quantity.yes_no:
        return _answered(quantity, value)
    if value.ok is not None:
        raise ValueError(f"Enter the {quantity.label} as the instrument shows it.")
    return _rule(quantity, situation).judge(value, situation, facts, as_read=as_read)


def _answered(quantity: Quantity, value: Value) -> Verdict:
    """Polarity and function are found right or wrong by the person who looked: there is no limit."""
    if value.ok is None:
        raise ValueError(f"Answer OK or not OK to the {quantity.label}.")
    words = f"{quantity.label[0].upper()}{quantity.label[1:]}: {value.words('')}."
    return Verdict(Result.PASS if value.ok else Result.FAIL, words)
