"""What decides how a reading is judged: the circuit, its protection, the supply, the test, the edition."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from enum import StrEnum

from inspections.standards.devices import CircuitRole, Device, Earthing, Rcd
from inspections.standards.editions import Edition
from inspections.standards.limits import Entered, Rounding
from inspections.standards.quantities import Quantity


class ExtraLow(StrEnum):
    """Circuits of extra-low voltage, as the insulation table tells them apart."""

    SELV = "SELV"
    PELV = "PELV"
    FELV = "FELV"


class Multiple(StrEnum):
    """The test current of an RCD test, as a multiple of its rated residual current IΔn."""

    HALF = "0.5"
    ONE = "1"
    TWO = "2"
    FIVE = "5"

    @property
    def words(self) -> str:
        return f"{'½' if self is Multiple.HALF else self.value} × IΔn"


@dataclass(frozen=True, slots=True, kw_only=True)
class Situation:
    """All that a judgement may ask for; what isn't known is left out. Volts, amperes, mm², metres.

    `u0_volts` is the nominal voltage to earth, `nominal_volts` that between the circuit's conductors
    (taken as `u0_volts` where it isn't given; both lie below 500 V in a usual supply). `others` are
    the latest other readings of the same circuit, in their units. `factor` and `rounding` are the
    firm's settings for a cold conductor. At a board `feeder_rcd` is the RCD of the circuit that feeds
    it, and `rcd` the one of that and of its own circuits that asks for the most; `breaking_capacity_ka`
    is the least on record of its devices, and `devices_unrecorded` says of how many none is on record.
    """

    edition: Edition
    device: Device | None = None
    rcd: Rcd | None = None
    feeder_rcd: Rcd | None = None
    earthing: Earthing = Earthing.UNKNOWN
    role: CircuitRole = CircuitRole.FINAL
    ring: bool = False
    u0_volts: Decimal = Decimal(230)
    nominal_volts: Decimal | None = None
    rests_on_rcd: bool | None = None
    conductor_cold: bool = True
    factor: Decimal = Decimal("0.8")
    rounding: Rounding = Rounding.EXACT
    entered: Entered | None = None
    extra_low: ExtraLow | None = None
    equipment_connected: bool = False
    test_volts: int | None = None
    multiple: Multiple = Multiple.ONE
    line_mm2: Decimal | None = None
    cpc_mm2: Decimal | None = None
    length_m: Decimal | None = None
    breaking_capacity_ka: Decimal | None = None
    devices_unrecorded: int | None = None
    others: Mapping[Quantity, Decimal] = field(default_factory=dict)
