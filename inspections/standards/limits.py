"""What a reading is judged by: a bound with its basis, or the reason why a person must enter one."""

from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_DOWN, ROUND_HALF_UP, Decimal
from enum import StrEnum

from inspections.standards.confidence import Confidence
from inspections.standards.devices import sensible

NO_SOURCE = "Say where the limit is from: the standard and table, or the maker's data."

_CENT = Decimal("0.01")


class Rounding(StrEnum):
    """How 0.8 × the tabulated value becomes the limit that decides: the firm's setting.

    Readers of the rule round differently, so borderline readings come out differently: 32 A type B
    has 1.0925 Ω exactly, 1.096 Ω from the table's 1.37, 1.09 Ω rounded down. Rounded to the nearest,
    type B of 6 A has 5.83 Ω where it is 5.82 Ω down.
    """

    EXACT = "exact"
    TABULATED = "tabulated"
    DOWN = "down"
    NEAREST = "nearest"

    @property
    def label(self) -> str:
        return _LABELS[self]


_LABELS = {
    Rounding.EXACT: "0.8 × the exact value, shown rounded down",
    Rounding.TABULATED: "0.8 × the value as printed, to 2 places",
    Rounding.DOWN: "0.8 × the exact value, rounded down to 2 places",
    Rounding.NEAREST: "0.8 × the exact value, rounded to the nearest of 2 places",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """Readings from `least` to `most` pass (in `unit`, exact), for the reason that `basis` names.

    `tabulated` is the exact value of a loop impedance before the factor for a cold conductor, as
    tables print it (rounded half up to 2 places). `said`: the bounds in words, where figures would mislead.
    """

    basis: str
    confidence: Confidence
    unit: str = "Ω"
    least: Decimal | None = None
    most: Decimal | None = None
    tabulated: Decimal | None = None
    by_rcd: bool = False
    said: str = ""

    @property
    def ohms_exact(self) -> Decimal:
        """The highest impedance or resistance that passes; ValueError for a limit that is none."""
        if self.unit != "Ω" or self.most is None:
            raise ValueError("This limit is no highest resistance.")
        return self.most

    @property
    def ohms_shown(self) -> Decimal:
        return shown(self.ohms_exact)

    @property
    def tabulated_ohms(self) -> Decimal:
        return self.ohms_exact if self.tabulated is None else self.tabulated

    @property
    def shown(self) -> str:
        """The bounds in words, each rounded to the safe side: "at most 1.09 Ω"."""
        if self.said:
            return self.said
        least = None if self.least is None else _up(self.least, self.unit)
        most = None if self.most is None else shown(self.most) if self.unit == "Ω" else self.most
        if least is not None and most is not None:
            return f"{least:f} to {most:f} {self.unit}"
        if least is not None:
            return f"at least {least:f} {self.unit}"
        return f"at most {most:f} {self.unit}"

    def holds(self, value: Decimal) -> bool:
        """Whether a value lies within the bounds, the bounds themselves included."""
        return (self.least is None or value >= self.least) and (self.most is None or value <= self.most)


@dataclass(frozen=True, slots=True)
class EnterLimit:
    """No limit is shipped for this: a person enters one, with its source."""

    reason: str


@dataclass(frozen=True, slots=True)
class Limits:
    """`decides` is what a reading is judged by, None where nothing is; `other` the other basis."""

    decides: Limit | EnterLimit | None
    other: Limit | EnterLimit | None = None


@dataclass(frozen=True, slots=True)
class Entered:
    """A limit that a person entered from the standard or the maker, in the quantity's unit.

    Some guides print loop impedances already corrected for a cold conductor (`already_corrected`).
    """

    amount: Decimal
    source: str
    already_corrected: bool = False


def entered_most(entered: Entered, unit: str) -> Limit:
    """The highest value, in `unit`, that a person entered with its source.

    Raises ValueError for a value that isn't more than 0, and for no source.
    """
    if not sensible(entered.amount):
        raise ValueError("The limit must be a number above 0.")
    if not entered.source.strip():
        raise ValueError(NO_SOURCE)
    basis = f"{entered.amount:f} {unit}: entered from {entered.source.strip()}"
    return Limit(basis=basis, confidence=Confidence.GIVEN, unit=unit, most=entered.amount)


def shown(ohms: Decimal) -> Decimal:
    """Rounded down: 2 places, whole ohms from 100 Ω (more places than any tester shows)."""
    return ohms.quantize(Decimal(1) if ohms >= 100 else _CENT, ROUND_DOWN)


def cold(full_ohms: Decimal, factor: Decimal, rounding: Rounding) -> Decimal:
    """The limit for a cold conductor, in ohms, from the exact full value by the firm's rounding."""
    if factor == 1:
        return full_ohms
    if rounding is Rounding.TABULATED:
        return factor * full_ohms.quantize(_CENT, ROUND_HALF_UP)
    if rounding is Rounding.DOWN:
        return (factor * full_ohms).quantize(_CENT, ROUND_DOWN)
    if rounding is Rounding.NEAREST:
        return (factor * full_ohms).quantize(_CENT, ROUND_HALF_UP)
    return factor * full_ohms


def _up(least: Decimal, unit: str) -> Decimal:
    return least.quantize(_CENT, ROUND_CEILING) if unit == "Ω" else least
