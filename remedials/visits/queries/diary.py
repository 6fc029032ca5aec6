"""The diary: what stands on which day of whom, for the drawing and for the same facts as a list."""

from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q
from django.urls import NoReverseMatch
from django.utils.safestring import SafeString

from jobsite import clock
from jobsite.addresses import address
from jobsite.people.models import User
from jobsite.people.rights import Right, Role
from jobsite.words import MONTHS, WEEKDAYS, london
from remedials.visits.drawing import Axis, Cell, Grid, Sheet, axis_for, draw
from remedials.visits.models import VisitMove
from remedials.visits.queries.diary_cells import Ground, cell_of, list_of
from remedials.visits.queries.diary_rows import Entry, booked, proposed, roads, whole_days

SHOWS = {"day": 1, "week": 7, "fortnight": 14}
LABELS = {"day": "day", "week": "week", "fortnight": "fortnight"}
A_WEEK = 7
SHEET_HEIGHT = 750  # pixels of rows on one sheet of A4 lying across
SHORT_HOUR, LONG_HOUR = 15, 100  # pixels: of an hour running downward in a week, and across on a single day


def first_of(on: date, show: str) -> date:
    """The first day shown: the day itself, or the Monday of its week."""
    return on if show == "day" else on - timedelta(days=on.weekday())


def people_of(user: User) -> list[User]:
    """Whose days `user` may see: every engineer's; a subcontractor sees only their own. One statement."""
    if user.subcontractor:
        return [user]
    rows = User.objects.filter(is_active=True, roles__contains=[Role.ENGINEER.value])
    return list(rows.order_by("name", "pk"))


@dataclass
class Days:
    """What was asked for: from which day, how many, whose."""

    first: date
    days: int
    people: list[User]
    user: User
    now: datetime
    columns: list[date] = field(init=False)

    def __post_init__(self) -> None:
        self.columns = [self.first + timedelta(days=n) for n in range(self.days)]

    @property
    def last(self) -> date:
        """The last day, included."""
        return self.columns[-1]


BOOK_ONE = "Book one from an approved remedial, or from an empty stretch below."


def diary(
    user: User, people: list[User], *, on: date, show: str, now: datetime, only: UUID | None = None
) -> dict[str, Any]:
    """The diary of `people`, or of the one of them whose key is `only`, around the day `on` as `show` says.

    Its drawings (one a week) and its list by day.

    Eight statements at most.
    """
    asked = Days(first_of(on, show), SHOWS[show], people, user, now)
    entries = booked(user, first=asked.first, last=asked.last)
    goers = _goers(entries)
    asked.people = _with_others(people, entries)
    if only:
        asked.people = [person for person in asked.people if person.pk == only]
        entries = [entry for entry in entries if entry.engineer.pk == only]
    if user.may(Right.BOOK):
        entries += proposed(asked.people, first=asked.first, last=asked.last, now=now)
    ground = _ground(asked, entries, goers)
    cells = [[cell_of(person, day, ground) for day in asked.columns] for person in asked.people]
    return {
        "title": title_of(asked.first, asked.last),
        "first": asked.first,
        "drawings": _drawings(asked, ground, cells),
        "list": [
            list_of(day, asked.people, ground, [row[column] for row in cells])
            for column, day in enumerate(asked.columns)
        ],
        "may_book": ground.may_book,
        "empty": not entries,
        "what_first": BOOK_ONE if ground.may_book else "What the office books appears here.",
        "proposals": len({e.key for e in entries if e.proposed}),
    }


def _with_others(people: list[User], entries: list[Entry]) -> list[User]:
    """Also whoever has visits on these days though they left, or are no engineer any more."""
    known = {person.pk for person in people}
    more = {e.engineer.pk: e.engineer for e in entries if e.engineer.pk not in known}
    return people + sorted(more.values(), key=lambda person: (person.name, person.pk))


def _goers(entries: list[Entry]) -> dict[UUID, list[str]]:
    """Who goes to each visit: also those whose days are not shown, so that a move loses none of them."""
    found: dict[UUID, list[str]] = {}
    for entry in entries:
        found.setdefault(entry.key, []).append(str(entry.engineer.pk))
    return found


def _ground(asked: Days, entries: list[Entry], goers: dict[UUID, list[str]]) -> Ground:
    whole = whole_days(asked.people, first=asked.first, last=asked.last)
    by_day: dict[tuple[UUID, date], list[Entry]] = {}
    for entry in entries:
        for day in asked.columns:
            if part := entry.on(day):
                by_day.setdefault((entry.engineer.pk, day), []).append(replace(entry, part=part))
    for found in by_day.values():
        found.sort(key=lambda e: (e.start, e.proposed, str(e.key)))
    may_book = asked.user.may(Right.BOOK)
    return Ground(by_day, whole, roads(by_day, whole.terms), may_book=may_book, now=asked.now, goers=goers)


def title_of(first: date, last: date) -> str:
    """The days shown: "Mon 2 Feb to Sun 8 Feb 2026"."""
    if first == last:
        return f"{day_words(first)} {first.year}"
    year = f" {first.year}" if first.year != last.year else ""
    return f"{day_words(first)}{year} to {day_words(last)} {last.year}"


def day_words(on: date) -> str:
    """A day at the head of a column: "Mon 2 Feb"."""
    return f"{WEEKDAYS[on.weekday()]} {on.day} {MONTHS[on.month - 1]}"


def _drawings(asked: Days, ground: Ground, cells: list[list[Cell]]) -> list[dict[str, str]]:
    """The drawings, one for each week shown and each few people: as many as stand on a sheet of A4 below their heads."""
    grid = _grid(asked, cells)
    rows = max(1, int(SHEET_HEIGHT // grid.cell_height))
    found = []
    for begin in range(0, asked.days, A_WEEK):
        for top in range(0, len(asked.people), rows):
            sheet = _sheet(asked, ground, cells, slice(begin, begin + A_WEEK), slice(top, top + rows))
            drawn = draw(sheet, grid, prefix=f"diary{begin}-{top}")
            found.append({"title": sheet.title, "svg": SafeString(drawn)})
    return found


def _sheet(asked: Days, ground: Ground, cells: list[list[Cell]], columns: slice, rows: slice) -> Sheet:
    days, people = asked.columns[columns], asked.people[rows]
    whose = people[0].name if len(people) == 1 else f"{people[0].name} to {people[-1].name}"
    today = clock.local_day(asked.now)
    return Sheet(
        title=f"Diary, {title_of(days[0], days[-1])}: {whose}",
        description="Engineers as rows, days as columns, the hours within each day. The same facts stand in the list.",
        rows=tuple(person.name for person in people),
        columns=tuple((day_words(day), ground.whole.holidays.get(day, "")) for day in days),
        cells=tuple(tuple(row[columns]) for row in cells[rows]),
        today=days.index(today) if today in days else None,
    )


def _grid(asked: Days, cells: list[list[Cell]]) -> Grid:
    across = asked.days == 1
    axis = _axis([cell for row in cells for cell in row], (LONG_HOUR if across else SHORT_HOUR) / 60)
    if across:
        return Grid(axis, across=True, names=110, head=34, breadth=58)
    return Grid(axis, across=False, names=110, head=22, breadth=159)


def _axis(cells: Iterable[Cell], a_minute: float) -> Axis:
    times = []
    for cell in cells:
        times += [cell.works] if cell.works else []
        times += [(block.start, block.end) for block in cell.blocks if not (block.earlier or block.later)]
    return axis_for(times, a_minute=a_minute)


def moved_lately(visit_move: UUID, user: User) -> dict[str, Any] | None:
    """What a visit's last move was, for the way back shown after it; None where it is not the last. Two statements."""
    if not user.may(Right.BOOK):
        return None
    row = VisitMove.objects.filter(pk=visit_move).select_related("visit__site").first()
    if row is None or VisitMove.objects.filter(Q(at__gt=row.at), visit=row.visit_id).exists():
        return None
    return {"move": row, "visit": row.visit, "from": when_words(row.from_start), "to": when_words(row.to_start)}


def when_words(at: datetime) -> str:
    """A day and time near enough to need no year: "Tue 3 Feb, 09:00"."""
    here = london(at)
    return f"{day_words(here.date())}, {here:%H:%M}"


def page_of(name: str) -> str:
    """The address of a page of another floor or room, "" where there is none."""
    try:
        return address(name)
    except NoReverseMatch:
        return ""
