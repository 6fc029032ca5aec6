"""Protective devices and earthing, as far as the loop impedance limit depends on them."""

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum


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


VOLTAGE_OPERATED = "voltage-operated"


@dataclass(frozen=True, slots=True)
class Rcd:
    """A residual current device (or the residual current part of an RCBO): its rated IΔn in mA.

    `kind`: AC, A, F, B, S where it is time-delayed, empty where it isn't known. `standard`: as people
    write it, empty where it isn't recorded. `delay_ms`: the rated delay of an old time-delayed one.
    A voltage-operated earth leakage breaker (`VOLTAGE_OPERATED`) has no IΔn, and is no RCD.
    """

    rated_residual_ma: Decimal | None
    kind: str = ""
    standard: str = ""
    delay_ms: Decimal | None = None

    def __post_init__(self) -> None:
        if self.rated_residual_ma is None and self.kind == VOLTAGE_OPERATED:
            return
        if self.rated_residual_ma is None or not sensible(self.rated_residual_ma):
            raise ValueError("The rated residual current of an RCD must be more than 0 mA, and no more than thousands.")
        if self.delay_ms is not None and not sensible(self.delay_ms):
            raise ValueError("The rated delay of an RCD must be more than 0 ms, and no more than thousands.")

    @property
    def words(self) -> str:
        """Such as "30 mA type A", with the standard where it is recorded."""
        if self.rated_residual_ma is None:
            return "voltage-operated earth leakage breaker"
        kind = f"type {self.kind}" if self.kind and self.kind != "unknown" else ""
        return " ".join(filter(None, [self.standard.strip(), f"{self.rated_residual_ma.normalize():f} mA", kind]))


# Preferred ratings of BS EN 60898 and those seen in the tables, to 125 A (from memory). Any other
# figure is more likely a slip of the pen than a device.
RATINGS_A = frozenset(Decimal(a) for a in (1, 2, 3, 4, 6, 8, 10, 13, 16, 20, 25, 32, 40, 45, 50, 63, 80, 100, 125))
# Those of BS 3871 (from memory).
OLD_RATINGS_A = frozenset(Decimal(a) for a in (5, 6, 10, 15, 16, 20, 25, 30, 32, 40, 45, 50, 60, 63, 80, 100))

_INSTANT = re.compile(r"BSEN6(0898|1009)(-[12])?(:\d{4}.*)?")
_OLD_INSTANT = re.compile(r"BS3871(-1|PART1|PT1)?(:\d{4}.*)?")


def trips_by_type(device: Device) -> bool:
    """Whether the device is to BS EN 60898 or 61009 and of type B, C or D."""
    return bool(_INSTANT.fullmatch(_joined(device.standard))) and _type(device) in {"B", "C", "D"}


def trips_by_number(device: Device) -> bool:
    """Whether the device is to BS 3871 (withdrawn) and of type 1, 2, 3 or 4."""
    return bool(_OLD_INSTANT.fullmatch(_joined(device.standard))) and _type(device) in {"1", "2", "3", "4"}


def rcbo_standard(device: Device | None) -> str:
    """The standard of an RCD that is part of the device: BS EN 61009 for an RCBO, else empty."""
    return device.standard.strip() if device is not None and "61009" in _joined(device.standard) else ""


def _joined(standard: str) -> str:
    return re.sub(r"\s+", "", standard).upper()


def _type(device: Device) -> str:
    return device.type.strip().upper()
