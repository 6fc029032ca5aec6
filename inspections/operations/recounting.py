"""Dates counted again, after what they rest on was changed: tenure, nation, kind of premises, the firm's policy."""

from collections.abc import Collection, Iterable, Mapping
from datetime import date, datetime
from typing import Any
from uuid import UUID

from inspections import policy
from inspections.choices import Code, InspectionState
from inspections.models import Inspection, InspectionDue, Observation
from inspections.operations import clocks, ground
from inspections.operations.keeping import keep_completion, reports_papers, units_papers
from inspections.operations.next_inspections import set_inspection_due, settle_anew
from inspections.operations.occupancy import changes_papers
from inspections.verbs import Verb
from jobsite import clock
from jobsite.firm.queries import policy_on
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.premises.models import Unit
from jobsite.refused import Refused

REMEDY = ["remedy_by", "remedy_basis", "remedy_by_law"]


@operation
def count_dates_again(inspection: Inspection, *, by: User, now: datetime) -> int:
    """Count again when the next inspection is due and by when each open observation of the report is to be remedied.

    By the site and units as they are recorded now, and the policy of the day of the inspection. The day by which to make
    safe and the next steps stay. Returns how many dates changed; one entry for each. The report itself stays as it is.
    """
    ground.must(policy.may_inspect(by), "Your rights do not cover counting dates.")
    ground.held_site(inspection.site)
    inspection = ground.locked(inspection)
    if inspection.state != InspectionState.ISSUED:
        raise Refused("Dates run from the issue of a report that is in force.")
    rows = inspection.observations.filter(ended="").exclude(code="").select_for_update(of=("self",)).order_by("pk")
    observations = list(rows.select_related("site", "unit", "inspection", "continues"))
    moved = _next_inspections(inspection, by=by, now=now)
    due = dict(InspectionDue.objects.filter(unit__in=inspection.units.all()).values_list("unit", "due_on"))
    for observation in observations:
        moved += _again(observation, due.get(observation.unit_id), by=by, now=now)
    moved += let_c3_follow(due, besides=[o.pk for o in observations], by=by, now=now)
    reports_papers(inspection, by=by, now=now)
    keep_completion([], by=by, now=now, report=inspection)
    return moved


def count_units_again(units: Iterable[Unit], *, by: Actor, now: datetime) -> None:
    """Inside an operation that changed what the law or the kind of premises asks of `units`: all their dates anew.

    The next inspection, by when each open observation is to be remedied, and last the papers that the law asks for; one
    entry for each date that changed.
    """
    units = list(units)
    for unit in units:
        before, after = settle_anew(unit, by=by, now=now)
        if before != after:
            facts = {"unit": str(unit.pk), "next_due_before": ground.iso(before), "next_due": ground.iso(after)}
            record(Verb.RECOUNTED, site=unit.site_id, subject=unit, by=by, now=now, facts=facts)
        rows = Observation.objects.open().filter(unit=unit).exclude(code="").select_for_update(of=("self",))
        for row in rows.select_related("site", "unit", "inspection", "continues").order_by("pk"):
            _again(row, after, by=by, now=now)
    for unit in units:
        units_papers(unit, by=by, now=now)
        changes_papers(unit, by=by, now=now)


def let_c3_follow(due: Mapping[Any, date], *, besides: Collection[UUID], by: User, now: datetime) -> int:
    """Inside an operation: open C3 of these units are due by the unit's next inspection, whatever report recorded them.

    `due`: the day by the unit's key. All but `besides`. Returns how many dates changed; one entry for each.
    """
    rows = Observation.objects.open().filter(code=Code.C3, unit__in=list(due)).exclude(pk__in=besides)
    rows = rows.select_for_update(of=("self",)).select_related("site", "unit", "inspection", "continues")
    return sum(_again(row, due[row.unit_id], by=by, now=now) for row in rows.order_by("pk"))


def _next_inspections(inspection: Inspection, *, by: User, now: datetime) -> int:
    """Count again what this report settled; how many of those dates changed."""
    notice = policy_on(clock.local_day(now)).inspection_notice_days
    moved = 0
    for unit in inspection.units.order_by("pk"):
        before = InspectionDue.objects.filter(unit=unit).first()
        after = set_inspection_due(inspection, unit, by=by, notice_days=notice)
        if after and (before is None or (before.due_on, before.basis) != (after.due_on, after.basis)):
            facts = {"unit": str(unit.pk), "next_due_before": ground.iso(before.due_on if before else None)}
            facts |= {"next_due": ground.iso(after.due_on)}
            record(Verb.RECOUNTED, site=inspection.site_id, subject=inspection, by=by, now=now, facts=facts)
            moved += 1
    return moved


def _again(observation: Observation, next_due: date | None, *, by: Actor, now: datetime) -> int:
    before = [getattr(observation, name) for name in REMEDY]
    safe = observation.make_safe_by
    clocks.set_clocks(observation, next_due=next_due)
    observation.make_safe_by = safe
    if before == [getattr(observation, name) for name in REMEDY]:
        return 0
    observation.version += 1
    observation.save(update_fields=[*REMEDY, "version"])
    facts = {
        "remedy_by_before": ground.iso(before[0]),
        "remedy_by": ground.iso(observation.remedy_by),
        "by_law": observation.remedy_by_law,
    }
    record(Verb.RECOUNTED, site=observation.site_id, subject=observation, by=by, now=now, facts=facts)
    return 1
