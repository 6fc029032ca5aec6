"""The limit of earth fault loop impedance for a circuit, and what it rests on.

Fault protection can rest on the overcurrent device or on an RCD; where both exist both bases are
returned, with the one that decides first. Decimal arithmetic throughout: 218.5/100 must not
become 2.18 by a binary accident. Limits are judged by `ohms_exact`; `ohms_shown` is rounded down.

A limit supports a competent person, who works by the current edition and the maker's data.
"""

from decimal import ROUND_HALF_UP, Decimal

from inspections.standards import fuses
from inspections.standards.confidence import Confidence, weaker
from inspections.standards.devices import (
    OLD_RATINGS_A,
    RATINGS_A,
    VOLTAGE_OPERATED,
    Device,
    Earthing,
    Rcd,
    sensible,
    trips_by_number,
    trips_by_type,
)
from inspections.standards.editions import cmin_row
from inspections.standards.facts import SHIPPED, Facts
from inspections.standards.limits import NO_SOURCE, Entered, EnterLimit, Limit, Limits, Rounding, cold, shown
from inspections.standards.situation import Situation
from inspections.standards.trips import TN_TOUCH_VOLTS, TT_TOUCH_VOLTS, trip_row

U0_VOLTS = Decimal(230)


def limits(situation: Situation, facts: Facts = SHIPPED) -> Limits:
    """Both bases for a circuit, in ohms; the entered limit where a person entered one.

    `rests_on_rcd` says which decides; where it is None, the RCD decides in a TT system and the
    overcurrent device in a TN system.
    Raises ValueError for a factor, a voltage or an entered limit that can't be.
    """
    _check(situation.factor, situation.u0_volts)
    earthing = situation.earthing
    if situation.entered:
        return _entered(situation.entered, situation)
    if earthing in (Earthing.IT, Earthing.UNKNOWN):
        return Limits(EnterLimit(_EARTHING_REASONS[earthing]))
    by_device = _by_device(situation, facts)
    if situation.rcd is None:
        return Limits(by_device)
    by_rcd = _by_rcd(situation.rcd, earthing, facts)
    rests_on_rcd = situation.rests_on_rcd
    if rests_on_rcd is None:
        rests_on_rcd = earthing is Earthing.TT
    if rests_on_rcd:
        return Limits(by_rcd, by_device)
    return Limits(by_device, by_rcd)


_EARTHING_REASONS = {
    Earthing.IT: "No limit is shipped for an IT system: enter the limit from the design, with its source.",
    Earthing.UNKNOWN: "The earthing arrangement isn't recorded: record it, or enter the limit with its source.",
}
_FUSE_REASON = (
    "published fuse limits differ by edition and are not shipped: "
    "enter the limit from the standard or the maker, with its source."
)
_OTHER_REASON = "enter the limit from the standard or the maker, with its source."
_SET_REASON = (
    "its trip goes by the maker and how it is set: enter the limit from the maker's data for that setting, "
    "with its source."
)
_NO_RCD = EnterLimit(
    "A voltage-operated earth leakage breaker is no RCD: fault protection cannot be judged by it. Have a qualified "
    "person decide; replacing it is the usual answer."
)


def _check(factor: Decimal, u0_volts: Decimal) -> None:
    if not (sensible(factor) and factor <= 1):
        raise ValueError("The factor for a cold conductor lies above 0 and is at most 1.")
    if not (sensible(u0_volts) and u0_volts <= 1000):
        raise ValueError("The nominal voltage to earth lies above 0 V and is at most 1000 V.")


def _entered(entered: Entered, situation: Situation) -> Limits:
    ohms = entered.amount
    if not sensible(ohms):
        raise ValueError("The limit must be a number of ohms above 0.")
    if not entered.source.strip():
        raise ValueError(NO_SOURCE)
    used = situation.factor if situation.conductor_cold and not entered.already_corrected else Decimal(1)
    words = f"{used} × {ohms} Ω" if used != 1 else f"{ohms} Ω"
    basis = f"{words}: entered from {entered.source.strip()}, {_conductor_words(used, entered.already_corrected)}"
    most = cold(ohms, used, situation.rounding)
    limit = Limit(basis=basis, confidence=Confidence.GIVEN, most=most, tabulated=ohms)
    return Limits(limit)


def _by_device(situation: Situation, facts: Facts) -> Limit | EnterLimit:
    device = situation.device
    if device is None:
        return EnterLimit("The protective device isn't recorded: record it, or enter the limit with its source.")
    if fuses.fuse_of(device):
        return _by_fuse(device, situation, facts)
    reason = _why_not(device)
    return EnterLimit(reason) if reason else _by_trip(device, situation, facts)


def _by_trip(device: Device, situation: Situation, facts: Facts) -> Limit:
    """Cmin × U0 ÷ (k × In), times the factor.

    Source: NICEIC on Cmin; Wiring Matters 54 (2015) as reproduced; k from the 2008 tables.
    """
    cmin = facts.of(cmin_row(situation.edition))
    trip = facts.of(trip_row(device, situation.role, situation.earthing))
    multiple = trip.value.normalize()
    full = cmin.value * situation.u0_volts / (trip.value * device.rating_a)
    sum_words = f"{cmin.value} × {situation.u0_volts} V ÷ ({multiple:f} × {device.rating_a.normalize():f} A)"
    return _cold_limit(
        full, device, situation, weaker(weaker(Confidence.COMPUTED, trip.confidence), cmin.confidence), sum_words
    )


def _by_fuse(device: Device, situation: Situation, facts: Facts) -> Limit | EnterLimit:
    """The table's value where it was read or looked up; one that is only remembered judges nothing."""
    row = fuses.row_of(device, situation.role, situation.edition)
    found = facts.of(row) if row else None
    usable = situation.earthing.is_tn and situation.u0_volts == U0_VOLTS
    if found is None or not usable or not found.confidence.sure:
        return EnterLimit(f"{device.words}: {_FUSE_REASON}")
    return _cold_limit(found.value, device, situation, found.confidence, found.source)


def _cold_limit(full: Decimal, device: Device, situation: Situation, confidence: Confidence, source: str) -> Limit:
    factor = situation.factor if situation.conductor_cold else Decimal(1)
    words = _ohms_words(full, factor, situation.rounding)
    basis = (
        f"{words} ({source}): {situation.role} circuit, {situation.earthing}, {device.words}, "
        f"{_conductor_words(factor, False)}"
    )
    most = cold(full, factor, situation.rounding)
    return Limit(basis=basis, confidence=confidence, most=most, tabulated=full)


def _ohms_words(full: Decimal, factor: Decimal, rounding: Rounding) -> str:
    places = Decimal("0.01") if rounding is Rounding.TABULATED else Decimal("0.001")
    ohms = full if full == full.quantize(places) else full.quantize(places, ROUND_HALF_UP)
    if factor == 1:
        return f"{ohms} Ω"
    rounded = {Rounding.DOWN: ", rounded down", Rounding.NEAREST: ", rounded to the nearest"}.get(rounding, "")
    return f"{factor} × {ohms} Ω{rounded}"


def _why_not(device: Device) -> str:
    """Why no limit is computed for the device; empty where one is."""
    if trips_by_type(device) or trips_by_number(device):
        if device.rating_a in (RATINGS_A if trips_by_type(device) else OLD_RATINGS_A):
            return ""
        return (
            f"{device.rating_a.normalize():f} A is no rating we know for {device.standard.strip()}: "
            f"check the rating, or {_OTHER_REASON}"
        )
    if "60947" in device.standard:
        return f"{device.words}: {_SET_REASON}"
    return f"{device.words}: {_OTHER_REASON}"


def _by_rcd(rcd: Rcd, earthing: Earthing, facts: Facts) -> Limit | EnterLimit:
    """50 V ÷ IΔn, with no factor for a cold conductor.

    Source: Table 41.5 for TT (NICEIC in a trade Q&A, 2012; forum threads; read in secondary
    pages). That the same values serve an RCD in a TN system is from memory.
    """
    if rcd.kind == VOLTAGE_OPERATED or rcd.rated_residual_ma is None:
        return _NO_RCD
    touch = facts.of(TT_TOUCH_VOLTS if earthing is Earthing.TT else TN_TOUCH_VOLTS)
    ohms = 1000 * touch.value / rcd.rated_residual_ma
    basis = (
        f"{touch.value.normalize():f} V ÷ {rcd.rated_residual_ma.normalize():f} mA = {shown(ohms)} Ω: {earthing}, fault "
        "protection by RCD, whose operating time is tested as well"
    )
    return Limit(basis=basis, confidence=weaker(Confidence.COMPUTED, touch.confidence), most=ohms, by_rcd=True)


def _conductor_words(factor: Decimal, already_corrected: bool) -> str:
    if already_corrected:
        return "already corrected for a cold conductor"
    return "conductor cold" if factor != 1 else "conductor at operating temperature"
