"""Resistance of copper conductors at 20 °C, and what a length of them should read.

Source: Locke, Guide to the Wiring Regulations, Wiley 2008, Tables 4.1 to 4.3; IEC 60228 classes 1 and 2 as three
pages tabulate it; a wholesaler's table; read in secondary pages, of which four agree.
"""

from collections.abc import Iterable
from decimal import Decimal

from inspections.standards.confidence import Confidence
from inspections.standards.facts import SHIPPED, Fact, Facts

_MILLIOHMS_PER_M = {
    "1.0": "18.1",
    "1.5": "12.1",
    "2.5": "7.41",
    "4": "4.61",
    "6": "3.08",
    "10": "1.83",
    "16": "1.15",
    "25": "0.727",
    "35": "0.524",
}
RESISTANCES = {
    Decimal(mm2).normalize(): Fact(
        key=f"conductor.{mm2}",
        title=f"Copper, {mm2} mm², 20 °C",
        value=Decimal(milliohms),
        unit="mΩ/m",
        source="Locke, Wiley 2008, Tables 4.1 to 4.3; IEC 60228 as three pages tabulate it",
        confidence=Confidence.SECONDARY,
        least=Decimal("0.001"),
        most=Decimal(100),
    )
    for mm2, milliohms in _MILLIOHMS_PER_M.items()
}
ROWS = tuple(RESISTANCES.values())


def milliohms_per_m(sizes_mm2: Iterable[Decimal | None], facts: Facts = SHIPPED) -> Decimal | None:
    """The conductors of these sizes in series, in mΩ for each metre; None where a size isn't known or not in the table."""
    total = Decimal(0)
    for size in sizes_mm2:
        row = RESISTANCES.get(size.normalize()) if size is not None and size.is_finite() else None
        if row is None:
            return None
        total += facts.of(row).value
    return total


def expected_ohms(
    sizes_mm2: Iterable[Decimal | None], length_m: Decimal | None, facts: Facts = SHIPPED
) -> Decimal | None:
    """What that length should read at 20 °C, in ohms; None where it can't be said."""
    each = milliohms_per_m(sizes_mm2, facts)
    return None if each is None or length_m is None else each * length_m / 1000
