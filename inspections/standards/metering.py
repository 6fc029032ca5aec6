"""Two meters over the same interval: whether they agree, or which common fault their ratio points to.

Energies in watt hours. Everything here but the reversed clamp is common practice without a published
source; a ratio never proves a fault, since several faults give the same one. The sentences say so.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta
from decimal import Decimal
from enum import StrEnum

from inspections.standards.confidence import Confidence

# Class and coupling of a clamp, the meter's own class and a little time between two looks: together a
# few per cent (common practice). The firm can set its own.
TOLERANCE_PERCENT = Decimal(5)
WH_IN = {"Wh": Decimal(1), "kWh": Decimal(1000), "MWh": Decimal(1_000_000)}
MOST_WH = Decimal(10) ** 12
_UNEVEN = (
    "Where phases carry different loads, one missing phase gives any ratio below 1: read each phase for itself before "
    "you decide."
)
_ONE_BY_ONE = "Change one thing at a time and read both again over a new interval."


class Found(StrEnum):
    AGREE = "agree"
    POINTS = "points"
    UNEXPLAINED = "unexplained"
    TOO_LITTLE = "too-little"


@dataclass(frozen=True, slots=True)
class Energy:
    """What one meter counted, in Wh, and by how much the last place that it shows may hide, in Wh."""

    wh: Decimal
    hidden_wh: Decimal


@dataclass(frozen=True, slots=True)
class Fault:
    """A common fault and the ratio (the meter in doubt over the one relied on) that it gives."""

    key: str
    ratio: Decimal
    words: str
    three_phase: bool | None = None
    confidence: Confidence = Confidence.PRACTICE


@dataclass(frozen=True, slots=True)
class Compared:
    """`ratio` None where the meter relied on counted nothing. `points_to`: the faults, likeliest first."""

    found: Found
    ratio: Decimal | None
    sentence: str
    points_to: tuple[Fault, ...] = ()
    confidence: Confidence = Confidence.PRACTICE


_THIRD = Decimal(1) / 3

# A ratio beyond these is asked about as a slip of a thousand before anything else, whatever is wrong besides: no
# other fault multiplies, and a clamp that counts nothing seldom counts a thousandth. Our own choice.
FAR_BELOW, FAR_ABOVE = Decimal("0.005"), Decimal(200)

# Likeliest first where several give the same ratio. Three clamps of an even load add up to 3: one missing leaves 2,
# two missing leave 1, one reversed leaves 1 + 1 - 1 = 1. A clamp on another phase than its voltage sees the cosine of
# 120°, which is -1/2, at a power factor of 1.
FAULTS = (
    Fault("twice", Decimal(2), "something is counted twice: two clamps round one conductor, or a total that is added to its own part"),
    Fault("half", Decimal("0.5"), "half is missing, or the other meter counts something twice"),
    Fault("one-missing", 2 * _THIRD, "one of three phases is missing: a clamp off, open or on nothing, or one voltage gone", True),
    Fault("two-missing", _THIRD, "two of three phases are missing", True),
    Fault("one-reversed", _THIRD, "one of three clamps is reversed: its phase is taken off instead of added", True),
    Fault("two-reversed", -_THIRD, "two of three clamps are reversed", True),
    # A maker's manual on which way a clamp faces: read in the source.
    Fault("reversed", Decimal(-1), "the clamp is reversed, or read from its other side: import counts as export", None, Confidence.READ),
    Fault("wrong-phase", Decimal("-0.5"), "the clamp is on another phase than its voltage: move it, do not only change the sign"),
    Fault("swapped", Decimal(0), "two of three clamps have changed places: their phases cancel the third", True),
    Fault("nothing", Decimal(0), "nothing is counted: the clamp is open, unplugged or round line and neutral together"),
    Fault("root-3-high", Decimal("1.732"), "the voltage between lines is taken for the voltage to neutral (√3)", True),
    Fault("root-3-low", Decimal("0.5774"), "the voltage to neutral is taken for the voltage between lines (1 ÷ √3)", True),
    *(
        Fault(f"factor-{factor}", Decimal(factor), f"a factor is set {factor} times too high: the clamp's ratio, pulses for each kWh, or the unit")
        for factor in (10, 100)
    ),
    *(
        Fault(f"part-{factor}", 1 / Decimal(factor), f"a factor is set {factor} times too low: the clamp's ratio, pulses for each kWh, or the unit")
        for factor in (10, 100)
    ),
)  # fmt: skip


def in_wh(amount: Decimal, unit: str) -> Decimal:
    """`amount` of `unit` ("Wh", "kWh", "MWh") in Wh. Raises ValueError for a unit that isn't one of these."""
    if unit not in WH_IN:
        raise ValueError("Choose Wh, kWh or MWh.")
    return amount * WH_IN[unit]


def from_registers(start: Decimal, end: Decimal, unit: str) -> Energy:
    """The energy between two states of a register; each of them hides up to one of its last place.

    Raises ValueError where the end lies below the start: the register began again, or counts backwards.
    """
    if end < start:
        raise ValueError(
            "The end is below the start. Where the register began again or counts backwards, enter the energy itself, "
            "with its sign."
        )
    place = max(_last_place(start), _last_place(end))
    return Energy(_possible(in_wh(end - start, unit)), in_wh(place, unit))


def from_figure(energy: Decimal, unit: str) -> Energy:
    """The energy as the instrument itself shows it for the interval: negative where it counts as export."""
    return Energy(_possible(in_wh(energy, unit)), in_wh(_last_place(energy), unit) / 2)


def _possible(wh: Decimal) -> Decimal:
    if not wh.is_finite() or abs(wh) > MOST_WH:
        raise ValueError("No installation counts as much as that: check the figure and its unit.")
    return wh


def _last_place(typed: Decimal) -> Decimal:
    """One of the last place as it was typed: 0.1 of 12.3, 1 of 120."""
    exponent = typed.as_tuple().exponent
    return Decimal(1).scaleb(min(0, exponent)) if isinstance(exponent, int) else Decimal(1)


def compare(
    relied_on: Energy,
    in_doubt: Energy,
    *,
    three_phase: bool,
    tolerance_percent: Decimal = TOLERANCE_PERCENT,
    source_wh: Decimal | None = None,
) -> Compared:
    """What the two figures say of each other, within `tolerance_percent` of the figure relied on.

    `source_wh`: what a second source (PV, a battery) gave in the same interval, where somebody read it. Raises
    ValueError for a tolerance outside of 0.1 to 25 %.
    """
    if not (tolerance_percent.is_finite() and Decimal("0.1") <= tolerance_percent <= 25):
        raise ValueError("The tolerance lies between 0.1 % and 25 %.")
    share = tolerance_percent / 100
    hidden = relied_on.hidden_wh + in_doubt.hidden_wh
    largest = max(abs(relied_on.wh), abs(in_doubt.wh))
    if hidden > share * largest:
        return Compared(Found.TOO_LITTLE, _ratio(relied_on, in_doubt), _too_little(hidden, largest))
    if relied_on.wh == 0:
        words = "The meter relied on counted nothing, the other did: check that both are meant to see the same load."
        return Compared(Found.UNEXPLAINED, None, f"{words} {_ONE_BY_ONE}")
    ratio = in_doubt.wh / relied_on.wh
    slack = share + hidden / abs(relied_on.wh)
    if abs(ratio - 1) <= slack:
        return Compared(Found.AGREE, ratio, _agree(ratio, tolerance_percent))
    faults = (
        *_of_unit(ratio),
        *_of_source(relied_on, in_doubt, source_wh, slack),
        *_of_ratio(ratio, slack, three_phase),
    )
    if faults:
        return Compared(Found.POINTS, ratio, _points(ratio, faults, three_phase), faults)
    return Compared(Found.UNEXPLAINED, ratio, _unexplained(ratio, three_phase))


def average_watts(energy_wh: Decimal, interval: timedelta) -> Decimal:
    """The mean power over the interval, in W. Raises ValueError for an interval that isn't longer than nothing."""
    if interval <= timedelta(0):
        raise ValueError("The interval ends after it begins.")
    return energy_wh * 3600 / Decimal(interval.total_seconds())


def _ratio(relied_on: Energy, in_doubt: Energy) -> Decimal | None:
    return in_doubt.wh / relied_on.wh if relied_on.wh else None


def _of_ratio(ratio: Decimal, slack: Decimal, three_phase: bool) -> tuple[Fault, ...]:
    """Faults whose ratio lies within `slack` of this one, as a share of it; for 0 within `slack` itself."""
    near = (f for f in FAULTS if abs(ratio - f.ratio) <= slack * (abs(f.ratio) or 1))
    return tuple(f for f in near if three_phase or not f.three_phase)


def _of_unit(ratio: Decimal) -> Iterable[Fault]:
    """A factor of 1000 where the ratio is far outside what other faults give, with what it would leave to explain."""
    for key, far, factor, way in (
        ("part-1000", 0 < abs(ratio) <= FAR_BELOW, Decimal(1000), "low"),
        ("factor-1000", abs(ratio) >= FAR_ABOVE, 1 / Decimal(1000), "high"),
    ):
        if far:
            left = shown_ratio(ratio * factor)
            words = (
                f"a factor is 1000 times too {way}: is Wh, kWh or MWh chosen as the meter shows it, and the clamp's ratio "
                f"and the pulses for each kWh set right? Without that factor it would be {left} to 1"
            )
            yield Fault(key, 1 / factor, words)


def _of_source(relied_on: Energy, in_doubt: Energy, source_wh: Decimal | None, slack: Decimal) -> Iterable[Fault]:
    """Faults in which what a second source gave is counted wrongly: the difference is once or twice its energy."""
    if not source_wh:
        return
    apart = in_doubt.wh - relied_on.wh
    for key, times, words in _SOURCE_FAULTS:
        if abs(apart - times * source_wh) <= slack * abs(times * source_wh):
            yield Fault(key, in_doubt.wh / relied_on.wh, words)


_SOURCE_FAULTS = (
    ("source-added", 1, "what the second source gave is counted on top: by both, or by a clamp that sees it again"),
    ("source-missing", -1, "what the second source gave is not counted"),
    ("source-reversed", -2, "the second source's clamp is reversed: it is taken off instead of added"),
    ("source-reversed-back", 2, "the second source is added where it should be taken off: its clamp is reversed"),
)


def _agree(ratio: Decimal, tolerance_percent: Decimal) -> str:
    return f"They agree: {shown_ratio(ratio)} to 1, within {tolerance_percent.normalize():f} %. That both are right it does not prove."


def _too_little(hidden_wh: Decimal, largest_wh: Decimal) -> str:
    if largest_wh == 0:
        return "Neither counted anything: read again over an interval in which there is load."
    return (
        f"Too little to tell: the last places of what was read may hide {hidden_wh.normalize():f} Wh of "
        f"{largest_wh.normalize():f} Wh. Read again over a longer interval or under more load."
    )


def _points(ratio: Decimal, faults: tuple[Fault, ...], three_phase: bool) -> str:
    likely = "; or ".join(fault.words for fault in faults)
    uneven = f" {_UNEVEN}" if three_phase and 0 < ratio < 1 else ""
    return (
        f"They do not agree: {shown_ratio(ratio)} to 1. In common practice that points to this, and proves nothing: "
        f"{likely}.{uneven} {_ONE_BY_ONE}"
    )


def _unexplained(ratio: Decimal, three_phase: bool) -> str:
    uneven = f" {_UNEVEN}" if three_phase and 0 < ratio < 1 else ""
    return f"They do not agree: {shown_ratio(ratio)} to 1, which is the sign of no common fault.{uneven} {_ONE_BY_ONE}"


def shown_ratio(ratio: Decimal) -> str:
    """A ratio with as many places as it deserves: "2.01", "\u22120.33", "0.0010"."""
    places = Decimal("0.0001") if 0 < abs(ratio) < Decimal("0.1") else Decimal("0.01")
    return f"{ratio.quantize(places):f}".replace("-", "\u2212")
