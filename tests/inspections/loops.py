"""Limits of loop impedance told in pieces, for tests."""

from decimal import Decimal

from inspections.standards.devices import CircuitRole, Device, Earthing, Rcd
from inspections.standards.editions import Edition
from inspections.standards.facts import SHIPPED, Facts
from inspections.standards.impedance import limits
from inspections.standards.limits import Entered, Limits
from inspections.standards.situation import Situation


def loop(device: Device | None, earthing: Earthing, role: CircuitRole, rcd: Rcd | None = None, **more) -> Situation:
    """A circuit as far as its loop impedance depends on it; by the newest edition unless another is named."""
    return Situation(
        **{"edition": Edition.A4_2026, "device": device, "earthing": earthing, "role": role, "rcd": rcd} | more
    )


def loop_limits(
    device: Device | None,
    earthing: Earthing,
    role: CircuitRole,
    rcd: Rcd | None = None,
    *,
    facts: Facts = SHIPPED,
    **more,
) -> Limits:
    return limits(loop(device, earthing, role, rcd, **more), facts)


def entered(ohms: Decimal, source: str, *, already_corrected: bool = False) -> Situation:
    """A circuit whose limit a person entered."""
    limit = Entered(ohms, source, already_corrected)
    return Situation(edition=Edition.A4_2026, earthing=Earthing.TN_S, entered=limit)
