"""The rows behind a portfolio: each statement once, whatever the number of sites and units."""

from collections import defaultdict
from collections.abc import Iterable
from copy import copy
from dataclasses import dataclass, field
from datetime import date, datetime
from itertools import chain
from typing import Any
from uuid import UUID

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import Count, OuterRef, Q, QuerySet, Subquery

from inspections.choices import Ended, InspectionKind, InspectionState
from inspections.models import Inspection, Limitation, MadeSafe, Observation
from jobsite.people.names import AsCustomersRead
from jobsite.premises.choices import RoleAtUnit
from jobsite.premises.models import Board, Party, Unit
from remedials.status.facts import Facts, Scope, for_one_home, unworded
from remedials.status.queries.standing import bases_of
from remedials.visits.models import Attempt, VisitLine
from remedials.visits.queries.evidence import about_units, concerns, with_units
from remedials.works.models import Proof, Remedies

# Whoever only lives there is none of those to whom a portfolio is shown.
ANSWERING = (RoleAtUnit.OWNER, RoleAtUnit.AGENT, RoleAtUnit.PAYER, RoleAtUnit.APPROVER)


@dataclass
class OfUnit:
    """What is known of one unit: `known` is what its own page rests on, as far as that page's first sentences go."""

    unit: Any
    known: Facts
    bases: list[Any] = field(default_factory=list)
    attempts: list[Any] = field(default_factory=list)

    @property
    def basis(self) -> Any:
        """The last full inspection, or a visual survey where there is none; None where there is neither."""
        return next(iter(self.bases), None)


def units_of(party: Party, today: date) -> QuerySet[Unit]:
    """The units that `party` answers for on `today`: as owner, agent, payer or approver, or as the customer of their site.

    As things stand now: not those retired or handed over, nor sites archived or merged into another.
    """
    roles = party.roles.filter(Q(until=None) | Q(until__gte=today), since__lte=today, role__in=ANSWERING)
    found = Unit.objects.filter(retired_at=None, site__archived_at=None)
    return found.filter(Q(site__customer=party) | Q(pk__in=roles.values("unit")))


def listed(party: Party, today: date) -> list[Any]:
    """Those units by site and name, with the last proof of work at each. One statement."""
    worked = Proof.objects.filter(remedial__unit=OuterRef("pk")).order_by("-done_at").values("done_at")
    found = units_of(party, today).select_related("site", "inspection_due__after")
    return list(found.annotate(worked_at=Subquery(worked[:1])).order_by("site__sort", "site", "sort", "pk"))


def known(units: list[Any], reads: AsCustomersRead) -> list[OfUnit]:
    """All that the lines of `units` rest on, with free text as customers read it. Seven statements at most."""
    found = {unit.pk: OfUnit(unit, Facts(Scope(unit.site, [unit], one_unit=True), reads=reads)) for unit in units}
    _add_open(found)
    _add_inspections(found)
    _add_attempts(found)
    return list(found.values())


def _add_open(found: dict[UUID, OfUnit]) -> None:
    """The open items with when each was made safe, and their works with the visit that each is booked on. Two statements."""
    standing = MadeSafe.objects.filter(observation=OuterRef("pk"), ended="").values("at")
    rows = Observation.objects.open().filter(unit__in=list(found)).annotate(safe_at=Subquery(standing[:1]))
    unit_of: dict[UUID, UUID] = {}
    for item in rows.select_related("board", "circuit").order_by("number"):
        unworded(item)
        found[item.unit_id].known.observations.append(item)
        unit_of[item.pk] = item.unit_id
    line = VisitLine.objects.filter(remedial=OuterRef("remedial"), active=True)
    works = Remedies.objects.filter(observation__in=rows.values("pk")).select_related("remedial")
    works = works.annotate(
        starts=Subquery(line.values("visit__start")[:1]), ends=Subquery(line.values("visit__end")[:1])
    )
    for work in works.order_by("remedial__number"):
        found[unit_of[work.observation_id]].known.remedies.setdefault(work.observation_id, []).append(work)


def closed_since(units: Iterable[UUID], first: date) -> QuerySet[Observation]:
    """Items of `units` that were put right, investigated or found to be gone since `first`."""
    ended = Q(ended__in=[Ended.REMEDIED, Ended.OTHERS, Ended.FINDING, Ended.GONE], ended_on__gte=first)
    return Observation.objects.filter(ended, unit__in=list(units), draft=False)


def inspections_since(units: Iterable[UUID], first: date) -> int:
    """How many inspections of `units` were issued and took place since `first`. One statement."""
    found = Inspection.objects.filter(state=InspectionState.ISSUED, inspected_on__gte=first, units__in=list(units))
    return found.exclude(kind=InspectionKind.CALL_OUT).distinct().count()


# --- inspections ------------------------------------------------------------------------------------------------------


def _add_inspections(found: dict[UUID, OfUnit]) -> None:
    """The reports in force of each unit, the latest first, with what counts of each for that unit. Three statements."""
    through = Inspection.units.through.objects.filter(inspection=OuterRef("pk")).values("unit")
    rows = Inspection.objects.filter(state=InspectionState.ISSUED, units__in=list(found)).distinct()
    rows = rows.exclude(kind=InspectionKind.CALL_OUT).annotate(unit_keys=ArraySubquery(through))
    for row in rows.order_by("-inspected_on", "-issued_at", "-pk"):
        for own in (found[key] for key in row.unit_keys if key in found):
            own.known.inspections.append(copy(row))  # how many of its boards a report names differs by unit
    for own in found.values():
        own.bases = list(bases_of(own.known))
    bases = {basis.pk for own in found.values() for basis in own.bases}
    _add_missed(found, bases)
    _add_boards(found, bases)


def _add_missed(found: dict[UUID, OfUnit], bases: set[UUID]) -> None:
    """What each of these inspections left out that concerns the unit, and nobody covered since."""
    served = Board.units.through.objects.filter(board=OuterRef("board")).values("unit")
    rows = Limitation.objects.standing().filter(inspection__in=bases).annotate(served=ArraySubquery(served))
    by_inspection: dict[UUID, list[Any]] = defaultdict(list)
    for row in rows.order_by("pk"):
        by_inspection[row.inspection_id].append(row)
    homes = {basis.pk: len(basis.unit_keys) for own in found.values() for basis in own.bases}
    for key, own in found.items():
        for row in chain.from_iterable(by_inspection[basis.pk] for basis in own.bases):
            elsewhere = row.board_id and row.served and key not in row.served and own.known.scope.part
            if row.unit_id in (None, key) and not elsewhere:
                own.known.limitations.append(row := copy(row))
                if own.known.scope.part:
                    for_one_home(row, homes=homes[row.inspection_id])


def _add_boards(found: dict[UUID, OfUnit], bases: set[UUID]) -> None:
    """How many boards there are for each unit, and how many of them its inspection names."""
    served = Board.units.through.objects.filter(board=OuterRef("pk")).values("unit")
    named = Inspection.boards.through.objects.filter(board=OuterRef("pk"), inspection__in=bases).values("inspection")
    sites = {own.unit.site_id for own in found.values()}
    rows = Board.objects.filter(site__in=sites, retired_at=None)
    at: dict[UUID, list[Any]] = defaultdict(list)  # by site, and by unit served
    for row in rows.annotate(served=ArraySubquery(served), named=ArraySubquery(named)).only("pk", "site"):
        for key in (row.site_id, *row.served):
            at[key].append(row)
    for key, own in found.items():
        here = at[key if own.known.scope.part else own.unit.site_id]
        for basis in own.bases:
            basis.boards_here = len(here)
            basis.boards_seen = sum(basis.pk in board.named for board in here)


# --- getting in -------------------------------------------------------------------------------------------------------


def _add_attempts(found: dict[UUID, OfUnit]) -> None:
    """The attempts to get in to each unit. Those that concern somebody else's unit too stay away. Two statements at most."""
    at_site: dict[UUID, list[OfUnit]] = defaultdict(list)
    for own in found.values():
        at_site[own.unit.site_id].append(own)
    seen = set(found)
    rows = with_units(Attempt.objects.filter(site__in=list(at_site))).order_by("at", "pk")
    tried = list(rows.only("site", "unit", "visit", "how", "at", "got_in"))
    unsaid = {row.site_id for row in tried if not about_units(row)}
    counts = (
        Unit.objects.filter(site__in=unsaid, retired_at=None).order_by().values_list("site").annotate(n=Count("pk"))
    )
    whole = {site for site, number in counts if number == len(at_site[site])}
    for row in tried:
        about = [found[key] for key in about_units(row) if key in seen]
        for own in about or at_site[row.site_id]:
            if concerns(row, own.unit.pk, seen, whole=row.site_id in whole):
                own.attempts.append(row)


def shut_out(own: Any) -> int:
    """How many visits were in vain since somebody last got in: let in, at work, or inspecting there."""
    count = 0
    for row in own.attempts:
        if row.got_in:
            count = 0
        elif row.how == "visit" and not _in_later(own, row.at):
            count += 1
    return count


def _in_later(own: Any, at: datetime) -> bool:
    worked = own.unit.worked_at
    return bool(worked and worked > at) or bool(own.basis and own.basis.inspected_on > at.date())
