"""A reading laid beside its limit: the verdict, a question where the value is unlikely, and the words for both.

A verdict supports a competent person and replaces nobody's judgement.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from typing import Any

from inspections.standards.devices import sensible
from inspections.standards.limits import EnterLimit, Limit, Limits, shown
from inspections.standards.quantities import Quantity
from inspections.standards.typed import Value


class Result(StrEnum):
    """`NOTED`: kept as it is, since nothing is known that it could be judged by."""

    PASS = "pass"  # noqa: S105  (a verdict, not a password)
    WARNING = "warning"
    FAIL = "fail"
    NOTED = "noted"


@dataclass(frozen=True, slots=True)
class Verdict:
    """`limit` decided, `other` is the other basis where there is one; `sentence` holds the warnings too."""

    result: Result
    sentence: str
    limit: Limit | None = None
    other: Limit | EnterLimit | None = None
    warnings: tuple[str, ...] = ()

    @property
    def passes(self) -> bool:
        """Whether nothing speaks against it: also true of what is only noted."""
        return self.result is not Result.FAIL

    @property
    def basis(self) -> str:
        """What the limit rests on; empty where there is none."""
        return self.limit.basis if self.limit else ""


@dataclass(frozen=True, slots=True)
class Doubt:
    """A question to the person; judged without it once they say that the value is as read."""

    question: str


Judged = Verdict | Doubt | EnterLimit


@dataclass(frozen=True, slots=True, kw_only=True)
class Warn:
    """A sentence beside a reading that is above or below a bound. `in_range`: not where it ended the tester's range."""

    words: str
    above: Decimal | None = None
    below: Decimal | None = None
    in_range: bool = False

    def of(self, value: Value) -> bool:
        """Whether it is to be said of the reading."""
        number = value.number
        if number is None or (self.in_range and value.above):
            return False
        return (self.above is not None and number > self.above) or (self.below is not None and number < self.below)

    @property
    def aside(self) -> dict[str, Any]:
        """As a phone needs it."""
        return given(words=self.words, above=self.above, below=self.below, inRange=self.in_range)


def warned(value: Value, warns: Iterable[Warn]) -> list[str]:
    """What is to be said of the reading, in order."""
    return [warn.words for warn in warns if warn.of(value)]


def number_of(quantity: Quantity, value: Value, *, zero: bool = False) -> Decimal:
    """The number of a reading. `zero`: an instrument may show 0 here.

    Raises ValueError with a sentence for a reading that no instrument shows, and for one without a number.
    """
    if value.number is None:
        raise ValueError(f"Enter the {quantity.label} as a number of {quantity.unit}.")
    if not (sensible(value.number) or (zero and value.number == 0)):
        raise ValueError(f"No instrument shows {_short(value.number)} {quantity.unit}: check the {quantity.label}.")
    return value.number


def unlikely(number: Decimal, unit: str, *, low: Decimal, high: Decimal) -> str:
    """A question where a value a thousand times off is more likely than what was typed; else empty."""
    if 0 < number < low:
        return f"{number:f} {unit} is very low here: did you mean {plain(number * 1000)} {unit}?"
    if number > high:
        return f"{number:f} {unit} is very high here: did you mean {plain(number / 1000)} {unit}?"
    return ""


def by_limits(value: Value, unit: str, limits: Limits, warnings: Iterable[str] = ()) -> Judged:
    """The verdict on a number by the limit that decides.

    A ">" that ends before the limit can't tell, so it is asked to be measured again. A limit that nobody
    is sure of passes with a warning only.
    """
    limit, number = limits.decides, value.number
    if isinstance(limit, EnterLimit):
        return limit
    if limit is None or number is None:
        raise ValueError("There is nothing to judge this reading by.")
    if value.above and _cannot_tell(number, limit):
        return Doubt(f"The tester's range ends at {number:f} {unit}, so this cannot tell: measure in a higher range.")
    passes = limit.holds(number) and not (value.above and limit.most is not None)
    words = f"{value.words(unit)} {_relation(number, limit, passes)}. Limit: {limit.basis}."
    if not passes:
        return Verdict(Result.FAIL, words, limit, limits.other)
    said = tuple(warning for warning in (*warnings, unsure(limit)) if warning)
    return Verdict(Result.WARNING if said else Result.PASS, " ".join([words, *said]), limit, limits.other, said)


def unsure(limit: Limit) -> str:
    """A sentence where the limit is not sure; else empty."""
    return f"The limit is {limit.confidence.note}." if limit.confidence.note else ""


def given(**facts: Any) -> dict[str, Any]:
    """What is known of these, ready for JSON: numbers in full as text, the unknown left out."""
    known = {name: fact for name, fact in facts.items() if isinstance(fact, Decimal) or fact}
    return {name: f"{fact:f}" if isinstance(fact, Decimal) else fact for name, fact in known.items()}


def judged_by(limits: Limits) -> dict[str, Any]:
    """The limit that decides, or why one must be entered, as a phone needs it to lay a reading beside it."""
    if isinstance(limits.decides, EnterLimit):
        return {"enter": limits.decides.reason}
    return given(limit=bounds(limits.decides)) if limits.decides else {}


def bounds(limit: Limit) -> dict[str, Any]:
    """A limit as a phone needs it."""
    return given(
        least=limit.least, most=limit.most, basis=limit.basis, unsure=unsure(limit), said=limit.said, byRcd=limit.by_rcd
    )


def noted(words: str, warnings: Iterable[str] = ()) -> Verdict:
    """The verdict on a reading that no limit is known for: kept, with what there is to say of it."""
    said = tuple(warnings)
    return Verdict(Result.WARNING if said else Result.NOTED, " ".join([words, *said]), warnings=said)


def plain(number: Decimal) -> str:
    """A computed value without an exponent and without trailing noughts."""
    return f"{number.normalize():f}"


def _cannot_tell(number: Decimal, limit: Limit) -> bool:
    if limit.most is not None:
        return number < limit.most
    return limit.least is not None and number < limit.least


def _relation(number: Decimal, limit: Limit, passes: bool) -> str:
    if passes and limit.least is not None and limit.most is not None:
        return f"is within {limit.shown}"
    if limit.least is not None and number < limit.least:
        return f"is below {plain_bound(limit.least, limit.unit)}"
    if limit.most is None:
        return f"is not below {plain_bound(limit.least or Decimal(0), limit.unit)}"
    # Between the limit as shown and the exact one only the exact one makes a true sentence.
    down = shown(limit.most) if limit.unit == "Ω" else limit.most
    bound = limit.most if passes and number > down else down
    return f"is {'within' if passes else 'above'} {plain_bound(bound, limit.unit)}"


def plain_bound(bound: Decimal, unit: str) -> str:
    """A bound with its unit, its places kept: "1.0 MΩ", "40 ms"."""
    return f"{bound:f} {unit}"


def _short(number: Decimal) -> str:
    return f"{number:f}" if number.is_finite() and abs(number.adjusted()) < 10 else "that"
