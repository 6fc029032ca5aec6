"""When the next inspection of a unit is due, stored with the rule that says so; written when its reasons change."""

from datetime import date, datetime

from inspections import rules
from inspections.choices import InspectionKind, InspectionState
from inspections.models import Inspection, InspectionDue
from inspections.operations.clocks import in_words
from inspections.queries.facts import facts_on
from inspections.standards import clocks
from inspections.standards.first_inspection import first_inspection
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind
from jobsite import clock
from jobsite.firm.queries import policy_on
from jobsite.ledger.actor import Actor
from jobsite.people.models import User
from jobsite.premises.models import Unit

SETTLING = (InspectionKind.PERIODIC, InspectionKind.INITIAL)


def next_due_of(unit: Unit) -> date | None:
    """The day by which the unit's next inspection is due, where that is known."""
    return InspectionDue.objects.filter(unit=unit).values_list("due_on", flat=True).first()


def set_inspection_due(inspection: Inspection, unit: Unit, *, by: Actor, notice_days: int) -> InspectionDue | None:
    """Write when the next inspection of `unit` is due after `inspection`; None where that settles nothing.

    A survey or a call-out settles it only where it names a date itself. A report of an earlier day never moves the
    date that a later one set.
    """
    if inspection.kind not in SETTLING and inspection.next_due_on is None:
        return None
    due = _locked(unit)
    if due and due.after and due.after.inspected_on > inspection.inspected_on:
        return None
    deadline = clocks.next_inspection(
        inspection.inspected_on,
        nation=Nation(inspection.site.nation),
        tenure=Tenure(unit.tenure),
        premises_kind=PremisesKind(unit.kind),
        recommended_on=inspection.next_due_on,
        tenancy_granted_on=unit.tenancy_granted_on,
        facts=facts_on(inspection.inspected_on),
    )
    if deadline.on is None:
        return None
    return _written(due or InspectionDue(unit=unit), deadline, inspection, by=by, notice_days=notice_days)


def settle_anew(unit: Unit, *, by: Actor, now: datetime) -> tuple[date | None, date | None]:
    """Inside an operation: work out anew when the unit's next inspection is due; the day before, and the day now.

    By the last report that settles it; without any, by the law for a let home of which no inspection is on record.
    """
    before = next_due_of(unit)
    notice = policy_on(clock.local_day(now)).inspection_notice_days
    last = _last_report(unit)
    if last is not None:
        set_inspection_due(last, unit, by=by, notice_days=notice)
    else:
        _without_report(unit, by=by, today=clock.local_day(now), notice_days=notice)
    return before, next_due_of(unit)


def _last_report(unit: Unit) -> Inspection | None:
    rows = unit.inspections.filter(state=InspectionState.ISSUED).select_related("site")
    settling = [row for row in rows.order_by("-inspected_on", "-number") if row.kind in SETTLING or row.next_due_on]
    return settling[0] if settling else None


def _without_report(unit: Unit, *, by: Actor, today: date, notice_days: int) -> None:
    due = _locked(unit)
    noticed = (due and due.noticed_on) or today
    deadline = first_inspection(
        today,
        noticed_on=noticed,
        nation=Nation(unit.site.nation),
        tenure=Tenure(unit.tenure),
        premises_kind=PremisesKind(unit.kind),
        tenancy_granted_on=unit.tenancy_granted_on,
        facts=facts_on(today),
    )
    if deadline is None:
        InspectionDue.objects.filter(unit=unit).delete()
    else:
        due = due or InspectionDue(unit=unit)
        due.noticed_on = noticed
        _written(due, deadline, None, by=by, notice_days=notice_days)


def _locked(unit: Unit) -> InspectionDue | None:
    """The unit's row, locked; of two first reports at once, one waits here."""
    Unit.objects.select_for_update(of=("self",), no_key=True).get(pk=unit.pk)
    return InspectionDue.objects.select_for_update(of=("self",)).select_related("after").filter(unit=unit).first()


def _written(
    due: InspectionDue, deadline: clocks.Deadline, after: Inspection | None, *, by: Actor, notice_days: int
) -> InspectionDue:
    on = deadline.on or date.max
    due.due_on, due.basis, due.by_law = on, in_words(deadline), deadline.legal
    due.shows_from = rules.shows_from(on, notice_days)
    due.after, due.owner = after, due.owner or (by if isinstance(by, User) else None)
    due.noticed_on = None if after else due.noticed_on
    due.save()
    return due
