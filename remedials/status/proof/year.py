"""The year in summary, of all units of a customer: what was found, put right, declined, and left open at its end."""

from collections import Counter
from datetime import date, datetime
from typing import Any
from uuid import UUID

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import Count, Exists, OuterRef

from inspections.choices import Ended, InspectionKind, InspectionState
from inspections.models import DangerNotice, Inspection, Observation
from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.people.names import words_as_customers_read
from jobsite.premises.models import Party, Unit
from jobsite.refused import Refused
from jobsite.words import day, many
from remedials.status import rules
from remedials.status.portfolio.facts import units_of
from remedials.status.proof import year_rules
from remedials.status.proof.kinds import Kind
from remedials.status.proof.places import firm_lines
from remedials.status.proof.said import Said
from remedials.status.proof.year_rules import Defect, Row
from remedials.status.queries.next_due import basis_of
from remedials.visits.models import Attempt
from remedials.works.models import Remedies, WayOut
from remedials.works.states import Stage

MOST = 150  # lines of one list; what is more is counted
FIRST_YEAR = 1990
BEFORE = "Of this year nothing is on record here."
NOT_YET = "Of this year nothing can be told yet."
NO_UNITS = "No unit is recorded as theirs now, so there is nothing to sum up."


def year_summary(party: Party, year: int, *, now: datetime) -> Said:
    """What `year` brought at the units that are `party`'s today; of the present one so far. Ten statements.

    Raises Refused for a year to come, for one before anything was on record, and where no unit is theirs.
    """
    today = clock.local_day(now)
    if not FIRST_YEAR <= year <= today.year:
        raise Refused(NOT_YET)
    first, last = date(year, 1, 1), min(date(year, 12, 31), today)
    units = {
        u.pk: u
        for u in units_of(party, today).select_related("site", "inspection_due__after").order_by("site__sort", "sort")
    }
    if not units:
        raise Refused(NO_UNITS)
    firm, read = the_firm(), words_as_customers_read()
    rows = _rows(units, last)
    if not rows and not _anything(units, last):
        raise Refused(BEFORE)
    found = year_rules.defects(rows)
    codes = year_rules.by_code(found, first, last)
    facts = {
        "of": party.name,
        "units": f"{many(len(units), 'unit')} at {many(len({u.site_id for u in units.values()}), 'site')}",
        "span": f"{rules.long_day(first)} to {rules.long_day(last)}",
        "so_far": last == today and last < date(year, 12, 31),
        "on": day(today),
        "words": _words(codes, found, first, last),
        "codes": [_code(code, of) for code, of in codes.items()],
        "inspections": _inspections(units, first, last),
        "open": _open(units, found, last),
        "notices": _notices(units, first, last),
        "declined": _declined(units, first, last),
        "shut": _shut(units, first, last),
        "next": _next(units, last),
    }
    return Said(
        kind=Kind.YEAR,
        title=f"The year {year} in summary",
        place=party.name,
        firm=firm.name,
        facts=read.everywhere(facts) | {"firm": firm_lines(firm)},
        on=today,
        party=party.pk,
        year=year,
    )


def _rows(units: dict[UUID, Unit], last: date) -> list[Row]:
    found = Observation.objects.filter(unit__in=units, draft=False, recorded_on__lte=last).exclude(
        ended=Ended.WITHDRAWN
    )
    names = ("pk", "unit", "code", "recorded_on", "continues", "ended", "ended_on", "remedy_by")
    return [Row(*values) for values in found.values_list(*names)]


def _anything(units: dict[UUID, Unit], last: date) -> bool:
    """Whether anything but defects is on record of `units` up to `last`: an inspection, an attempt to get in."""
    inspected = Inspection.objects.filter(state=InspectionState.ISSUED, inspected_on__lte=last, units__in=units)
    return inspected.exists() or Attempt.objects.filter(unit__in=units, at__date__lte=last).exists()


def _words(codes: dict[str, year_rules.OfCode], found: list[Defect], first: date, last: date) -> list[str]:
    new, closed = sum(of.found for of in codes.values()), sum(of.closed.total() for of in codes.values())
    danger = sum(of.left for code, of in codes.items() if code in year_rules.URGENT)
    unknown = codes[""].left if "" in codes else 0
    words = [f"{many(new, 'item was', 'items were')} recorded and {closed} closed. {_left(danger, unknown)}"]
    pace = year_rules.pace(found, first, last)
    if pace.median_days is not None:
        half = f"half of them within {_days(pace.median_days)} of being recorded"
        words.append(
            f"{many(pace.closed, 'item')} of code C1, C2 or FI {'was' if pace.closed == 1 else 'were'} closed, {half}."
        )
    if pace.dated:
        words.append(f"{pace.in_time} of the {pace.dated} that had a day to be put right by were closed by that day.")
    return words


def _days(count: int) -> str:
    return many(count, "day") if count > 1 else "a day"


def _left(danger: int, unknown: int) -> str:
    left = f"{many(danger, 'item')} of code C1, C2 or FI {'was' if danger == 1 else 'were'} open at the end"
    if unknown:
        return f"{left}, and {many(unknown, 'report', 'reports')} that no competent person had looked at."
    return f"{left}." if danger else "No item of code C1, C2 or FI was recorded open at the end."


def _code(code: str, of: year_rules.OfCode) -> dict[str, Any]:
    closed = [f"{count} {how}" for how, count in sorted(of.closed.items())]
    return {
        "code": code, "means": rules.SHORT.get(code, "no code yet"), "began": of.began, "found": of.found,
        "closed": of.closed.total(), "how": "; ".join(closed), "left": of.left, "late": of.late,
    }  # fmt: skip


def _name(unit: Unit) -> str:
    return unit.site.name if unit.whole_site else f"{unit.name}, {unit.site.name}"


def _names(keys: list[UUID], units: dict[UUID, Unit]) -> str:
    here = [_name(unit) for key, unit in units.items() if key in keys]
    return here[0] if len(here) == 1 else f"{here[0]} and {many(len(here) - 1, 'other unit')}" if here else ""


def _capped(lines: list[Any]) -> dict[str, Any]:
    return {"lines": lines[:MOST], "more": max(0, len(lines) - MOST)}


def _inspections(units: dict[UUID, Unit], first: date, last: date) -> dict[str, Any]:
    through = Inspection.units.through.objects.filter(inspection=OuterRef("pk")).values("unit")
    rows = Inspection.objects.filter(state=InspectionState.ISSUED, inspected_on__range=(first, last), units__in=units)
    rows = rows.exclude(kind=InspectionKind.CALL_OUT).annotate(unit_keys=ArraySubquery(through)).distinct()
    return _capped([
        {
            "on": day(row.inspected_on),
            "where": _names(row.unit_keys, units),
            "kind": row.get_kind_display(),
            "by": (row.firm_name or "another firm") if row.other_firm else "",
            "outcome": row.get_outcome_display(),
        }
        for row in rows.order_by("inspected_on", "number")
    ])  # fmt: skip


def _open(units: dict[UUID, Unit], found: list[Defect], last: date) -> dict[str, Any]:
    """What each unit had open at the end, the most dangerous unit first."""
    by_unit = year_rules.open_by_unit(found, last)
    ordered = sorted(by_unit.items(), key=lambda pair: tuple(-pair[1][code] for code in year_rules.ORDER))
    return _capped([
        {"where": _name(units[key]), "codes": [[code, counts[code]] for code in year_rules.ORDER if counts[code]]}  # type: ignore[index]
        for key, counts in ordered
    ])  # fmt: skip


def _notices(units: dict[UUID, Unit], first: date, last: date) -> dict[str, Any]:
    through = DangerNotice.observations.through.objects.filter(dangernotice=OuterRef("pk")).values("observation__unit")
    rows = DangerNotice.objects.filter(observations__unit__in=units, given_at__date__range=(first, last))
    rows = rows.annotate(unit_keys=ArraySubquery(through)).distinct().order_by("number")
    return _capped([
        {
            "on": day(clock.local_day(row.given_at)), "number": str(row.number), "where": _names(row.unit_keys, units),
            "answer": row.get_answer_display(),
        }
        for row in rows
    ])  # fmt: skip


def _declined(units: dict[UUID, Unit], first: date, last: date) -> dict[str, Any]:
    """What was offered and declined. Work that concerns somebody else's unit too is not described."""
    others = Remedies.objects.filter(remedial=OuterRef("remedial")).exclude(observation__unit__in=units)
    rows = WayOut.objects.filter(
        stage=Stage.DECLINED, on__range=(first, last), taken_back_at=None, remedial__unit__in=units
    )
    rows = rows.select_related("remedial").annotate(shared=Exists(others)).order_by("on", "pk")
    return _capped([
        {
            "on": day(row.on), "where": _name(units[row.remedial.unit_id]), "work": "" if row.shared else row.remedial.work,
            "still": row.remedial.stage == Stage.DECLINED,
        }
        for row in rows
    ])  # fmt: skip


def _shut(units: dict[UUID, Unit], first: date, last: date) -> dict[str, Any]:
    """Visits at which nobody let us in, by unit, the most first."""
    rows = Attempt.objects.filter(unit__in=units, how="visit", got_in=False, at__date__range=(first, last))
    counts: Counter[UUID] = Counter()
    for unit, n in rows.values_list("unit").annotate(n=Count("pk")).values_list("unit", "n"):
        counts[unit] += n
    return _capped([{"where": _name(units[unit]), "visits": many(n, "visit")} for unit, n in counts.most_common()])


def _next(units: dict[UUID, Unit], last: date) -> dict[str, Any]:
    """The inspections that are overdue, or due in the twelve months after the end."""
    until = date(last.year + 1, last.month, min(last.day, 28))
    dues = [(u.inspection_due.due_on, u) for u in units.values() if hasattr(u, "inspection_due")]
    due = sorted(((on, u) for on, u in dues if on <= until), key=lambda pair: pair[0])
    return _capped([
        {"where": _name(u), "on": day(on), "late": on < last, "basis": basis_of(u)} for on, u in due
    ])  # fmt: skip
