"""How old what is open is, by code in force."""

from datetime import date, timedelta
from typing import Any

from django.db.models import Case, CharField, Count, F, Min, Q, Value, When

from inspections.choices import Code
from jobsite.marks import age_css
from jobsite.people.models import User
from jobsite.words import day, many
from remedials.desk.figures.drawing import Bar, bars
from remedials.desk.figures.queries.items import items, said_no
from remedials.desk.figures.queries.narrowing import Narrowed
from remedials.desk.figures.rules.ages import BAND_WORDS, EDGES
from remedials.desk.figures.tables import TEXT, Column, Table
from remedials.desk.queries.columns import ORDER_OF_CODES

SAYS = (
    (
        "Items that nothing has ended, at sites that are not archived, by the code in force today: one that was recoded stands under "
        "its new code. The age runs from the first record of the defect, also where that was another firm's report; of an "
        "observation that was continued only the last is counted."
    ),
    (
        "Declined and made safe are counted in: the defect is still there. Declined is where the last word was a no and no work is "
        "to come; such an item stays open. Needs no code, withdrawn, done by others and not there any more have ended."
    ),
)
DRAWN_AS = "Filled: not past the date to remedy by, or without one. Outlined: past it. All codes on one scale."
COLUMNS = (
    Column("Code", TEXT), Column("Age", TEXT), Column("Oldest recorded", TEXT), Column("Open"),
    Column("Past the date to remedy by"), Column("Made safe"), Column("Declined"),
)  # fmt: skip
Cells = tuple[int, int, int, int, date]


def ages(user: User, narrowed: Narrowed, *, today: date) -> list[Table]:
    """The table of ages with a drawing for each code that has any. One statement."""
    found = _counted(user, narrowed, today=today)
    codes = [code for code in ORDER_OF_CODES if any(code == one for one, _ in found)]
    most = max((cells[0] for cells in found.values()), default=0)
    rows = [
        (_name(code), words, day(found[code, words][4]), *found[code, words][:4])
        for code in codes for words in BAND_WORDS if (code, words) in found
    ]  # fmt: skip
    drawings = [_drawing(code, {w: found[code, w] for w in BAND_WORDS if (code, w) in found}, most) for code in codes]
    totals = [_together(list(found.values()))] if rows else []
    return [
        Table(
            "ages", f"Age of what is open on {day(today)}", COLUMNS, (*rows, *totals),
            "Nothing is open.", SAYS, totals=len(totals), drawn_as=DRAWN_AS, drawings=drawings,
        )
    ]  # fmt: skip


def _counted(user: User, narrowed: Narrowed, *, today: date) -> dict[tuple[str, str], Cells]:
    rows: Any = items(user, narrowed).filter(ended="", site__archived_at=None)
    since = [
        When(**({"first_recorded_on__gt": today - timedelta(days=end)} if end else {"pk__isnull": False}), then=Value(words))
        for words, (_, end) in EDGES.items()
    ]  # fmt: skip
    rows = rows.annotate(band=Case(*since, output_field=CharField()))
    counts = rows.order_by().values("code", "band").annotate(
        n=Count("pk"), past=Count("pk", filter=Q(remedy_by__lt=today)), safe=Count("pk", filter=Q(made_safe=True)),
        noes=Count("pk", filter=said_no()), oldest=Min(F("first_recorded_on")),
    )  # fmt: skip
    return {
        (row["code"], row["band"]): (row["n"], row["past"], row["safe"], row["noes"], row["oldest"]) for row in counts
    }


def _name(code: str) -> str:
    return code or "Not coded"


def _together(cells: list[Cells]) -> tuple[Any, ...]:
    sums = [sum(column) for column in list(zip(*cells, strict=True))[:4]]
    return "Together", "", day(min(one[4] for one in cells)), *sums


def _drawing(code: str, found: dict[str, Cells], most: int) -> Any:
    count = sum(cells[0] for cells in found.values())
    past = sum(cells[1] for cells in found.values())
    meaning = Code(code).label if code else "nobody competent has coded them yet"
    rows = [
        Bar(words, cells[0] - cells[1], cells[1], _words(cells)) for words in BAND_WORDS for cells in [found.get(words, NONE)]
    ]  # fmt: skip
    return bars(
        f"{_name(code)}, {meaning}: {many(count, 'item')} open, {past:,} of them past the date to remedy by",
        rows, most=most, css=age_css(code), head=f"{_name(code)}: {count:,} open",
    )  # fmt: skip


NONE: Cells = (0, 0, 0, 0, date.max)


def _words(cells: Cells) -> str:
    return f"{cells[0]:,}, {cells[1]:,} late" if cells[1] else f"{cells[0]:,}"
