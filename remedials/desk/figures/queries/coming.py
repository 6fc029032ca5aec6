"""Which inspections fall due, by month for two years. One statement."""

from datetime import date
from typing import Any

from django.db.models import Case, Count, DateField, Q, Value, When
from django.db.models.functions import Cast, TruncMonth

from inspections.models import InspectionDue
from jobsite.people.models import User
from jobsite.words import day, many
from remedials.desk.figures.drawing import Bar, bars
from remedials.desk.figures.queries.narrowing import Narrowed
from remedials.desk.figures.rules.months import month_in_words, months_from
from remedials.desk.figures.tables import TEXT, Column, Table

MONTHS = 25
"""What is left of this one, and the 24 after it."""
SAYS = (
    (
        "The next inspection of each unit in use, at sites that are not archived, by the day that the due list has for it. By law: a law "
        "sets that day, or caps what was recommended; check the current law. The others are as the last report recommends, or by the "
        "kind of premises where there is no report."
    ),
    (
        "Overdue is what should have been before today. The present month holds what is due from today on. What a new inspection will make due "
        "again within these two years is not in it."
    ),
)
DRAWN_AS = "Filled: by law. Outlined: the others."
COLUMNS = (Column("Month", TEXT), Column("Units"), Column("By law"), Column("Others"), Column("Sites"))
OVERDUE, LATER = "Overdue", "Later"
Counts = tuple[int, int, int]


def inspections_due(user: User, narrowed: Narrowed, *, today: date) -> list[Table]:
    """A row for what is overdue, one a month for two years, one for what is later. One statement."""
    *months, end = months_from(today, MONTHS + 1)
    found = _counted(user, narrowed, today, end)
    named = [(OVERDUE, date.min), *((month_in_words(month), month) for month in months), (LATER, date.max)]
    rows = [(name, *_cells(found.get(month, (0, 0, 0)))) for name, month in named] if found else []
    title = f"Inspections that fall due, from {day(today)} for two years"
    return [
        Table(
            "inspections", title, COLUMNS, tuple(rows), "No unit has a next inspection on record.", SAYS,
            drawn_as=DRAWN_AS, drawings=[_drawing(found, [one for one in named if one[0] != LATER])] if found else (),
        )
    ]  # fmt: skip


def _counted(user: User, narrowed: Narrowed, today: date, end: date) -> dict[date, Counts]:
    """Units, those by law, and sites, by month; `date.min` for what is overdue, `date.max` for what is due from `end` on."""
    rows: Any = InspectionDue.objects.filter(
        unit__retired_at=None, unit__site__archived_at=None, unit__site__in=narrowed.sites(user)
    )
    month = Case(
        When(due_on__lt=today, then=Value(date.min)), When(due_on__gte=end, then=Value(date.max)),
        default=Cast(TruncMonth("due_on"), DateField()), output_field=DateField(),
    )  # fmt: skip
    counts = rows.annotate(month=month).order_by().values_list("month").annotate(
        units=Count("pk"), by_law=Count("pk", filter=Q(by_law=True)), sites=Count("unit__site", distinct=True)
    )  # fmt: skip
    return {month: (units, by_law, sites) for month, units, by_law, sites in counts}


def _cells(counts: Counts) -> tuple[int, ...]:
    units, by_law, sites = counts
    return units, by_law, units - by_law, sites


def _drawing(found: dict[date, Counts], named: list[tuple[str, date]]) -> Any:
    rows = []
    for name, month in named:
        units, by_law, _ = found.get(month, (0, 0, 0))
        rows.append(Bar(name, by_law, units - by_law, f"{units:,}" + (f", {by_law:,} by law" if by_law else "")))
    most = max((row.all for row in rows), default=0)
    whole = sum(row.all for row in rows)
    title = f"Inspections that fall due by month, filled those by law: {many(whole, 'unit')}"
    return bars(title, rows, most=most, head=f"Overdue and in two years: {many(whole, 'unit')}")
