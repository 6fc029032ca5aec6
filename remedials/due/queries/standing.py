"""What some messages rest on, read for all of them at once: asking the due list costs the same for one as for twenty."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Self
from uuid import UUID

from inspections.models import InspectionDue, Observation
from jobsite.messages.models import Message
from jobsite.people.models import User
from remedials.due.models import DueRow, Leaving, NoReminders

INSPECTION = "inspection"


@dataclass(frozen=True)
class Standing:
    """The facts of the moment at which they were read."""

    staff: frozenset[UUID] = frozenset()  # who still works here
    want_none: frozenset[UUID] = frozenset()  # customers who want no reminders
    leaving: frozenset[UUID] = frozenset()  # sites whose closing letter is on its way
    rows: frozenset[tuple[str, UUID]] = frozenset()  # kind and key of what is in the due list
    booked: frozenset[UUID] = frozenset()  # of inspections in it: those that are booked
    dangers: frozenset[UUID] = frozenset()  # observations that are a C1 nobody made safe
    inspections: dict[UUID, InspectionDue] = field(default_factory=dict)  # by unit

    @classmethod
    def of(cls, messages: Iterable[Message], *, of_the_list: frozenset[str], danger: str) -> Self:
        """Read what `messages` rest on. At most six statements, none for what none of them rests on.

        `of_the_list`: reasons that are no kinds of the due list or are not looked up there; `danger` is the reason of a C1.
        """
        found = list(messages)
        to_staff = {m.to_id for m in found if m.to_kind == Message.To.STAFF}
        reminders = [m for m in found if m.reminder]
        dangers = {m.reason_ref for m in found if m.reason_kind == danger and m.reason_ref}
        listed = {(m.reason_kind, m.reason_ref) for m in found if m.reason_kind not in of_the_list and m.reason_ref}
        units = {ref for kind, ref in listed if kind == INSPECTION}
        rows = _rows(listed)
        return cls(
            staff=_staff(to_staff),
            want_none=_want_none({m.to_id for m in reminders}),
            leaving=_leaving({m.site for m in reminders if m.site}),
            rows=frozenset((kind, ref) for kind, ref, _ in rows),
            booked=frozenset(ref for kind, ref, visit in rows if kind == INSPECTION and visit),
            dangers=_dangers(dangers),
            inspections=_inspections(units),
        )


def _staff(people: set[UUID]) -> frozenset[UUID]:
    active = User.objects.filter(pk__in=people, is_active=True)
    return frozenset(active.values_list("pk", flat=True)) if people else frozenset()


def _want_none(parties: set[UUID]) -> frozenset[UUID]:
    rows = NoReminders.objects.filter(party__in=parties, lifted_at__isnull=True)
    return frozenset(rows.values_list("party", flat=True)) if parties else frozenset()


def _leaving(sites: set[UUID]) -> frozenset[UUID]:
    rows = Leaving.objects.filter(site__in=sites, taken_back_at__isnull=True)
    return frozenset(rows.values_list("site", flat=True)) if sites else frozenset()


def _rows(listed: set[tuple[str, UUID]]) -> list[tuple[str, UUID, UUID | None]]:
    if not listed:
        return []
    kinds, refs = {kind for kind, _ in listed}, {ref for _, ref in listed}
    return list(DueRow.objects.filter(kind__in=kinds, ref__in=refs).values_list("kind", "ref", "visit"))


def _dangers(observations: set[UUID]) -> frozenset[UUID]:
    if not observations:
        return frozenset()
    rows = Observation.objects.bare().filter(pk__in=observations, site__archived_at__isnull=True)
    return frozenset(rows.values_list("pk", flat=True))


def _inspections(units: set[UUID]) -> dict[UUID, InspectionDue]:
    if not units:
        return {}
    return {row.unit_id: row for row in InspectionDue.objects.select_related("unit__site").filter(unit__in=units)}
