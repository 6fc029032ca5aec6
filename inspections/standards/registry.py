"""All facts by key, in the order and under the heads in which a page lists them."""

from collections.abc import Mapping
from datetime import date
from decimal import Decimal

from inspections.standards import (
    assessment,
    conductors,
    consumers,
    continuity,
    duties,
    editions,
    electrodes,
    fuses,
    insulation,
    law,
    loops,
    notifications,
    premises_kinds,
    rcd_times,
    rings,
    trips,
    vat,
)
from inspections.standards.facts import Correction, Fact

AnyFact = Fact[Decimal] | Fact[int] | Fact[bool] | Fact[date]

GROUPS: dict[str, tuple[AnyFact, ...]] = {
    "Assessment": assessment.ROWS,
    "Editions": editions.ROWS,
    "Loop impedance": (*editions.CMIN_ROWS, *trips.ROWS, *loops.ROWS),
    "Fuses": fuses.ROWS,
    "Insulation": insulation.ROWS,
    "RCDs": rcd_times.ROWS,
    "Earth electrodes": electrodes.ROWS,
    "Continuity and rings": (*continuity.ROWS, *rings.ROWS),
    "Conductors": conductors.ROWS,
    "Recommended intervals": premises_kinds.ROWS,
    "Law on rented homes": law.ROWS,
    "Papers due by law": duties.ROWS,
    "Notifications that the firm owes": notifications.ROWS,
    "VAT": vat.ROWS,
    "Consumers": consumers.ROWS,
}
FACTS: dict[str, AnyFact] = {fact.key: fact for rows in GROUPS.values() for fact in rows}


def faults(corrections: Mapping[str, Correction]) -> dict[str, str]:
    """Why a correction cannot be used, by key; empty where all can: for stored ones after an upgrade."""
    found = {}
    for key, correction in corrections.items():
        fact = FACTS.get(key)
        try:
            if fact is None:
                raise ValueError("No fact has this key any more.")
            fact.check(correction.value)
        except ValueError as wrong:
            found[key] = str(wrong)
    return found
