"""A loop impedance reading judged against its limit, or against both where there are two.

The impossible is refused (ValueError), the unlikely is asked about (`Doubt`), and the rest gets a
verdict with a sentence.
"""

from decimal import Decimal
from typing import Any

from inspections.standards.devices import Earthing, sensible
from inspections.standards.electrodes import stability
from inspections.standards.facts import SHIPPED, Facts
from inspections.standards.impedance import limits
from inspections.standards.limits import EnterLimit, Limit
from inspections.standards.situation import Situation
from inspections.standards.typed import Value
from inspections.standards.verdicts import (
    Doubt,
    Judged,
    Result,
    Verdict,
    Warn,
    given,
    judged_by,
    plain,
    unsure,
    warned,
)

# A reading this many times the limit is asked about, also where a thousandth of it would still fail:
# milliohms typed as ohms. Our own choice.
FAR_ABOVE = 40
# Less than the last place of a loop tester. Our own choice.
LEAST_LIKELY_OHMS = Decimal("0.01")

Other = Limit | EnterLimit | None


def judge(value: Value, situation: Situation, facts: Facts = SHIPPED, *, as_read: bool = False) -> Judged:
    """The verdict on a loop impedance in ohms.

    `as_read` True: the person was asked and says that the value is what the tester showed.
    `EnterLimit` comes back where there is no limit to judge by. Raises ValueError for a reading
    that no tester shows: zero, negative, or no number; and for settings or an entered limit that cannot be.
    """
    found, ohms = limits(situation, facts), value.number
    limit = found.decides
    if ohms is None or not sensible(ohms):
        raise ValueError("A loop impedance is more than 0 Ω, and no tester shows megohms: check the reading.")
    if isinstance(limit, EnterLimit):
        return limit
    if limit is None:
        raise ValueError("There is nothing to judge this reading by.")
    cannot_tell = value.above and ohms < limit.ohms_exact
    question = _doubt(value, ohms, limit, situation)
    if question and (cannot_tell or not as_read):
        return Doubt(question)
    if ohms > limit.ohms_exact or value.above:
        return _fail(value, ohms, limit, found.other)
    return _pass(ohms, limit, found.other, situation, facts)


def _doubt(value: Value, ohms: Decimal, limit: Limit, situation: Situation) -> str:
    if value.above:
        # ">20" says nothing against a limit of 1666 Ω, however often it is confirmed.
        if ohms < limit.ohms_exact:
            return (
                f"The tester's range ends at {ohms:f} Ω, below the limit of "
                f"{limit.ohms_shown} Ω: measure again in a higher range."
            )
        return ""
    if ohms < LEAST_LIKELY_OHMS or (_needs_an_electrode(limit, situation) and ohms * 1000 <= limit.ohms_exact):
        return f"{ohms:f} Ω is very low here: did you mean {plain(ohms * 1000)} Ω?"
    if ohms >= FAR_ABOVE * limit.ohms_exact:
        return f"{ohms:f} Ω is very high here: did you mean {plain(ohms / 1000)} Ω?"
    return ""


def _needs_an_electrode(limit: Limit, situation: Situation) -> bool:
    """TT by RCD: the loop runs through the ground, so fractions of an ohm are unlikely."""
    return limit.by_rcd and situation.earthing is Earthing.TT


def _pass(ohms: Decimal, limit: Limit, other: Other, situation: Situation, facts: Facts) -> Verdict:
    warnings = tuple(_warnings(Value(ohms), limit, other, situation, facts))
    # Between the limit as shown and the exact one only the exact one makes a true sentence.
    bound = f"{limit.ohms_shown}" if ohms <= limit.ohms_shown else plain(limit.ohms_exact)
    words = f"{ohms:f} Ω is within {bound} Ω. Limit: {limit.basis}."
    result = Result.WARNING if warnings else Result.PASS
    return Verdict(result, " ".join([words, *warnings]), limit, other, warnings)


def _warnings(value: Value, limit: Limit, other: Other, situation: Situation, facts: Facts) -> list[str]:
    return [*warned(value, _warns(limit, other, situation, facts)), *filter(None, [unsure(limit)])]


def _warns(limit: Limit, other: Other, situation: Situation, facts: Facts) -> list[Warn]:
    if not limit.by_rcd:
        return []
    found = [stability(facts)]
    if isinstance(other, Limit) and situation.earthing is not Earthing.TT:
        alone = "It is above the overcurrent device's limit: fault protection rests on the RCD alone."
        found.append(Warn(above=other.ohms_exact, words=alone))
    return found


def aside(situation: Situation, facts: Facts = SHIPPED) -> dict[str, Any]:
    """What a phone needs to judge a loop impedance, also by a limit that is typed there."""
    found = limits(situation, facts)
    limit, other = found.decides, found.other
    facts_of_it: dict[str, Any] = {"rule": "loop", "low": f"{LEAST_LIKELY_OHMS:f}", "far": str(FAR_ABOVE)}
    if isinstance(limit, Limit):
        warns = _warns(limit, other, situation, facts)
        facts_of_it |= given(warn=[warn.aside for warn in warns], ground=_needs_an_electrode(limit, situation))
    if isinstance(other, Limit):
        facts_of_it["other"] = given(most=other.ohms_exact, byRcd=other.by_rcd)
    factor = situation.factor if situation.conductor_cold else Decimal(1)
    return facts_of_it | judged_by(found) | {"factor": str(factor), "rounding": situation.rounding.value}


def _fail(value: Value, ohms: Decimal, limit: Limit, other: Other) -> Verdict:
    above = "More than " if value.above else ""
    words, said = f"{above}{ohms:f} Ω is above {limit.ohms_shown} Ω. Limit: {limit.basis}.", []
    if isinstance(other, Limit) and ohms <= other.ohms_exact and not above and other.by_rcd:
        said.append(
            f"It is within {other.ohms_shown} Ω for the RCD: whether fault protection may rest on "
            "the RCD is for a qualified person to decide."
        )
    return Verdict(Result.FAIL, " ".join([words, *said]), limit, other, tuple(said))
