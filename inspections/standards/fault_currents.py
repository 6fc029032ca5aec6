"""Prospective fault current in kiloamperes against what the device can break.

The rated breaking capacity is on the device; no table is shipped. A current below what the loop impedance gives
(U0 ÷ Z, Ohm's law) is warned of, since the highest at the point is what counts.
"""

from decimal import ROUND_DOWN, Decimal
from typing import Any

from inspections.standards.confidence import Confidence
from inspections.standards.devices import sensible
from inspections.standards.facts import SHIPPED, Facts
from inspections.standards.limits import Limit, Limits, entered_most
from inspections.standards.quantities import Quantity
from inspections.standards.situation import Situation
from inspections.standards.typed import Value
from inspections.standards.verdicts import (
    Doubt,
    Judged,
    Warn,
    by_limits,
    judged_by,
    noted,
    number_of,
    unlikely,
    warned,
)

# 20 A would not melt a fuse, 100 kA stands in no building that this firm enters. Our own choice.
LOW_KA, HIGH_KA = Decimal("0.02"), Decimal(100)
# A reading this much below U0 ÷ Z is warned of; testers differ by less. Our own choice.
AS_COMPUTED = Decimal("0.8")

_NO_CAPACITY = "The device's rated breaking capacity isn't recorded."
_LOOPS = (Quantity.LOOP_BOARD, Quantity.LOOP_ORIGIN)


def limits(situation: Situation, facts: Facts = SHIPPED) -> Limits:
    """The device's rated breaking capacity, in kA, where it is recorded; else nothing decides.

    Raises ValueError for a capacity or an entered limit that cannot be.
    """
    if situation.entered:
        return Limits(entered_most(situation.entered, "kA"))
    most = situation.breaking_capacity_ka
    if most is None:
        return Limits(None)
    if not sensible(most):
        raise ValueError("The rated breaking capacity must be more than 0 kA.")
    whose = "the device" if situation.devices_unrecorded is None else "the weakest device of the board on record"
    basis = f"rated breaking capacity of {whose}, {most:f} kA"
    return Limits(Limit(basis=basis, confidence=Confidence.GIVEN, unit="kA", most=most))


def judge(value: Value, situation: Situation, facts: Facts = SHIPPED, *, as_read: bool = False) -> Judged:
    """The verdict on kA. Raises ValueError for what no tester shows."""
    number = number_of(Quantity.FAULT_CURRENT, value)
    question = "" if value.above else unlikely(number, "kA", low=LOW_KA, high=HIGH_KA)
    if question and not as_read:
        return Doubt(question)
    warnings, found = [] if value.above else _below_loop(number, situation), limits(situation, facts)
    if found.decides is None:
        return noted(f"{value.words('kA')}. {_NO_CAPACITY}", warnings)
    return by_limits(value, "kA", found, [*warnings, *warned(value, _unrecorded(situation))])


def aside(situation: Situation, facts: Facts = SHIPPED) -> dict[str, Any]:
    """What a phone needs to judge it: `loop` is the share of U0 ÷ Z below which it warns."""
    found: dict[str, Any] = {"rule": "bounds", "low": f"{LOW_KA:f}", "high": f"{HIGH_KA:f}"}
    found["noted"] = f"{{value}}. {_NO_CAPACITY}"
    loop = {"volts": f"{situation.u0_volts:f}", "share": f"{AS_COMPUTED:f}", "of": [one.value for one in _LOOPS]}
    found |= {"warn": [warn.aside for warn in _unrecorded(situation)], "entered": {"warn": []}}
    return found | {"loop": loop} | judged_by(limits(situation, facts))


def _unrecorded(situation: Situation) -> list[Warn]:
    """That a board has devices which may break less than the weakest on record; nothing where none is on record."""
    missing = situation.devices_unrecorded
    if not missing or situation.entered or situation.breaking_capacity_ka is None:
        return []
    count = "1 device" if missing == 1 else f"{missing} devices"
    return [
        Warn(above=Decimal(0), words=f"Of {count} of the board the breaking capacity isn't recorded: look at each.")
    ]


def _below_loop(number: Decimal, situation: Situation) -> list[str]:
    for quantity in _LOOPS:
        ohms = situation.others.get(quantity)
        if ohms and sensible(ohms):
            computed = situation.u0_volts / ohms / 1000
            if number < AS_COMPUTED * computed:
                shown = computed.quantize(Decimal("0.01"), ROUND_DOWN)
                return [f"{ohms:f} Ω gives {shown} kA, more than was read: the highest at the point counts."]
    return []
