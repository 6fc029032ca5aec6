"""The loop impedance limit of a circuit, worked out from what the record knows of it."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from uuid import UUID

from inspections.rules import NormalFeed, Origin, origins_of
from inspections.standards.devices import CircuitRole, Device, Earthing, Rcd
from inspections.standards.editions import edition_in_force
from inspections.standards.impedance import U0_VOLTS, LoopLimits, entered_limit, loop_limits
from jobsite.firm.queries import policy_on
from jobsite.premises.choices import Arrangement, FeedKind
from jobsite.premises.models import Board, Circuit, Feed

OWN = Board.objects.exclude(own_earthing="").exclude(own_earthing=Earthing.UNKNOWN)


def loop_limit_for(
    circuit: Circuit,
    *,
    on: date,
    limit_entered: Decimal | None = None,
    limit_source: str = "",
    already_corrected: bool = False,
) -> LoopLimits:
    """The limit in ohms with its basis, or `EnterLimit` with the reason why a person must enter one.

    By the firm's policy and the edition in force on `on`. An entered limit goes before the computed one, with the factor
    for a cold conductor unless it is `already_corrected`. Raises ValueError for an entered limit that cannot be, or
    without its source. At most four statements.
    """
    origin, factor = origin_of(circuit), policy_on(on).loop_factor
    if limit_entered is not None:
        earthing = Earthing(origin.earthing) if origin else Earthing.UNKNOWN
        return entered_limit(limit_entered, limit_source, earthing, already_corrected=already_corrected, factor=factor)
    return _computed(circuit, origin, role_of(circuit), factor=factor, on=on)


def loop_limits_of(circuits: Collection[Circuit], *, on: date) -> dict[UUID, LoopLimits]:
    """The computed limits of circuits of one site by their keys. Three statements, however many circuits."""
    if not circuits:
        return {}
    supply, factor = supply_of(next(iter(circuits)).site_id), policy_on(on).loop_factor
    return {
        circuit.pk: _computed(
            circuit, supply.origin_of(circuit), _role(circuit, circuit.pk in supply.feeding), factor=factor, on=on
        )
        for circuit in circuits
    }


def _computed(circuit: Circuit, origin: Origin | None, role: CircuitRole, *, factor: Decimal, on: date) -> LoopLimits:
    return loop_limits(
        device_of(circuit),
        Earthing(origin.earthing) if origin else Earthing.UNKNOWN,
        role,
        Rcd(Decimal(circuit.rcd_ma)) if circuit.rcd_ma else None,
        factor=factor,
        u0_volts=Decimal(origin.volts) if origin else U0_VOLTS,
        edition=edition_in_force(on),
    )


@dataclass(frozen=True)
class SiteSupply:
    """How a site's boards are fed: normal feeds, earthing of boards that have their own, circuits that feed a board."""

    feeds: list[NormalFeed]
    own: dict[str, str]
    feeding: frozenset[UUID]

    def origin_of(self, circuit: Circuit) -> Origin | None:
        """The earthing and nominal voltage that the circuit hangs on; None where the record does not settle them."""
        found = origins_of(str(circuit.board_id), self.feeds, self.own)
        return next(iter(found)) if len(found) == 1 else None


def supply_of(site_id: UUID) -> SiteSupply:
    """How the boards of a site are fed, as far as limits depend on it. Two statements."""
    rows = Feed.objects.filter(site=site_id).values_list(
        "kind", "board_id", "from_circuit", "from_circuit__board_id", "from_supply__earthing", "from_supply__voltage"
    )
    feeds, feeding = [], set()
    for kind, board, circuit, above, earthing, volts in rows:
        feeding |= {circuit} - {None}
        if kind == FeedKind.NORMAL:
            origin = Origin(earthing, volts) if earthing else None
            feeds.append(NormalFeed(str(board), str(above) if above else None, origin))
    own = OWN.filter(site=site_id).values_list("pk", "own_earthing")
    return SiteSupply(feeds, {str(board): earthing for board, earthing in own}, frozenset(feeding))


def origin_of(circuit: Circuit) -> Origin | None:
    """The earthing and nominal voltage that the circuit hangs on; None where the record does not settle them."""
    return supply_of(circuit.site_id).origin_of(circuit)


def device_of(circuit: Circuit) -> Device | None:
    """The protective device as the standards read it; None where its rating or its standard is not recorded."""
    if circuit.rating_a is None or not circuit.device_standard:
        return None
    return Device(circuit.device_standard, circuit.device_type, circuit.rating_a)


def role_of(circuit: Circuit) -> CircuitRole:
    """A distribution circuit where it is recorded as one or feeds a board; else a final circuit."""
    return _role(circuit, circuit.arrangement == Arrangement.UNKNOWN and circuit.feeds.exists())


def _role(circuit: Circuit, feeds_a_board: bool) -> CircuitRole:
    unknown_but_feeds = circuit.arrangement == Arrangement.UNKNOWN and feeds_a_board
    distributes = circuit.arrangement == Arrangement.DISTRIBUTION or unknown_but_feeds
    return CircuitRole.DISTRIBUTION if distributes else CircuitRole.FINAL
