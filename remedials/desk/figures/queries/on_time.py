"""What was remedied by its day: by what set that day, by code, and by the limit of the law alone. Five statements at most."""

from collections import Counter
from collections.abc import Iterable, Iterator
from datetime import date
from functools import cache
from typing import Any

from django.db.models import Case, CharField, Count, F, Q, Value, When

from inspections.choices import DANGEROUS, Code
from inspections.queries.facts import facts_on
from inspections.standards.counting import last_day_starting_with
from inspections.standards.facts import Facts
from inspections.standards.law import rule_in_force
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind
from jobsite.people.models import User
from jobsite.words import day
from remedials.desk.figures.queries.items import OPEN, REMEDIED, items, with_end
from remedials.desk.figures.queries.narrowing import Narrowed
from remedials.desk.figures.rules.shares import Share
from remedials.desk.figures.tables import PERCENT, TEXT, Column, Table
from remedials.desk.queries.columns import ORDER_OF_CODES

IN_TIME, LATE, OPEN_LATE, OTHERWISE, AHEAD = "in-time", "late", "open-late", "otherwise", "ahead"
LAW, REPORT, POLICY, INSPECTION = "The law", "A limit in the report", "The firm's policy", "The next inspection (C3)"
SETTERS = (LAW, REPORT, POLICY, INSPECTION)
RENTED = (Tenure.PRIVATE_RENTED.value, Tenure.SOCIAL_RENTED.value)
SAYS = (
    (
        "Items whose day to remedy them fell in the period and is past. In time: our work was done, or an FI had its finding, on that "
        "day or before. Late: after it. Still open, late: not done yet."
    ),
    (
        "Left out of the share, and shown beside it, is what had ended otherwise by its day: declined, done by others, not there any more, "
        "the site archived. What ended so after its day had been late by then and counts as late."
    ),
    (
        "By the code in force today. A recoded item has the day of its new code; of what was continued only the last record counts, with "
        "the earliest day; needs no code and withdrawn count nowhere. Below ten items no share is shown: they say too little."
    ),
)
LEGAL_SAYS = (
    (
        "The law's own limit, of items that have one, also where the firm's policy or the report set an earlier day: what missed the "
        "policy may still have kept the law. Counted by the facts as they are used today. Check the current law."
    ),
)
NOTHING = "No day to remedy anything by fell in this period."
NO_LAW = "No item whose day fell in this period has a limit set by law."
FIGURES = (
    Column("In time"), Column("Late"), Column("Still open, late"), Column("Share in time", PERCENT),
    Column("Range from", PERCENT), Column("Range to", PERCENT), Column("Ended otherwise by then"), Column("Remark", TEXT),
)  # fmt: skip
Counts = dict[str, Counter[str]]


def on_time(user: User, narrowed: Narrowed, first: date, last: date, *, today: date) -> list[Table]:
    """Three tables. Statements: the items, those with a longer limit of law than their own day, the facts."""
    by_setter, by_code, legal = Verdicts(), Verdicts(), Verdicts()
    for setter, code, verdict, count in _judged(user, narrowed, first, last, today=today):
        by_setter.count(setter, verdict, count)
        by_code.count(code, verdict, count)
        if setter == LAW:
            legal.count(code, verdict, count)
    for code, verdict, count in _by_law_later(user, narrowed, first, last, today=today):
        legal.count(code, verdict, count)
    period = f"{day(first)} to {day(last)}"
    head = (Column("Its day was set by", TEXT), *FIGURES)
    head_of_codes = (Column("Code", TEXT), *FIGURES)
    return [
        Table("in-time", f"In time, {period}", head, *_rows(by_setter, SETTERS, NOTHING), SAYS, totals=by_setter.sums),
        Table("in-time-codes", "In time, by code", head_of_codes, *_rows(by_code, ORDER_OF_CODES, NOTHING), totals=by_code.sums),
        Table("in-time-law", "In time by the limit of the law", head_of_codes, *_rows(legal, ORDER_OF_CODES, NO_LAW), LEGAL_SAYS, totals=legal.sums),
    ]  # fmt: skip


class Verdicts:
    """How many of each verdict, by the head of their row."""

    def __init__(self) -> None:
        self.found: Counts = {}

    def count(self, head: str, verdict: str, count: int) -> None:
        """Count `count` more."""
        if verdict != AHEAD:
            self.found.setdefault(head, Counter())[verdict] += count

    @property
    def sums(self) -> int:
        """How many rows of sums it has: one, where there is anything."""
        return int(bool(self.found))


def _rows(counted: Verdicts, order: Iterable[str], empty: str) -> tuple[tuple[tuple[Any, ...], ...], str]:
    rows = [(head, *_cells(counted.found[head])) for head in order if head in counted.found]
    whole = sum(counted.found.values(), Counter())
    together = [("Together", *_cells(whole))] if rows else []
    return (*((head or "Not coded", *cells) for head, *cells in rows), *together), empty


def _cells(found: Counter[str]) -> tuple[Any, ...]:
    late = found[LATE] + found[OPEN_LATE]
    share = Share(found[IN_TIME], found[IN_TIME] + late)
    return (
        found[IN_TIME],
        found[LATE],
        found[OPEN_LATE],
        share.percent,
        share.low,
        share.high,
        found[OTHERWISE],
        share.remark,
    )


def _dated(user: User, narrowed: Narrowed, first: date, last: date, *, today: date) -> Any:
    """Items whose day fell in the period and is past. No statement.

    What is done before a day to come is left out with what isn't: else only the quick ones of those days would count.
    """
    return items(user, narrowed).filter(remedy_by__gte=first, remedy_by__lte=last, remedy_by__lt=today)


def _judged(
    user: User, narrowed: Narrowed, first: date, last: date, *, today: date
) -> Iterator[tuple[str, str, str, int]]:
    """How many items of which setter of their day and code came out how. Two statements."""
    by = F("remedy_by")
    verdict = Case(
        When(came="remedied", end_on__lte=by, then=Value(IN_TIME)),
        When(came="otherwise", end_on__lte=by, then=Value(OTHERWISE)),
        When(came="open", then=Value(OPEN_LATE)),
        default=Value(LATE), output_field=CharField(),
    )  # fmt: skip
    setter = Case(
        When(code=Code.C3, then=Value(INSPECTION)), When(remedy_by_law=True, then=Value(LAW)),
        When(remedy_basis__contains="The report's limit", then=Value(REPORT)), default=Value(POLICY), output_field=CharField(),
    )  # fmt: skip
    for part in with_end(_dated(user, narrowed, first, last, today=today), today=today):
        judged = part.annotate(verdict=verdict, setter=setter).order_by()
        yield from judged.values_list("setter", "code", "verdict").annotate(n=Count("pk"))


def _by_law_later(
    user: User, narrowed: Narrowed, first: date, last: date, *, today: date
) -> Iterable[tuple[str, str, int]]:
    """Items for which the law has a limit later than their own day: how they came out by it. Three statements, two for none."""
    rows = _dated(user, narrowed, first, last, today=today).filter(
        Q(inspection__isnull=False) | Q(continues__inspection__isnull=False),
        code__in=DANGEROUS, remedy_by_law=False, unit__tenure__in=RENTED,
    )  # fmt: skip
    asked = ("site__nation", "unit__tenure", "unit__kind", "unit__tenancy_granted_on", "recorded_on")
    counts = [
        row for part in with_end(rows, today=today)
        for row in part.order_by().values_list("code", "came", "end_on", *asked).annotate(n=Count("pk"))
    ]  # fmt: skip
    if not counts:
        return
    legal_day = _legal_day(facts_on(today))
    for code, came, end_on, nation, tenure, kind, granted_on, recorded_on, count in counts:
        if by := legal_day(nation, tenure, kind, granted_on, recorded_on):
            yield code, verdict_on(by, came, end_on, today), count


def verdict_on(by: date, came: str, end_on: date, today: date) -> str:
    """How an item came out by the day `by`. A day that is not past says nothing yet, not even of what is done already."""
    if by >= today:
        return AHEAD
    if came != OPEN and end_on <= by:
        return IN_TIME if came == REMEDIED else OTHERWISE
    return OPEN_LATE if came == OPEN else LATE


def _legal_day(facts: Facts) -> Any:
    @cache
    def found(nation: str, tenure: str, kind: str, granted_on: date | None, recorded_on: date) -> date | None:
        rule = rule_in_force(
            Nation(nation), Tenure(tenure), recorded_on, tenancy_granted_on=granted_on, premises_kind=PremisesKind(kind),
            facts=facts,
        )  # fmt: skip
        return last_day_starting_with(recorded_on, rule.remedy_days) if rule and rule.remedy_days else None

    return found
