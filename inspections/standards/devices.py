"""Protective devices and earthing, as far as the loop impedance limit depends on them."""

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum

from inspections.standards.confidence import Confidence


def sensible(value: Decimal) -> bool:
    """A number above 0 and below ten million, without endless places: what people can mean.

    Also keeps 1E+999999 from becoming a sentence of a million noughts.
    """
    return value.is_finite() and value > 0 and -7 < value.adjusted() < 7


class Earthing(StrEnum):
    """The values are those that supplies and boards are stored with."""

    TN_S = "TN-S"
    TN_C_S = "TN-C-S"
    TT = "TT"
    IT = "IT"
    UNKNOWN = "unknown"

    @property
    def is_tn(self) -> bool:
        return self in (Earthing.TN_S, Earthing.TN_C_S)


class CircuitRole(StrEnum):
    FINAL = "final"
    DISTRIBUTION = "distribution"


@dataclass(frozen=True, slots=True)
class Device:
    """An overcurrent device: "BS EN 60898", type "B", 32 A. The words may come as people write them."""

    standard: str
    type: str
    rating_a: Decimal

    def __post_init__(self) -> None:
        if not sensible(self.rating_a):
            raise ValueError("The rating of a protective device must be more than 0 A, and no more than thousands.")

    @property
    def words(self) -> str:
        kind = f"type {self.type.strip().upper()} " if self.type.strip() else ""
        return f"{self.standard.strip()} {kind}{self.rating_a.normalize():f} A".strip()


@dataclass(frozen=True, slots=True)
class Rcd:
    """A residual current device (or the residual current part of an RCBO): its rated IΔn."""

    rated_residual_ma: Decimal

    def __post_init__(self) -> None:
        if not sensible(self.rated_residual_ma):
            raise ValueError("The rated residual current of an RCD must be more than 0 mA, and no more than thousands.")


# Instantaneous trip at 5, 10 and 20 times the rating: the 2008 tables' 46/In, 23/In and 11.5/In
# (Locke, Guide to the Wiring Regulations, Wiley 2008, App. 3) are 230 V over these.
TRIP_MULTIPLES = {"B": 5, "C": 10, "D": 20}

# Type D where 5 s are allowed: remembered to be taken at 10 times the rating.
TYPE_D_AT_5_S = (10, Confidence.MEMORY)

# Preferred ratings of BS EN 60898 and those seen in the tables, to 125 A (from memory). Any other
# figure is more likely a slip of the pen than a device.
RATINGS_A = frozenset(Decimal(a) for a in (1, 2, 3, 4, 6, 8, 10, 13, 16, 20, 25, 32, 40, 45, 50, 63, 80, 100, 125))

_INSTANT = re.compile(r"BSEN6(0898|1009)(-[12])?(:\d{4}.*)?")


def trips_by_type(device: Device) -> bool:
    """Whether the device is to BS EN 60898 or 61009 and of type B, C or D."""
    standard = re.sub(r"\s+", "", device.standard).upper()
    return bool(_INSTANT.fullmatch(standard)) and device.type.strip().upper() in TRIP_MULTIPLES
