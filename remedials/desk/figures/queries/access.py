"""Visits at which nobody let us in, by month. One statement."""

from datetime import date, datetime
from typing import Any

from django.db.models import Count, Exists, OuterRef, Q
from django.db.models.functions import TruncMonth

from jobsite import clock
from jobsite.people.models import User
from jobsite.words import day, many
from remedials.desk.figures.drawing import Bar, bars
from remedials.desk.figures.queries.narrowing import Narrowed
from remedials.desk.figures.rules.months import month_in_words, months_between
from remedials.desk.figures.rules.shares import Share
from remedials.desk.figures.tables import PERCENT, TEXT, Column, Table
from remedials.quotes.queries.periods import instants
from remedials.visits.models import Attempt, Visit

SAYS = (
    (
        "Visits that were to take place in the period and are over, by the month in which they began; one that was cancelled or moved away "
        "is not there. Without access: somebody noted of the visit that they went there and did not get in. A telephone call that "
        "nobody answered is none."
    ),
    "Below ten visits in a month no share is shown.",
)
DRAWN_AS = "Filled: without access. Outlined: the other visits."
COLUMNS = (
    Column("Month", TEXT), Column("Visits"), Column("Without access"), Column("Share without", PERCENT),
    Column("Range from", PERCENT), Column("Range to", PERCENT), Column("Remark", TEXT),
)  # fmt: skip
MOST_DRAWN = 24


def without_access(user: User, narrowed: Narrowed, first: date, last: date, *, now: datetime) -> list[Table]:
    """A row a month of the period, from the first that has a visit to the last. One statement."""
    start, end = instants(first, last)
    rows: Any = narrowed.of(Visit.objects.visible_to(user), user).filter(
        state=Visit.State.BOOKED, start__gte=start, start__lt=end, end__lte=now
    )
    in_vain = Exists(Attempt.objects.before_a_closed_door().filter(visit=OuterRef("pk")))
    rows = rows.annotate(month=TruncMonth("start", tzinfo=clock.LONDON), in_vain=in_vain).order_by()
    counts = rows.values_list("month").annotate(n=Count("pk"), vain=Count("pk", filter=Q(in_vain=True)))
    found = {clock.local_day(month): (visits, vain) for month, visits, vain in counts}
    months = months_between(min(found), max(found)) if found else []
    cells = [(month_in_words(month), *_cells(*found.get(month, (0, 0)))) for month in months]
    together = [("Together", *_cells(*(sum(one[at] for one in found.values()) for at in (0, 1))))] if found else []
    title = f"Visits without access, {day(first)} to {day(last)}"
    return [
        Table(
            "access", title, COLUMNS, (*cells, *together), "No visit of this period is over.", SAYS, totals=len(together),
            drawn_as=DRAWN_AS, drawings=[_drawing(found, months[-MOST_DRAWN:])] if found else (),
        )
    ]  # fmt: skip


def _cells(visits: int, vain: int) -> tuple[Any, ...]:
    share = Share(vain, visits)
    return visits, vain, share.percent, share.low, share.high, share.remark


def _drawing(found: dict[date, tuple[int, int]], months: list[date]) -> Any:
    counts = [(month, *found.get(month, (0, 0))) for month in months]
    rows = [
        Bar(month_in_words(month), vain, visits - vain, f"{vain:,} of {visits:,}") for month, visits, vain in counts
    ]
    whole, vain = sum(visits for _, visits, _ in counts), sum(one for _, _, one in counts)
    title = f"Visits by month, filled those without access: {vain:,} of {many(whole, 'visit')}"
    most = max(visits for _, visits, _ in counts)
    return bars(title, rows, most=most, head=f"Without access: {vain:,} of {many(whole, 'visit')}")
