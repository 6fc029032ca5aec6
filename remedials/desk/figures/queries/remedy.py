"""How long it takes to remedy, counted with what is still open, by code in force. Five statements."""

from datetime import date
from typing import Any

from django.db.models import Count, DurationField, ExpressionWrapper, F

from inspections.choices import Code
from jobsite.firm.queries import policy_on
from jobsite.marks import age_css
from jobsite.people.models import User
from jobsite.words import day, many
from remedials.desk.figures.drawing import curve
from remedials.desk.figures.queries.items import first_day, items, own_day, with_end
from remedials.desk.figures.queries.narrowing import Narrowed
from remedials.desk.figures.rules import survival
from remedials.desk.figures.rules.shares import FEW
from remedials.desk.figures.rules.survival import Median, Spans, Step
from remedials.desk.figures.tables import PERCENT, TEXT, Column, Table

DAYS = (7, 28, 91, 182, 365, 730)
CODES = [code.value for code in (Code.C1, Code.C2, Code.FI, Code.C3)]
SAYS = (
    (
        "Items that we came to know of in the period, from that day: the day of record, or of another firm's report the day on which we "
        "took it in. They end on the day of our work. Those still open count with the days that they have been open so far: leaving "
        "them out would make it look faster than it is. By the code in force today; what has no code yet is left out."
    ),
    (
        "The curve (Kaplan and Meier) says how many of a hundred would not be remedied yet if nothing but our work ended an item. "
        "Whoever leaves for another reason counts until that day and is no remedy: done by others, not there any more, declined (from "
        "the day of the no, while it stands), the site archived. A continued item counts once, from its first record with us; needs no "
        "code and withdrawn count nowhere. An FI ends in its finding; what was found begins on that day as an item of its own."
    ),
    (
        "The band: in 95 of 100 such samples the true share lies in it at a given day. A wide band means that few were counted, and "
        "then the curve says little. The curve is dashed where fewer than ten are still counted, since one more or less moves it there by a "
        "tenth. A tick is an item still open, seen for so long. Remedied, ended otherwise and still open say what happened in fact, of a hundred that began."
    ),
)
DRAWN_AS = "Line: the curve. Shaded, with dotted edges: its band. Upright dashes: the firm's own limit."
COLUMNS = (
    Column("Code", TEXT), Column("After days"), Column("Still counted"), Column("Not remedied by the curve", PERCENT),
    Column("Band from", PERCENT), Column("Band to", PERCENT), Column("Remedied", PERCENT), Column("Ended otherwise", PERCENT),
    Column("Still open", PERCENT),
)  # fmt: skip
WHOLE = (
    Column("Code", TEXT), Column("Items"), Column("Remedied"), Column("Ended otherwise"), Column("Still open"),
    Column("Half remedied after days"), Column("Band from day"), Column("Band to day"),
    Column("Fewer than ten counted from day"),
)  # fmt: skip
STEPS = (
    Column("Code", TEXT), Column("Day"), Column("Counted before it"), Column("Remedied on it"),
    Column("Not remedied after it", PERCENT), Column("Band from", PERCENT), Column("Band to", PERCENT),
)  # fmt: skip
NOTHING = "We came to know of no item with a code in this period. Choose a longer one."


def remedy_times(user: User, narrowed: Narrowed, first: date, last: date, *, today: date) -> list[Table]:
    """The curves of each code with the table of what came of its items, of the curve at some days, and of its steps."""
    groups = _counted(user, narrowed, first, last, today=today)
    policy = policy_on(today)
    limits = {Code.C1: policy.c1_days, Code.C2: policy.c2_days, Code.FI: policy.fi_days}
    curves = {code: survival.kaplan_meier(found) for code, found in groups.items()}
    until = max((_until(found) for found in groups.values()), default=365)
    drawings = [_drawing(code, groups[code], curves[code], until, limits.get(Code(code))) for code in groups]
    title = f"Time to remedy, known from {day(first)} to {day(last)}"
    return [
        Table("remedy", title, WHOLE, tuple(_whole(c, groups[c], curves[c]) for c in groups), NOTHING, SAYS, drawn_as=DRAWN_AS, drawings=drawings),
        Table(
            "remedy-days", "The same after some days", COLUMNS,
            tuple(row for code in groups for row in _at_days(code, groups[code], curves[code])), NOTHING,
        ),
        Table(
            "remedy-steps", "Every step of the curves", STEPS, tuple(_step(code, step) for code in groups for step in curves[code]),
            "Nothing was remedied yet.", ("The curves' numbers: the days on which something was remedied; between them a curve stays level.",),
            folded=True,
        ),
    ]  # fmt: skip


def _counted(user: User, narrowed: Narrowed, first: date, last: date, *, today: date) -> dict[str, Spans]:
    """How many items of each code came out how, after how many days. Four statements: seen once or again, declined or not."""
    rows = items(user, narrowed).filter(code__in=CODES)
    once = rows.filter(continues=None).annotate(known_on=own_day()).filter(known_on__gte=first, known_on__lte=last)
    # Nobody knew of a defect later than of its last record: whose record is too early needs no look at its history.
    late_enough = rows.filter(continues__isnull=False).annotate(own_day=own_day()).filter(own_day__gte=first)
    again = late_enough.annotate(known_on=first_day())
    groups: dict[str, dict[int, survival.Ends]] = {}
    for part in with_end(once, today=today):
        days = ExpressionWrapper(F("end_on") - F("known_on"), output_field=DurationField())
        counts: Any = part.order_by().annotate(days=days).values_list("code", "days", "came").annotate(n=Count("pk"))
        for code, after, came, count in counts:
            survival.add(groups.setdefault(code, {}), after.days, came, count)
    for part in with_end(again, today=today):
        for code, known_on, end_on, came in part.order_by().values_list("code", "known_on", "end_on", "came"):
            if first <= known_on <= last:
                survival.add(groups.setdefault(code, {}), (end_on - known_on).days, came)
    return {code: groups[code] for code in CODES if code in groups}


def _until(found: Spans) -> int:
    """Where the drawing ends: at a year, or at two where something was seen for longer than one."""
    return 730 if max(found) > 365 else 365 if max(found) > 91 else 91


def _percent(share: float | None) -> int | None:
    return None if share is None else round(100 * share)


def _whole(code: str, found: Spans, steps: list[Step]) -> tuple[Any, ...]:
    ends, half = survival.total(found), survival.median(steps)
    few = survival.few_from(found, FEW)
    return code, ends.all, ends.remedied, ends.otherwise, ends.open, half.day, half.low, half.high, few


def _at_days(code: str, found: Spans, steps: list[Step]) -> list[tuple[Any, ...]]:
    """The curve after each of `DAYS` for which anything was seen so long; later it would say nothing."""
    rows = []
    for days in DAYS:
        counted = survival.at_risk(found, days)
        if not counted:
            break
        step = survival.on_day(steps, days)
        share, low, high = (step.share, step.low, step.high) if step else (1.0, None, None)
        remedied, otherwise = survival.incidence(found, days)
        rows.append(
            (
                code, days, counted, _percent(share), _percent(low), _percent(high), _percent(remedied), _percent(otherwise),
                _percent(1 - remedied - otherwise),
            )
        )  # fmt: skip
    return rows


def _step(code: str, step: Step) -> tuple[Any, ...]:
    return code, step.day, step.at_risk, step.remedied, _percent(step.share), _percent(step.low), _percent(step.high)


def _drawing(code: str, found: Spans, steps: list[Step], until: int, limit: int | None) -> Any:
    ends = survival.total(found)
    title = f"{code}, {Code(code).label}: the share not remedied yet, by days since we knew of it"
    told = [
        f"{many(ends.all, 'item')}: {ends.remedied:,} remedied, {ends.otherwise:,} ended otherwise, {ends.open:,} still open",
        half_in_words(survival.median(steps), ends.remedied),
        f"the firm's own limit, {many(limit, 'day')}, is a dashed line" if limit else "",
    ]  # fmt: skip
    return curve(
        title, ". ".join(part for part in told if part), steps, until=until, last=max(found), limit=limit, css=age_css(code),
        head=f"{code}: {many(ends.all, 'item')}, {ends.remedied:,} remedied",
        open_on=[days for days, one in found.items() if one.open], few_from=survival.few_from(found, FEW),
    )  # fmt: skip


def half_in_words(half: Median, remedied: int) -> str:
    """The median in a sentence."""
    if not remedied:
        return "nothing was remedied yet"
    if half.day is None:
        return "fewer than half were remedied so far"
    return f"half were remedied after {many(half.day, 'day')}"
