"""What loop impedance limits are computed from: the instantaneous trip by kind of device, and touch voltages.

k = 5, 10 and 20 times the rating for types B, C and D: the 2008 tables' 46/In, 23/In and 11.5/In (Locke, Guide to
the Wiring Regulations, Wiley 2008, App. 3) are 230 V over these. The multiples of BS 3871 are general knowledge of
the trade, from memory: a reading judged by them never passes without saying so.
"""

from decimal import Decimal

from inspections.standards.confidence import Confidence
from inspections.standards.devices import CircuitRole, Device, Earthing, trips_by_number
from inspections.standards.facts import Fact

_TABLES = "Tables of BS 7671:2008 in Locke, Guide to the Wiring Regulations, Wiley 2008, App. 3"
_TRADE = "General knowledge of the trade; the standard is withdrawn"


def _trip(key: str, title: str, times: int, confidence: Confidence, source: str) -> Fact[Decimal]:
    return Fact(
        key=f"loop.trip.{key}",
        title=f"Instantaneous trip, {title}",
        value=Decimal(times),
        unit="× rating",
        source=source,
        confidence=confidence,
        least=Decimal(1),
        most=Decimal(100),
    )


BY_TYPE = {
    kind: _trip(kind.lower(), f"type {kind}", times, Confidence.SECONDARY, _TABLES)
    for kind, times in {"B": 5, "C": 10, "D": 20}.items()
}
# The 18th edition is remembered to allow 10 × In where 5 s are allowed.
D_FOR_5_S = _trip(
    "d.5-s", "type D, distribution circuit in TN (5 s)", 10, Confidence.MEMORY, "Table 41.3 of BS 7671, not read"
)
BY_NUMBER = {
    number: _trip(f"bs-3871.{number}", f"BS 3871 type {number}", times, Confidence.MEMORY, _TRADE)
    for number, times in {"1": 4, "2": 7, "3": 10, "4": 50}.items()
}


def _touch(key: str, title: str, confidence: Confidence, source: str) -> Fact[Decimal]:
    return Fact(
        key=f"loop.touch.{key}",
        title=title,
        value=Decimal(50),
        unit="V",
        source=source,
        confidence=confidence,
        least=Decimal(12),
        most=Decimal(120),
    )


TT_TOUCH_VOLTS = _touch(
    "tt",
    "Touch voltage that RA × IΔn may reach in a TT system",
    Confidence.SECONDARY,
    "Table 41.5 of BS 7671, as NICEIC in a trade Q&A of 20 Dec 2012 and threads of the IET's forum have it",
)
TN_TOUCH_VOLTS = _touch(
    "tn", "Touch voltage where an RCD gives fault protection in a TN system", Confidence.MEMORY, "BS 7671, not read"
)
ROWS = (*BY_TYPE.values(), D_FOR_5_S, *BY_NUMBER.values(), TT_TOUCH_VOLTS, TN_TOUCH_VOLTS)


def trip_row(device: Device, role: CircuitRole, earthing: Earthing) -> Fact[Decimal]:
    """k of the instantaneous trip, times the rating. For B and C the same value serves 0.4 s and 5 s.

    Raises KeyError for a device that trips neither by type nor by number.
    """
    kind = device.type.strip().upper()
    if trips_by_number(device):
        return BY_NUMBER[kind]
    if kind == "D" and role is CircuitRole.DISTRIBUTION and earthing.is_tn:
        return D_FOR_5_S
    return BY_TYPE[kind]
