"""What the isolation for a remedial is about: the same on its page, its closing, the visit, the sheet and the phone."""

from collections import defaultdict
from collections.abc import Iterable
from uuid import UUID

from inspections.models import Observation
from jobsite.premises.isolation import Work
from jobsite.premises.models import Circuit
from jobsite.premises.queries.isolation import work_of
from remedials.works.models import Remedial, RequiredReading

READINGS_IN_ORDER = ("circuit__board__sort", "circuit__way", "circuit__phase", "pk")
"""Required readings in the order of boards and ways."""


def circuits_to_read(remedials: Iterable[UUID]) -> dict[UUID, list[Circuit]]:
    """By remedial: the circuits of the readings that it must pass, in the order of boards and ways. One statement."""
    found: dict[UUID, list[Circuit]] = defaultdict(list)
    rows = RequiredReading.objects.filter(remedial__in=list(remedials)).select_related("circuit")
    for need in rows.order_by(*READINGS_IN_ORDER):
        found[need.remedial_id].append(need.circuit)
    return found


def worked_on(remedial: Remedial, observations: Iterable[Observation], circuits: Iterable[Circuit]) -> list[Work]:
    """What to isolate for `remedial`: what its `observations` are at, then the `circuits` that it must read on.

    Each once, observations in the order of their numbers, so that every page asks at the same address: the phone keeps
    that one. [] where power may stay on, or where nothing names a board.
    """
    if remedial.power_off is False:
        return []
    found = [work_of(o.board_id, o.circuit_id) for o in sorted(observations, key=lambda o: o.number)]
    found += [work_of(circuit.board_id, circuit.pk) for circuit in circuits]
    return list(dict.fromkeys(work for work in found if work is not None))
