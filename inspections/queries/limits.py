"""How a site is supplied, as far as the limits of its readings depend on it."""

from dataclasses import dataclass
from uuid import UUID

from inspections.rules import NormalFeed, Origin, origins_of
from inspections.standards.devices import CircuitRole, Device, Earthing
from jobsite.premises.choices import CANDIDATE_FEEDS, Arrangement, FeedKind
from jobsite.premises.models import Board, Circuit, Feed

OWN = Board.objects.exclude(own_earthing="").exclude(own_earthing=Earthing.UNKNOWN)


@dataclass(frozen=True)
class SiteSupply:
    """How a site's boards are fed: normal feeds, earthing of boards that have their own, circuits that feed a board."""

    feeds: list[NormalFeed]
    own: dict[str, str]
    feeding: frozenset[UUID]

    def origin_of(self, circuit: Circuit) -> Origin | None:
        """The earthing and nominal voltage that the circuit hangs on; None where the record does not settle them."""
        return self.origin_at(circuit.board_id)

    def origin_at(self, board: UUID) -> Origin | None:
        """The same of a board."""
        found = origins_of(str(board), self.feeds, self.own)
        return next(iter(found)) if len(found) == 1 else None

    def role_of(self, circuit: Circuit) -> CircuitRole:
        """A distribution circuit where it is recorded as one or feeds a board; else a final circuit."""
        return _role(circuit, circuit.pk in self.feeding)


def supply_of(site_id: UUID) -> SiteSupply:
    """How the boards of a site are fed, as far as limits depend on it. Two statements."""
    rows = Feed.objects.filter(site=site_id).values_list(
        "kind", "board_id", "from_circuit", "from_circuit__board_id", "from_supply__earthing", "from_supply__voltage"
    )
    feeds, feeding = [], set()
    for kind, board, circuit, above, earthing, volts in rows:
        # A way that may only possibly feed a board is judged as a final circuit: the limit is the stricter one.
        feeding |= {circuit} - {None} if kind != FeedKind.POSSIBLE else set()
        if kind in CANDIDATE_FEEDS:
            origin = Origin(earthing, volts) if earthing else None
            feeds.append(NormalFeed(str(board), str(above) if above else None, origin))
    own = OWN.filter(site=site_id).values_list("pk", "own_earthing")
    return SiteSupply(feeds, {str(board): earthing for board, earthing in own}, frozenset(feeding))


def device_of(circuit: Circuit) -> Device | None:
    """The protective device as the standards read it; None where its rating or its standard is not recorded."""
    if circuit.rating_a is None or not circuit.device_standard:
        return None
    return Device(circuit.device_standard, circuit.device_type, circuit.rating_a)


def _role(circuit: Circuit, feeds_a_board: bool) -> CircuitRole:
    unknown_but_feeds = circuit.arrangement == Arrangement.UNKNOWN and feeds_a_board
    distributes = circuit.arrangement == Arrangement.DISTRIBUTION or unknown_but_feeds
    return CircuitRole.DISTRIBUTION if distributes else CircuitRole.FINAL
