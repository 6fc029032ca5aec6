"""Loop impedance limits of fuses, in ohms at operating temperature, 230 V, TN.

The tables of three editions circulate. Those of 2008 and 2011 were read in reproductions: D. Locke, Guide to the
Wiring Regulations, Wiley 2008, App. 3 (Table 41.2), and NICEIC Connections, winter 2011-12, p.60 (BS 88-2 of 2010).
They judge reports of those editions. What later editions print is remembered only, so it judges nothing until
a qualified person has looked it up: until then the limit is to be entered from the standard or the maker.
"""

import re
from decimal import Decimal

from inspections.standards.confidence import Confidence
from inspections.standards.devices import CircuitRole, Device
from inspections.standards.editions import Edition
from inspections.standards.facts import Fact

# Rating in A: ohms. 0.4 s is for final circuits, 5 s for distribution circuits.
_READ_04 = {
    "BS 3036": {5: "9.58", 15: "2.55", 20: "1.77", 30: "1.09"},
    "BS 1361": {5: "10.45", 15: "3.28", 20: "1.70", 30: "1.15"},
    "BS 1362": {3: "16.4", 13: "2.42"},
    "BS 88-2.2": {6: "8.52", 10: "5.11", 16: "2.70", 20: "1.77", 25: "1.44", 32: "1.04"},
    "BS 88-2": {6: "8.21", 10: "4.89", 16: "2.56", 20: "1.77", 25: "1.35", 32: "1.04"},
}
_REMEMBERED_04 = {
    "BS 3036": {5: "9.10", 15: "2.43", 20: "1.68", 30: "1.04", 45: "0.56"},
    "BS 1362": {3: "15.6", 13: "2.30"},
    "BS 88-2": {6: "7.80", 10: "4.65", 16: "2.43", 20: "1.68", 25: "1.29", 32: "0.99"},
    "BS 88-3": {5: "9.93", 16: "2.30", 20: "1.93", 32: "0.91", 45: "0.57", 63: "0.36"},
}
_REMEMBERED_5 = {
    "BS 3036": {5: "16.8", 15: "5.08", 20: "3.64", 30: "2.51", 45: "1.51", 60: "1.07", 100: "0.51"},
    "BS 1362": {3: "22.0", 13: "3.64"},
    "BS 88-2": {
        6: "12.0",
        10: "6.80",
        16: "4.00",
        20: "2.80",
        25: "2.20",
        32: "1.70",
        40: "1.30",
        50: "0.99",
        63: "0.78",
        80: "0.55",
        100: "0.42",
        125: "0.32",
        160: "0.27",
        200: "0.18",
    },
    "BS 88-3": {5: "14.6", 16: "3.90", 20: "3.20", 32: "1.60", 45: "1.00", 63: "0.68", 80: "0.51", 100: "0.38"},
}

_OLD = (Edition.A1_2011,)
_SINCE_2015 = tuple(edition for edition in Edition if edition not in (Edition.A1_2011, Edition.EARLIER))
_OLD_SOURCE = {
    "BS 88-2": "NICEIC Connections, winter 2011-12, p.60 (BS 88-2 of 2010)",
    "": "Table 41.2 of BS 7671:2008 in Locke, Guide to the Wiring Regulations, Wiley 2008, App. 3",
}
# A fuse by the words of its standard; BS 88-2.2 and BS 88-6 were withdrawn in 2010.
_STANDARDS = (
    (r"BS(EN)?88-?(PART)?2\.2.*|BS88-?6.*", "BS 88-2.2"),
    (r"BS(EN)?88-?2.*|BSEN60269.*", "BS 88-2"),
    (r"BS(EN)?88-?3.*", "BS 88-3"),
    (r"BS1361.*", "BS 1361"),
    (r"BS1362.*", "BS 1362"),
    (r"BS3036.*", "BS 3036"),
)

Rows = dict[tuple[str, Decimal], Fact[Decimal]]


def fuse_of(device: Device) -> str:
    """The fuse's standard as the tables name it; empty where the device is no fuse."""
    said = re.sub(r"\s+", "", device.standard).upper()
    return next((name for pattern, name in _STANDARDS if re.fullmatch(pattern, said)), "")


def row_of(device: Device, role: CircuitRole, edition: Edition) -> Fact[Decimal] | None:
    """The row for a fuse in a TN system, full value in ohms; None where no table has one."""
    key = (fuse_of(device), device.rating_a.normalize())
    if edition in _SINCE_2015:
        return (LATER_04 if role is CircuitRole.FINAL else LATER_5).get(key)
    return READ_04.get(key) if edition in _OLD and role is CircuitRole.FINAL else None


def _rows(tables: dict[str, dict[int, str]], seconds: str, *, read: bool) -> Rows:
    return {
        (standard, Decimal(rating).normalize()): Fact(
            key=f"fuse.{standard.replace(' ', '-').lower()}.{rating}-a.{seconds}-s{'.2008' if read else ''}",
            title=f"{standard} fuse of {rating} A, loop impedance for {seconds} s",
            value=Decimal(ohms),
            unit="Ω",
            source=_OLD_SOURCE.get(standard, _OLD_SOURCE[""]) if read else "Fuse tables of BS 7671, not read",
            confidence=Confidence.SECONDARY if read else Confidence.MEMORY,
            editions=_OLD if read else _SINCE_2015,
            least=Decimal("0.01"),
            most=Decimal(100),
        )
        for standard, rows in tables.items()
        for rating, ohms in rows.items()
    }


READ_04 = _rows(_READ_04, "0.4", read=True)
LATER_04 = _rows(_REMEMBERED_04, "0.4", read=False)
LATER_5 = _rows(_REMEMBERED_5, "5", read=False)
ROWS = (*LATER_04.values(), *LATER_5.values(), *READ_04.values())
