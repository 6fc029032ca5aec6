"""The limit of earth fault loop impedance for a circuit, and what it rests on.

Fault protection can rest on the overcurrent device or on an RCD; where both exist both bases are
returned, with the one that decides first. Decimal arithmetic throughout: 218.5/100 must not
become 2.18 by a binary accident. Limits are judged by `ohms_exact`; `ohms_shown` is rounded down.

A limit supports a competent person, who works by the current edition and the maker's data.
"""

from dataclasses import dataclass
from decimal import ROUND_HALF_UP, Decimal

from inspections.standards.confidence import Confidence, weaker
from inspections.standards.devices import (
    RATINGS_A,
    TRIP_MULTIPLES,
    TYPE_D_AT_5_S,
    CircuitRole,
    Device,
    Earthing,
    Rcd,
    sensible,
    trips_by_type,
)
from inspections.standards.limits import NO_SOURCE, EnterLimit, Limit, shown

__all__ = ["EnterLimit", "Limit", "LoopLimits", "entered_limit", "loop_limits", "shown"]

# Appendix 3's rule of thumb for a cold conductor (NICEIC Connections, spring 2015, p.61; threads
# of the IET's forum; read in secondary pages).
COLD_FACTOR = Decimal("0.8")
U0_VOLTS = Decimal(230)
CMIN = Decimal("0.95")
TOUCH_VOLTS = Decimal(50)
# Note to Table 41.5: above 200 Ω an electrode may not be stable (NICEIC in a trade Q&A of 2012).
UNSTABLE_ABOVE_OHMS = Decimal(200)


@dataclass(frozen=True, slots=True)
class LoopLimits:
    """`decides` is what a reading is judged by; `other` is the other basis, where there is one."""

    decides: Limit | EnterLimit
    other: Limit | EnterLimit | None = None
    earthing: Earthing = Earthing.UNKNOWN


def loop_limits(
    device: Device | None,
    earthing: Earthing,
    role: CircuitRole,
    rcd: Rcd | None = None,
    *,
    rests_on_rcd: bool | None = None,
    conductor_cold: bool = True,
    factor: Decimal = COLD_FACTOR,
    u0_volts: Decimal = U0_VOLTS,
    cmin: Decimal = CMIN,
) -> LoopLimits:
    """Both bases for a circuit. `device` None means that it isn't recorded.

    `rests_on_rcd` says which decides; where it is None, the RCD decides in a TT system and the
    overcurrent device in a TN system. `cmin` goes by the edition (`editions.cmin`).
    Raises ValueError for a factor or a voltage that can't be.
    """
    _check(factor, u0_volts, cmin)
    if earthing in (Earthing.IT, Earthing.UNKNOWN):
        return LoopLimits(EnterLimit(_EARTHING_REASONS[earthing]), earthing=earthing)
    by_device = _by_device(device, earthing, role, factor if conductor_cold else Decimal(1), u0_volts, cmin)
    if rcd is None:
        return LoopLimits(by_device, earthing=earthing)
    by_rcd = _by_rcd(rcd, earthing)
    if rests_on_rcd is None:
        rests_on_rcd = earthing is Earthing.TT
    if rests_on_rcd:
        return LoopLimits(by_rcd, by_device, earthing)
    return LoopLimits(by_device, by_rcd, earthing)


def entered_limit(
    ohms: Decimal,
    source: str,
    earthing: Earthing,
    *,
    already_corrected: bool,
    conductor_cold: bool = True,
    factor: Decimal = COLD_FACTOR,
) -> LoopLimits:
    """The limit that a person entered from the standard or the maker, with where it is from.

    Some guides print values already corrected for a cold conductor: the factor isn't used twice
    (`already_corrected`).
    Raises ValueError for a value that isn't more than 0, and for no source.
    """
    if not sensible(ohms):
        raise ValueError("The limit must be a number of ohms above 0.")
    if not source.strip():
        raise ValueError(NO_SOURCE)
    used = factor if conductor_cold and not already_corrected else Decimal(1)
    words = f"{used} × {ohms} Ω" if used != 1 else f"{ohms} Ω"
    basis = f"{words}: entered from {source.strip()}, {_conductor_words(used, already_corrected)}"
    limit = Limit(basis=basis, confidence=Confidence.GIVEN, most=used * ohms, tabulated=ohms)
    return LoopLimits(limit, earthing=earthing)


_EARTHING_REASONS = {
    Earthing.IT: "No limit is shipped for an IT system: enter the limit from the design, with its source.",
    Earthing.UNKNOWN: "The earthing arrangement isn't recorded: record it, or enter the limit with its source.",
}
_FUSE_REASON = (
    "published fuse limits differ by edition and are not shipped: "
    "enter the limit from the standard or the maker, with its source."
)
_OTHER_REASON = "enter the limit from the standard or the maker, with its source."


def _check(factor: Decimal, u0_volts: Decimal, cmin: Decimal) -> None:
    if not (sensible(factor) and factor <= 1):
        raise ValueError("The factor for a cold conductor lies above 0 and is at most 1.")
    if not (sensible(u0_volts) and u0_volts <= 1000):
        raise ValueError("The nominal voltage to earth lies above 0 V and is at most 1000 V.")
    if not (sensible(cmin) and cmin <= 1):
        raise ValueError("The voltage factor Cmin lies above 0 and is at most 1.")


def _by_device(
    device: Device | None,
    earthing: Earthing,
    role: CircuitRole,
    factor: Decimal,
    u0_volts: Decimal,
    cmin: Decimal,
) -> Limit | EnterLimit:
    """Cmin × U0 ÷ (k × In), times the factor.

    Source: NICEIC on Cmin; Wiring Matters 54 (2015) as reproduced; k from the 2008 tables.
    """
    reason = _why_not(device)
    if device is None or reason:
        return EnterLimit(reason)
    multiple, confidence = _multiple(device, earthing, role)
    full = cmin * u0_volts / (multiple * device.rating_a)
    sum_words = f"{cmin} × {u0_volts} V ÷ ({multiple} × {device.rating_a.normalize():f} A)"
    three_places = full.quantize(Decimal("0.001"), ROUND_HALF_UP)
    words = f"{factor} × {three_places} Ω" if factor != 1 else f"{three_places} Ω"
    basis = f"{words} ({sum_words}): {role} circuit, {earthing}, {device.words}, {_conductor_words(factor, False)}"
    return Limit(basis=basis, confidence=confidence, most=factor * full, tabulated=full)


def _why_not(device: Device | None) -> str:
    """Why no limit is shipped for the device; empty where one is."""
    if device is None:
        return "The protective device isn't recorded: record it, or enter the limit with its source."
    if trips_by_type(device):
        if device.rating_a in RATINGS_A:
            return ""
        return (
            f"{device.rating_a.normalize():f} A is no rating we know for {device.standard.strip()}: "
            f"check the rating, or {_OTHER_REASON}"
        )
    fuse = any(number in device.standard for number in ("88-", "1361", "1362", "3036"))
    return f"{device.words}: {_FUSE_REASON if fuse else _OTHER_REASON}"


def _multiple(device: Device, earthing: Earthing, role: CircuitRole) -> tuple[int, Confidence]:
    """k of the instantaneous trip. For B and C the same value serves 0.4 s and 5 s."""
    kind = device.type.strip().upper()
    if kind == "D" and role is CircuitRole.DISTRIBUTION and earthing.is_tn:
        return TYPE_D_AT_5_S
    return TRIP_MULTIPLES[kind], Confidence.COMPUTED


def _by_rcd(rcd: Rcd, earthing: Earthing) -> Limit:
    """50 V ÷ IΔn, with no factor for a cold conductor.

    Source: Table 41.5 for TT (NICEIC in a trade Q&A, 2012; forum threads; read in secondary
    pages). That the same values serve an RCD in a TN system is from memory.
    """
    ohms = 1000 * TOUCH_VOLTS / rcd.rated_residual_ma
    confidence = Confidence.SECONDARY if earthing is Earthing.TT else Confidence.MEMORY
    basis = (
        f"50 V ÷ {rcd.rated_residual_ma.normalize():f} mA = {shown(ohms)} Ω: {earthing}, fault "
        "protection by RCD, whose operating time is tested as well"
    )
    return Limit(basis=basis, confidence=weaker(Confidence.COMPUTED, confidence), most=ohms, by_rcd=True)


def _conductor_words(factor: Decimal, already_corrected: bool) -> str:
    if already_corrected:
        return "already corrected for a cold conductor"
    return "conductor cold" if factor != 1 else "conductor at operating temperature"
