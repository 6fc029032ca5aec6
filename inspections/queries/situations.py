"""What readings at a site are judged by: the circuit, its protection, the supply, the test, the edition, the facts."""

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from decimal import Decimal
from uuid import UUID

from django.db.models import F

from inspections.models import Inspection, Reading
from inspections.queries.facts import facts_on
from inspections.queries.limits import SiteSupply, device_of, supply_of
from inspections.standards.devices import VOLTAGE_OPERATED, CircuitRole, Device, Earthing, Rcd
from inspections.standards.editions import Edition, edition_in_force
from inspections.standards.facts import Facts
from inspections.standards.impedance import U0_VOLTS
from inspections.standards.limits import Entered, Rounding
from inspections.standards.quantities import Quantity
from inspections.standards.situation import Multiple, Situation
from jobsite.firm.models import Policy
from jobsite.firm.queries import policy_on
from jobsite.premises.choices import CANDIDATE_FEEDS, Arrangement
from jobsite.premises.models import Board, Circuit, Supply

Place = Circuit | Board | Supply
Others = Mapping[Quantity, Decimal]


@dataclass(frozen=True, slots=True)
class HowTested:
    """How a test was made, as far as its limit depends on it, and the limit that a person entered."""

    multiple: Multiple = Multiple.ONE
    test_volts: int | None = None
    equipment_connected: bool = False
    entered: Entered | None = None


@dataclass(frozen=True)
class Ground:
    """What all readings at one site on one day have in common. `boards` holds what decides at a board itself."""

    supply: SiteSupply
    policy: Policy
    facts: Facts
    edition: Edition
    boards: Mapping[UUID, "AtBoard"] = field(default_factory=dict)

    def situation(self, place: Place, test: HowTested, others: Others | None = None) -> Situation:
        """What a reading at `place` is judged by; what the record doesn't settle is left out."""
        if isinstance(place, Circuit):
            found = self._of_circuit(place)
        elif isinstance(place, Board):
            found = self._of_board(place)
        else:
            found = self._common(Earthing(place.earthing), Decimal(place.voltage))
        return replace(
            found,
            multiple=test.multiple,
            test_volts=test.test_volts,
            equipment_connected=test.equipment_connected,
            entered=test.entered,
            others=others or {},
        )

    def _common(self, earthing: Earthing, volts: Decimal) -> Situation:
        return Situation(
            edition=self.edition,
            earthing=earthing,
            u0_volts=volts,
            factor=self.policy.loop_factor,
            rounding=Rounding(self.policy.loop_rounding),
        )

    def _of_circuit(self, circuit: Circuit) -> Situation:
        origin = self.supply.origin_of(circuit)
        earthing = Earthing(origin.earthing) if origin else Earthing.UNKNOWN
        return replace(
            self._common(earthing, Decimal(origin.volts) if origin else U0_VOLTS),
            device=device_of(circuit),
            rcd=rcd_of(circuit),
            role=self.supply.role_of(circuit),
            ring=circuit.arrangement == Arrangement.RING,
            line_mm2=circuit.line_mm2,
            cpc_mm2=circuit.cpc_mm2,
            # The length leads one way to the furthest point: round a ring nothing reads by it.
            length_m=None if circuit.arrangement == Arrangement.RING else circuit.length_m,
            breaking_capacity_ka=circuit.breaking_capacity_ka,
        )

    def _of_board(self, board: Board) -> Situation:
        origin = self.supply.origin_at(board.pk)
        earthing = Earthing(origin.earthing) if origin else Earthing.UNKNOWN
        at = self.boards.get(board.pk, AtBoard())
        return replace(
            self._common(earthing, Decimal(origin.volts) if origin else U0_VOLTS),
            device=at.device,
            rcd=at.rcd,
            feeder_rcd=at.feeder_rcd,
            role=CircuitRole.DISTRIBUTION,
            breaking_capacity_ka=at.breaking_capacity_ka,
            devices_unrecorded=at.devices_unrecorded,
        )


@dataclass(frozen=True, slots=True)
class AtBoard:
    """What decides at a board itself: the device and the RCD that feed it, the RCD that asks for the most of its
    electrode, whether of its circuits or of what feeds it, and the least that any of its devices on record can break.

    The largest IΔn asks for the lowest electrode resistance (50 V ÷ IΔn).
    """

    device: Device | None = None
    rcd: Rcd | None = None
    feeder_rcd: Rcd | None = None
    breaking_capacity_ka: Decimal | None = None
    devices_unrecorded: int = 0


def ground_of(
    site_id: UUID, *, on: date, inspection: Inspection | None = None, boards: Collection[UUID] = ()
) -> Ground:
    """What readings at a site are judged by on a day: by the edition of the report that they belong to, else by the
    one in force. Four statements, and two more where `boards` are read at.
    """
    facts = facts_on(on)
    edition = Edition(inspection.edition) if inspection else edition_in_force(on, facts)
    return Ground(supply_of(site_id), policy_on(on), facts, edition, _at_boards(boards) if boards else {})


def _at_boards(boards: Collection[UUID]) -> dict[UUID, AtBoard]:
    feeders: dict[UUID, list[Circuit]] = {}
    feeding = Circuit.objects.filter(feeds__board__in=boards, feeds__kind__in=CANDIDATE_FEEDS)
    for feeder in feeding.annotate(feeds_board=F("feeds__board")):
        feeders.setdefault(feeder.feeds_board, []).append(feeder)
    own: dict[UUID, list[Circuit]] = {}
    for circuit in Circuit.objects.filter(board__in=boards, retired_at__isnull=True):
        own.setdefault(circuit.board_id, []).append(circuit)
    return {key: _at_board(feeders.get(key, []), own.get(key, [])) for key in boards}


def _at_board(feeders: list[Circuit], own: list[Circuit]) -> AtBoard:
    """What decides at one board; where the record names several candidates, none of them is what feeds it."""
    with_rcd = [circuit for circuit in own if circuit.rcd_ma is not None]
    most = max([*with_rcd, *feeders], key=lambda circuit: circuit.rcd_ma or 0, default=None)
    break_at = [circuit.breaking_capacity_ka for circuit in own if not circuit.spare]
    least, unrecorded = min((ka for ka in break_at if ka is not None), default=None), break_at.count(None)
    if len(feeders) != 1:
        return AtBoard(None, rcd_of(most), None, least, unrecorded)
    return AtBoard(device_of(feeders[0]), rcd_of(most), rcd_of(feeders[0]), least, unrecorded)


def rcd_of(circuit: Circuit | None) -> Rcd | None:
    """The RCD as the standards read it; None where its rated residual current is not recorded."""
    if circuit is not None and circuit.rcd_kind == VOLTAGE_OPERATED:
        return Rcd(None, VOLTAGE_OPERATED)
    if circuit is None or not circuit.rcd_ma:
        return None
    own = circuit.device_standard == "BS EN 61009" and not circuit.rcd_shared
    return Rcd(Decimal(circuit.rcd_ma), circuit.rcd_kind, circuit.device_standard if own else "")


def others_of(circuits: Collection[Circuit]) -> dict[UUID, dict[Quantity, Decimal]]:
    """The latest other readings of circuits by their key, in their units, with Zdb of their board. One statement."""
    rows = Reading.objects.filter(board__in={c.board_id for c in circuits}, value__isnull=False, above_range=False)
    found: dict[UUID, dict[Quantity, Decimal]] = {circuit.pk: {} for circuit in circuits}
    at_board: dict[UUID, dict[Quantity, Decimal]] = {}
    for circuit, board, quantity, value in rows.order_by("taken_at", "pk").values_list(
        "circuit", "board", "quantity", "value"
    ):
        if circuit is None:
            at_board.setdefault(board, {})[Quantity(quantity)] = value or Decimal(0)
        elif circuit in found:
            found[circuit][Quantity(quantity)] = value or Decimal(0)
    for circuit_row in circuits:
        for quantity, value in at_board.get(circuit_row.board_id, {}).items():
            found[circuit_row.pk].setdefault(quantity, value)
    return found
