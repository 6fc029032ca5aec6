"""What the isolation for a remedial is about: the same on its page, its closing, the visit, the sheet and the phone."""

from collections import defaultdict
from collections.abc import Iterable
from uuid import UUID

from inspections.models import Observation
from jobsite.premises.isolation import Work
from jobsite.premises.models import Circuit
from jobsite.premises.queries.isolation import work_of
from remedials.works.models import RequiredReading

READINGS_IN_ORDER = ("circuit__board__sort", "circuit__way", "circuit__phase", "pk")
"""Required readings in the order of boards and ways."""


def circuits_needed(remedials: Iterable[UUID]) -> defaultdict[UUID, list[Circuit]]:
    """By remedial: the circuits of the readings that it must pass, in the order of boards and ways. One statement."""
    found: defaultdict[UUID, list[Circuit]] = defaultdict(list)
    rows = RequiredReading.objects.filter(remedial__in=list(remedials)).select_related("circuit__board")
    for need in rows.order_by(*READINGS_IN_ORDER):
        found[need.remedial_id].append(need.circuit)
    return found


def worked_on(observations: Iterable[Observation], circuits: Iterable[Circuit]) -> list[Work]:
    """What to isolate for a remedial: what its `observations` are at, then the `circuits` that it must read on.

    Each once, observations in the order of their numbers, so that every page asks at the same address: the phone keeps
    that one. [] where nothing names a board.
    """
    found = [work_of(o.board_id, o.circuit_id) for o in sorted(observations, key=lambda o: o.number)]
    found += [work_of(circuit.board_id, circuit.pk) for circuit in circuits]
    return list(dict.fromkeys(work for work in found if work is not None))


def still_recorded(observations: Iterable[Observation], circuits: Iterable[Circuit]) -> list[Work]:
    """`worked_on` without what was taken out of the record since. No statement where boards were read along."""
    observations, circuits = list(observations), list(circuits)
    ways = [o.circuit for o in observations if o.circuit] + circuits
    boards = [o.board for o in observations if o.board]
    gone = {way.pk for way in ways if way.retired_at or way.board.retired_at} | {b.pk for b in boards if b.retired_at}
    return [work for work in worked_on(observations, circuits) if UUID(work.id) not in gone]
