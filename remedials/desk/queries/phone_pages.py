"""Which pages of a visit an engineer needs without signal. Whoever adds a page for engineers adds its address here.

Each function is given what is known of one visit (`AtVisit`) and asks the database nothing. An address that answers with
a redirect, an error or `no-store` is simply not kept, so a function need not know whether a page would open today. Pages
with money, alarm codes or private links never stand here.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from inspections.models import Observation
from jobsite.addresses import address
from jobsite.premises.models import Circuit
from jobsite.premises.queries import isolation
from remedials.visits.models import Visit
from remedials.works.models import Remedial
from remedials.works.queries.isolating import still_recorded


@dataclass
class AtVisit:
    """A visit and what it is about, the worst and first in front."""

    visit: Visit
    remedials: list[Remedial] = field(default_factory=list)
    observations: dict[UUID, list[Observation]] = field(default_factory=dict)  # by remedial
    looks: list[Observation] = field(default_factory=list)  # to be looked at again, or called out for
    lines: list[int] = field(default_factory=list)  # what else is to be done: an inspection, a look, a call-out
    needed: dict[UUID, list[Circuit]] = field(default_factory=dict)  # by remedial: circuits that it must read on
    circuits: list[UUID] = field(default_factory=list)  # whose readings its work asks for
    ways: dict[UUID, list[UUID]] = field(default_factory=dict)  # circuits by board, for the boards that it is about
    other_boards: list[UUID] = field(default_factory=list)  # the rest of the site's

    @property
    def site(self) -> UUID:
        return self.visit.site_id

    @property
    def seen(self) -> list[Observation]:
        """Every observation that the visit is about, each once."""
        found = [o for r in self.remedials for o in self.observations.get(r.pk, [])] + self.looks
        return list({o.pk: o for o in found}.values())

    @property
    def boards(self) -> list[UUID]:
        """The boards that it is about."""
        return list(dict.fromkeys(o.board_id for o in self.seen if o.board_id))


Pages = Iterator[str]


def of_the_visit(at: AtVisit) -> Pages:
    """The visit itself, its site, and getting in."""
    visit = at.visit.pk
    yield address("visits:visit", visit)
    yield address("visits:bring", visit)
    yield address("visits:check_in", visit)
    yield address("visits:no_access", visit)
    yield address("visits:attempt_new", at.site, visit=visit)
    for line in at.lines:
        yield address("visits:settle", visit, line=line)
    yield address("desk:site", at.site)


def of_found(at: AtVisit) -> Pages:
    """Something else found: from the visit, from each work, which says where one stands, and from its closing."""
    yield address("inspections:found", at.site, visit=at.visit.pk)
    for remedial in at.remedials:
        yield address("inspections:found", at.site, visit=at.visit.pk, remedial=remedial.pk)
        yield address("inspections:found", at.site, remedial=remedial.pk)


def of_the_work(at: AtVisit) -> Pages:
    """Each remedial: what it is, closing it, and saying that it could not be finished."""
    for remedial in at.remedials:
        yield address("works:close", remedial.pk)
        yield address("works:part_done", remedial.pk)
        yield address("desk:remedial", remedial.pk)


def of_isolation(at: AtVisit) -> Pages:
    """What to switch off for each work, and the page on which one asks about other work."""
    for remedial in at.remedials:
        works = still_recorded(at.observations.get(remedial.pk, ()), at.needed.get(remedial.pk, ()))
        if works and remedial.power_off is not False:
            yield isolation.where_to_ask(at.site, works)
    yield address("premises:isolation", at.site)


def of_observations(at: AtVisit) -> Pages:
    """What was found: the observation, making it safe, looking again, telling of the danger, a photo."""
    for observation in at.seen:
        yield address("desk:observation", observation.pk)
        yield address("inspections:make_safe", observation.pk)
        if observation.made_safe:
            yield address("inspections:look_again", observation.pk)
            yield address("inspections:reconnect", observation.pk)
        yield address("inspections:notice", observation.pk)
        yield address("inspections:photo_add", observation.pk)


def of_boards(at: AtVisit) -> Pages:
    """The boards that the work is about with their circuits, readings and verifying; of the site's others the page."""
    for board in at.boards:
        yield address("desk:board", board)
        yield address("premises:at_the_board", board)
        yield address("premises:board_verify", board)
        yield address("inspections:board_readings", board)
        for circuit in at.ways.get(board, []):
            yield address("premises:circuit_verify", circuit)
    for circuit in at.circuits:
        yield address("inspections:reading", circuit)
    for board in at.other_boards:
        yield address("desk:board", board)
        yield address("premises:at_the_board", board)


def of_switching(at: AtVisit) -> Pages:
    """Which feed is the true one, by switching off."""
    yield address("premises:tracing", at.site)
    yield address("premises:switching_new", at.site)


PAGES_OF_VISIT: list[Callable[[AtVisit], Iterable[str]]] = [
    of_the_visit,
    of_found,
    of_the_work,
    of_isolation,
    of_observations,
    of_boards,
    of_switching,
]


def pages_of(at: AtVisit) -> list[str]:
    """Every address for this visit, each once, in the order in which they are fetched."""
    return list(dict.fromkeys(page for pages in PAGES_OF_VISIT for page in pages(at)))


def of_the_day(_: Any = None) -> list[str]:
    """Pages of nobody's visit in particular."""
    return [address("visits:my_day"), address("visits:my_bring")]
