"""A loop impedance reading judged against its limit.

The impossible is refused (ValueError), the unlikely is asked about (`Doubt`), and the rest gets a
verdict with a sentence. A verdict supports a competent person and replaces nobody's judgement.
"""

import re
from dataclasses import dataclass
from decimal import Decimal

from inspections.standards.devices import Earthing, sensible
from inspections.standards.impedance import (
    UNSTABLE_ABOVE_OHMS,
    EnterLimit,
    Limit,
    LoopLimits,
)
from inspections.standards.verdicts import Doubt, Result, Verdict
from inspections.standards.verdicts import plain as _plain

__all__ = ["Above", "Doubt", "Result", "Verdict", "judge_loop", "read_ohms"]

# A reading this many times the limit is asked about where a thousandth of it would pass:
# milliohms typed as ohms. Our own choice.
FAR_ABOVE = 40
# Less than the last place of a loop tester. Our own choice.
LEAST_LIKELY_OHMS = Decimal("0.01")


@dataclass(frozen=True, slots=True)
class Above:
    """What a tester shows as ">1999 Ω": more than its range."""

    ohms: Decimal


Reading = Decimal | Above

# "M" would be a million ohms: no loop, and too near to "m" to guess.
_NUMBER = re.compile(r"(>?)\s*([0-9]+(?:\.[0-9]+)?|\.[0-9]+)\s*([mk])?\s*(?:Ω|\u2126|[Oo]hms?)?")
_FACTORS = {"": Decimal(1), "m": Decimal("0.001"), "k": Decimal(1000)}


def read_ohms(text: str) -> Reading:
    """What was typed: "0.35", "0.35 Ω", "350 mΩ", ">1999".

    Raises ValueError with a sentence for anything else.
    """
    found = _NUMBER.fullmatch(text.strip())
    if not found or len(text) > 20:
        raise ValueError('Enter ohms as the tester shows them, such as 0.35 or ">1999".')
    above, number, unit = found.groups()
    ohms = Decimal(number) * _FACTORS[unit or ""]
    return Above(ohms) if above else ohms


def judge_loop(reading: Reading, limits: LoopLimits, *, as_read: bool = False) -> Verdict | Doubt | EnterLimit:
    """The verdict on a reading in ohms.

    `as_read` True: the person was asked and says that the value is what the tester showed.
    `EnterLimit` comes back where there is no limit to judge by. Raises ValueError for a reading
    that no tester shows: zero, negative, or no number.
    """
    ohms = reading.ohms if isinstance(reading, Above) else reading
    _refuse_impossible(ohms)
    limit = limits.decides
    if isinstance(limit, EnterLimit):
        return limit
    question = _doubt(reading, limit, limits)
    if question and (not as_read or _cannot_tell(reading, limit)):
        return Doubt(question)
    if ohms > limit.ohms_exact or isinstance(reading, Above):
        return Verdict(Result.FAIL, _fail_words(reading, limit, limits.other), limit)
    return _pass(ohms, limit, limits)


def _refuse_impossible(ohms: Decimal) -> None:
    if not sensible(ohms):
        raise ValueError("A loop impedance is more than 0 Ω, and no tester shows megohms: check the reading.")


def _cannot_tell(reading: Reading, limit: Limit) -> bool:
    """ ">20" says nothing against a limit of 1666 Ω, however often it is confirmed."""
    return isinstance(reading, Above) and reading.ohms < limit.ohms_exact


def _doubt(reading: Reading, limit: Limit, limits: LoopLimits) -> str:
    if isinstance(reading, Above):
        if _cannot_tell(reading, limit):
            return (
                f"The tester's range ends at {reading.ohms:f} Ω, below the limit of "
                f"{limit.ohms_shown} Ω: measure again in a higher range."
            )
        return ""
    if reading < LEAST_LIKELY_OHMS or (_needs_an_electrode(limits) and reading * 1000 <= limit.ohms_exact):
        return f"{reading:f} Ω is very low here: did you mean {_plain(reading * 1000)} Ω?"
    if reading >= FAR_ABOVE * limit.ohms_exact and reading / 1000 <= limit.ohms_exact:
        return f"{reading:f} Ω is very high here: did you mean {_plain(reading / 1000)} Ω?"
    return ""


def _needs_an_electrode(limits: LoopLimits) -> bool:
    """TT by RCD: the loop runs through the ground, so fractions of an ohm are unlikely."""
    decides = limits.decides
    return isinstance(decides, Limit) and decides.by_rcd and limits.earthing is Earthing.TT


def _pass(ohms: Decimal, limit: Limit, limits: LoopLimits) -> Verdict:
    warnings = _warnings(ohms, limit, limits)
    # Between the limit as shown and the exact one only the exact one makes a true sentence.
    bound = f"{limit.ohms_shown}" if ohms <= limit.ohms_shown else _plain(limit.ohms_exact)
    words = f"{ohms:f} Ω is within {bound} Ω. Limit: {limit.basis}."
    result = Result.WARNING if warnings else Result.PASS
    return Verdict(result, " ".join([words, *warnings]), limit)


def _warnings(ohms: Decimal, limit: Limit, limits: LoopLimits) -> list[str]:
    found = []
    if limit.by_rcd and ohms > UNSTABLE_ABOVE_OHMS:
        found.append(f"Above {UNSTABLE_ABOVE_OHMS} Ω the earth electrode may not be stable.")
    over = isinstance(limits.other, Limit) and ohms > limits.other.ohms_exact
    if limit.by_rcd and over and limits.earthing is not Earthing.TT:
        found.append("It is above the overcurrent device's limit: fault protection rests on the RCD alone.")
    if limit.confidence.note:
        note = limit.confidence.note
        found.append(f"The limit is {note}.")
    return found


def _fail_words(reading: Reading, limit: Limit, other: Limit | EnterLimit | None) -> str:
    ohms, above = (reading.ohms, "More than ") if isinstance(reading, Above) else (reading, "")
    words = f"{above}{ohms:f} Ω is above {limit.ohms_shown} Ω. Limit: {limit.basis}."
    if isinstance(other, Limit) and ohms <= other.ohms_exact and not above and other.by_rcd:
        words += (
            f" It is within {other.ohms_shown} Ω for the RCD: whether fault protection may rest on "
            "the RCD is for a qualified person to decide."
        )
    return words
