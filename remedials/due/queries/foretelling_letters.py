"""The letters about inspections that figures would send to customers, from the inspections as they stand."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Q

from inspections.models import InspectionDue
from jobsite import clock
from jobsite.messages.models import Message
from remedials.due.models import Leaving, NoReminders
from remedials.due.queries.foretelling import Plan
from remedials.due.rules.letters import A_WEEK, Letter, letters
from remedials.due.rules.moments import next_moment
from remedials.visits.models import Visit, VisitLine

FACTS = ("unit", "due_on", "by_law", "unit__site__customer", "unit__site__customer__name", "unit__name",
         "unit__site", "unit__site__name")  # fmt: skip


@dataclass(frozen=True)
class Sent:
    """A letter that would go out: to whom, about what."""

    customer: str
    place: str
    site: UUID
    due: date
    by_law: bool


@dataclass(frozen=True)
class Written:
    """The last letter that was really written about a unit to a customer; `waits_for`: the day it still waits for."""

    on: date
    occasion: str
    waits_for: date | None


def letters_foretold(plan: Plan) -> dict[date, list[Sent]]:
    """The letters of each day on which they would go out. Two statements.

    Those of days past as if these figures had always held; those to come go on from the letters really written.
    """
    rows = list(_inspections(plan))
    known = _written([row["unit"] for row in rows], plan)
    found: dict[date, list[Sent]] = defaultdict(list)
    for row in rows:
        last = known.get((row["unit"], row["unit__site__customer"]))
        for day in [*_in_the_past(plan, row["due_on"]), *_to_come(plan, row["due_on"], last)]:
            found[day].append(_sent(row))
    return {day: sorted(rows, key=lambda sent: (sent.customer, sent.place)) for day, rows in found.items()}


def _inspections(plan: Plan) -> Iterable[dict[str, Any]]:
    """The inspections of which a customer could hear: with an address, not booked, not stopped. One statement."""
    booked = VisitLine.objects.filter(
        unit=OuterRef("unit"), active=True, settled_at=None, visit__state=Visit.State.BOOKED
    )
    stopped = NoReminders.objects.filter(party=OuterRef("unit__site__customer"), lifted_at__isnull=True)
    leaving = Leaving.objects.filter(site=OuterRef("unit__site"), taken_back_at__isnull=True)
    rows = InspectionDue.objects.filter(
        due_on__lte=plan.days[-1] + timedelta(days=max(plan.figures.inspection_days, default=0)),
        unit__retired_at__isnull=True,
        unit__site__archived_at__isnull=True,
        unit__site__customer__archived_at__isnull=True,
    )
    unwanted = Q(by_law=False) & (Q(Exists(stopped)) | Q(Exists(leaving)))
    return rows.exclude(Q(unit__site__customer__email="") | Exists(booked) | unwanted).values(*FACTS)


def _written(units: list[UUID], plan: Plan) -> dict[tuple[UUID | None, UUID], Written]:
    """The last letter written to each customer about each unit. One statement."""
    rows = Message.objects.filter(reason_kind="inspection", reason_ref__in=units, to_kind=Message.To.CUSTOMER)
    rows = rows.order_by("reason_ref", "to_id", "-written_at").distinct("reason_ref", "to_id")
    return {(row.reason_ref, row.to_id): _as_written(row, plan) for row in rows}


def _as_written(row: Message, plan: Plan) -> Written:
    waits = row.state == Message.State.WAITING
    waits_for = clock.local_day(max(row.next_try_at, plan.now)) if waits else None
    return Written(clock.local_day(row.written_at), row.occasion, waits_for)


def _in_the_past(plan: Plan, due: date) -> list[date]:
    """The past days on which letters about an inspection would have gone out."""
    found = [_goes_out(plan, letter.on) for letter in letters(due, until=plan.today, **_figures(plan))]
    return [day for day in found if plan.days[0] <= day < plan.today]


def _to_come(plan: Plan, due: date, last: Written | None) -> list[date]:
    """The days to come on which letters about an inspection go out, after `last`."""
    begin, said, found = plan.today, None, []
    if last:
        mark = _mark(last.occasion, due)
        said = Letter(last.on, mark) if mark is not None else None
        begin = begin if said else max(begin, last.on + A_WEEK)
        found = [last.waits_for] if last.waits_for else []
    coming = letters(due, until=plan.days[-1], begin=begin, said=said, **_figures(plan))
    return [day for day in [*found, *(_goes_out(plan, one.on) for one in coming)] if day <= plan.days[-1]]


def _figures(plan: Plan) -> dict[str, Any]:
    return {"days": plan.figures.inspection_days, "every": plan.figures.inspection_overdue_every}


def _mark(occasion: str, due: date) -> int | None:
    """The mark of a letter by its occasion; None where it was about another date."""
    if f" {due.isoformat()} " not in occasion:
        return None
    last, *before = occasion.rsplit(" ", 2)[::-1]
    return -int(last) if before and before[0] == "late" else int(last)


def _goes_out(plan: Plan, on: date) -> date:
    """The day on which a letter goes out that is written on `on`: the next working hour that is not quiet."""
    begins = datetime.combine(on, time(0), clock.LONDON)
    return clock.local_day(next_moment(max(begins, plan.now) if on == plan.today else begins, plan.hours))


def _sent(row: dict[str, Any]) -> Sent:
    unit, site = row["unit__name"], row["unit__site__name"]
    return Sent(
        customer=row["unit__site__customer__name"],
        place=site if unit == site else f"{unit}, {site}",
        site=row["unit__site"],
        due=row["due_on"],
        by_law=row["by_law"],
    )
