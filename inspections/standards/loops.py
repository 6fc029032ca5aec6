"""Loop impedance at a circuit (Zs), at a board (Zdb) and at the origin (Ze), judged by what decides there.

A board's is that of the circuit which feeds it, so it comes with that circuit's device. At the origin nothing of
the customer's sets a limit: what distributors usually declare is from memory, and only warns.
"""

from dataclasses import replace
from decimal import Decimal
from typing import Any

from inspections.standards import electrodes, impedance, judging
from inspections.standards.confidence import Confidence
from inspections.standards.devices import Earthing
from inspections.standards.facts import SHIPPED, Fact, Facts
from inspections.standards.limits import Limits, entered_most
from inspections.standards.quantities import Quantity
from inspections.standards.situation import Situation
from inspections.standards.typed import Value
from inspections.standards.verdicts import (
    Doubt,
    Judged,
    Result,
    Verdict,
    Warn,
    by_limits,
    judged_by,
    noted,
    number_of,
    unlikely,
    warned,
)


def _declared(earthing: Earthing, ohms: str) -> Fact[Decimal]:
    return Fact(
        key=f"origin.usual-most.{earthing.value.lower()}",
        title=f"Highest Ze that distributors usually declare, {earthing}",
        value=Decimal(ohms),
        unit="Ω",
        source="General knowledge of the trade: ask the distributor",
        confidence=Confidence.MEMORY,
        least=Decimal("0.05"),
        most=Decimal(5),
    )


USUAL_MOST = {Earthing.TN_S: _declared(Earthing.TN_S, "0.80"), Earthing.TN_C_S: _declared(Earthing.TN_C_S, "0.35")}
ROWS = tuple(USUAL_MOST.values())

LOW_OHMS, HIGH_OHMS = Decimal("0.005"), Decimal(50)


_ABOVE_ITS_RCDS = (
    "The RCDs of the board's circuits protect nothing on their supply side: a qualified person looks at what disconnects "
    "a fault at the board itself."
)


class Circuit:
    """Zs."""

    limits = staticmethod(impedance.limits)
    judge = staticmethod(judging.judge)
    aside = staticmethod(judging.aside)


class AtBoard:
    """Zdb. The RCD of the circuit that feeds the board counts as at any circuit; those of its own never stand in for it."""

    @staticmethod
    def limits(situation: Situation, facts: Facts = SHIPPED) -> Limits:
        """By the device that feeds the board; in a TT system by the feeder's RCD, else by those behind it, which `judge` says."""
        return impedance.limits(_as_fed(situation), facts)

    @staticmethod
    def judge(value: Value, situation: Situation, facts: Facts = SHIPPED, *, as_read: bool = False) -> Judged:
        """The verdict on ohms. Raises ValueError for what no tester shows."""
        judged = judging.judge(value, _as_fed(situation), facts, as_read=as_read)
        if situation.feeder_rcd or not isinstance(judged, Verdict) or not judged.passes:
            return judged
        if judged.limit is None or not judged.limit.by_rcd:
            return judged
        sentence, said = f"{judged.sentence} {_ABOVE_ITS_RCDS}", (*judged.warnings, _ABOVE_ITS_RCDS)
        return replace(judged, result=Result.WARNING, sentence=sentence, warnings=said)

    @staticmethod
    def aside(situation: Situation, facts: Facts = SHIPPED) -> dict[str, Any]:
        """What a phone needs to judge it; `behind` is said of what passes by the RCDs of the board's own circuits."""
        found = judging.aside(_as_fed(situation), facts)
        return found if situation.feeder_rcd else found | {"behind": _ABOVE_ITS_RCDS}


def _as_fed(situation: Situation) -> Situation:
    """With the feeder's RCD. Without one those of the board's circuits are looked at in a TT system only."""
    if situation.feeder_rcd or situation.earthing.is_tn:
        return replace(situation, rcd=situation.feeder_rcd)
    return situation


class Origin:
    """Ze. In a TT system it is the electrode's resistance in the main, and judged like that."""

    @staticmethod
    def limits(situation: Situation, facts: Facts = SHIPPED) -> Limits:
        """What a person entered, or in a TT system the electrode's limit; else nothing decides."""
        if situation.entered:
            return Limits(entered_most(situation.entered, "Ω"))
        return electrodes.limits(situation, facts) if situation.earthing is Earthing.TT else Limits(None)

    @staticmethod
    def judge(value: Value, situation: Situation, facts: Facts = SHIPPED, *, as_read: bool = False) -> Judged:
        """The verdict on ohms. Raises ValueError for what no tester shows."""
        if situation.earthing is Earthing.TT and not situation.entered:
            return electrodes.judge(value, situation, facts, as_read=as_read)
        number = number_of(Quantity.LOOP_ORIGIN, value)
        question = "" if value.above else unlikely(number, "Ω", low=LOW_OHMS, high=HIGH_OHMS)
        if question and not as_read:
            return Doubt(question)
        if situation.entered:
            return by_limits(value, "Ω", Origin.limits(situation, facts))
        return noted(f"Ze {value.words('Ω')}.", warned(value, _usual(situation, facts)))

    @staticmethod
    def aside(situation: Situation, facts: Facts = SHIPPED) -> dict[str, Any]:
        """What a phone needs to judge it; `entered` is what changes with a limit that is typed there."""
        own = {"shows": Quantity.LOOP_ORIGIN.label, "low": f"{LOW_OHMS:f}", "high": f"{HIGH_OHMS:f}", "warn": []}
        if situation.earthing is Earthing.TT and not situation.entered:
            return electrodes.aside(situation, facts) | {"shows": Quantity.ELECTRODE.label, "entered": own}
        found = own | {"rule": "bounds", "entered": own} | judged_by(Origin.limits(situation, facts))
        if situation.entered:
            return found
        return found | {"noted": "Ze {value}.", "warn": [warn.aside for warn in _usual(situation, facts)]}


def _usual(situation: Situation, facts: Facts) -> list[Warn]:
    row = USUAL_MOST.get(situation.earthing)
    if row is None:
        return []
    usual = facts.of(row)
    note = f" ({usual.confidence.note})" if usual.confidence.note else ""
    words = f"Above {usual.shown}, the most that distributors usually declare for {situation.earthing}{note}"
    return [Warn(above=usual.value, words=f"{words}: ask the distributor.")]
