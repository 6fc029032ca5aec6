"""Reading the due list. Pages, digests, reminders and the API ask here what is due, and nowhere else."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from functools import cache
from typing import Any
from uuid import UUID

from django.conf import settings
from django.db.models import Q, QuerySet, Value
from django.http import HttpRequest
from django.urls import reverse

from jobsite.firm.queries import last_beat
from jobsite.marks import Axis, age_line_svg, code_mark, common_axis
from jobsite.paging import Slice, keyset
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Board
from jobsite.words import late, near_day, since, when
from remedials.due.models import DueRow

NO_DATE = date(9999, 12, 31)
ORDER = ("due", "-rank", "kind", "ref")
COUNT_STOPS_AT = 100
STALE_AFTER = timedelta(minutes=30)
SWEEP = "sweep"
NOBODY = UUID(int=0)

GROUPS = ("Late", "Today", "This week", "Later", "No date")
PAGES = {
    "uncoded": "inspections:review",
    "decide": "desk:observation",
    "offer-again": "desk:remedial",
    "look-again": "desk:observation",
    "review": "works:review",
    "inspection": "desk:site",
}


def rows_due(user: User, *, today: date) -> QuerySet[DueRow]:
    """Every row that `user` may see and that stands in the list on `today`."""
    return DueRow.objects.visible_to(user).filter(shows_from__lte=today)


def narrowed(rows: QuerySet[DueRow], *, owner: str = "", code: str = "", waits_on: str = "", words: str = "") -> Any:
    """`rows` as a person narrows them: by owner (a key, or "nobody"), code, whom it waits on, words."""
    if owner == "nobody":
        rows = rows.filter(owner__isnull=True)
    elif owner:
        rows = rows.filter(owner=_key(owner))
    if code:
        rows = rows.filter(code=code)
    if waits_on:
        rows = rows.exclude(waits_on="") if waits_on == "anybody" else rows.filter(waits_on=waits_on)
    for word in words.split()[:8]:
        found = Q(subject__icontains=word) | Q(site__name__icontains=word) | Q(next_step__icontains=word)
        rows = rows.filter(found | Q(unit__name__icontains=word))
    return rows


def _key(text: str) -> UUID:
    try:
        return UUID(text)
    except ValueError:
        return NOBODY


def page_of_rows(rows: QuerySet[DueRow], *, today: date, after: str = "", size: int = 50) -> Slice:
    """One page of `rows` as dicts of ready strings, with a `heading` where a group begins. Two statements."""
    found = keyset(rows.select_related("site", "unit", "owner"), ORDER, after=after, size=size)
    return Slice(as_dicts(found.rows, today=today), found.next)


def first_things(rows: QuerySet[DueRow], *, today: date) -> dict[str, list[dict[str, Any]]]:
    """What stands above the list: C1 not made safe, loose ends, uncoded reports; at most 30 in all. Two statements."""
    urgent = rows.filter(Q(loose=True) | Q(code="C1", made_safe=False) | Q(kind="uncoded"))
    dicts = as_dicts(
        list(urgent.select_related("site", "unit", "owner").order_by("-rank", "due", "ref")[:30]), today=today
    )
    return {
        "danger": [row for row in dicts if row["danger_now"]],
        "loose": [row for row in dicts if row["loose"] and not row["danger_now"]],
        "uncoded": [row for row in dicts if row["kind"] == "uncoded"],
    }


def group_counts(rows: QuerySet[DueRow], *, today: date) -> dict[str, str]:
    """How many rows each group has, counted up to 100 ("100+" beyond). One statement."""
    parts = [
        rows.filter(_in_group(group, today))
        .annotate(heap=Value(group))
        .order_by()
        .values_list("heap")[: COUNT_STOPS_AT + 1]
        for group in GROUPS
    ]
    heaps = [heap for (heap,) in parts[0].union(*parts[1:], all=True)]
    counts = {group: heaps.count(group) for group in GROUPS}
    return {group: f"{COUNT_STOPS_AT}+" if n > COUNT_STOPS_AT else str(n) for group, n in counts.items() if n}


def _in_group(group: str, today: date) -> Q:
    sunday = today + timedelta(days=6 - today.weekday())
    return {
        "Late": Q(due__lt=today),
        "Today": Q(due=today),
        "This week": Q(due__gt=today, due__lte=sunday),
        "Later": Q(due__gt=max(sunday, today), due__lt=NO_DATE),
        "No date": Q(due=NO_DATE),
    }[group]


def group_of(due: date, today: date) -> str:
    """The group in which a row due on `due` stands on `today`; a week ends on Sunday."""
    if due == NO_DATE:
        return "No date"
    if due <= today:
        return "Late" if due < today else "Today"
    return "This week" if due <= today + timedelta(days=6 - today.weekday()) else "Later"


def as_dicts(rows: Iterable[DueRow], *, today: date) -> list[dict[str, Any]]:
    """Rows as dicts of ready strings for a template. One statement for the names of their boards."""
    rows = list(rows)
    boards = dict(Board.objects.filter(pk__in={r.board for r in rows if r.board}).values_list("pk", "designation"))
    axis = common_axis([(r.first_recorded_on, r.remedy_by) for r in rows if r.first_recorded_on], today)
    dicts, group = [], ""
    for row in rows:
        entry = _dict(row, boards, axis, today)
        entry["heading"] = entry["group"] if entry["group"] != group else ""
        group = entry["group"]
        dicts.append(entry)
    return dicts


def _dict(row: DueRow, boards: dict[UUID, str], axis: Axis, today: date) -> dict[str, Any]:
    unit = row.unit.name if row.unit and not row.unit.whole_site else ""
    due = None if row.due == NO_DATE else row.due
    return {
        "kind": row.kind,
        "group": group_of(row.due, today),
        "code": code_mark(row.code, row.made_safe) if row.observation else "",
        "letters": row.code,
        "next_step": row.next_step,
        "href": address_of(row),
        "take_on": _take_on(row),
        "subject": row.subject,
        "rule": row.rule,
        "site": row.site.name,
        "site_href": _address("desk:site").format(row.site_id),
        "place": ", ".join(filter(None, [unit, boards.get(row.board) if row.board else ""])),
        "age": age_line_svg(row.code, row.first_recorded_on, row.remedy_by, today, axis)
        if row.first_recorded_on
        else "",
        "since": since(row.first_recorded_on, today) if row.first_recorded_on else "",
        "who": row.waits_on or (row.owner.name if row.owner else "nobody"),
        "waits": bool(row.waits_on),
        "by": near_day(due, today) if due else "no date",
        "late": late(due, today),
        "loose": row.loose,
        "made_safe": row.made_safe,
        "danger_now": row.code == "C1" and not row.made_safe,
    }


def address_of(row: DueRow) -> str:
    """The page on which the row's next step is taken."""
    page = PAGES.get(row.kind, "desk:remedial")
    key = {
        "desk:site": row.site_id,
        "desk:observation": row.observation,
        "inspections:review": row.observation,
    }.get(page, row.remedial)
    return _address(page if key else "desk:observation").format(key or row.observation)


def _take_on(row: DueRow) -> str:
    if row.remedial and row.kind != "chase":
        return _address("works:take_on").format(row.remedial)
    return _address("inspections:take_on").format(row.observation) if row.observation else ""


@cache
def _address(name: str) -> str:
    """The address of a page with one key, as a template for `format`: reversing it anew for each row is slow."""
    return reverse(name, args=[NOBODY]).replace(str(NOBODY), "{}")


def still_due(kind: str, ref: UUID) -> bool:
    """Whether the obligation (kind, ref) still stands, whatever its date."""
    return DueRow.objects.filter(kind=kind, ref=ref).exists()


def clockwork_banner(request: HttpRequest) -> str:
    """A sentence for every office page when the sweep has not run to its end for 30 minutes; else "". One statement."""
    if not request.user.may(Right.PLAN_WORK):  # type: ignore[union-attr]
        return ""
    beat = last_beat(SWEEP)
    now = request.now  # type: ignore[attr-defined]
    if beat and now - beat <= STALE_AFTER:
        return ""
    last = f"They last ran on {when(beat)}." if beat else "They have not run yet."
    return f"The reminders have stopped. {last} Nothing is lost, but nobody is being told: look at the worker and beat."


def last_ran(now: datetime) -> str:
    """When the reminders last ran, in words."""
    beat = last_beat(SWEEP)
    if not beat:
        return "reminders have not run yet"
    minutes = int((now - beat).total_seconds() // 60)
    return "reminders last ran just now" if minutes < 1 else f"reminders last ran {minutes} min ago"


def lines_for_digest(user: User, *, today: date) -> dict[str, list[str]]:
    """What the digest of `user` on `today` lists: danger apart, then what is late and due this week.

    The office and managers are told of everything without an owner too. The same rows as the page. One statement.
    """
    mine = Q(owner=user)
    if user.may(Right.PLAN_WORK):
        mine |= Q(owner__isnull=True) | Q(loose=True) | Q(owner__is_active=False)
    soon = Q(due__lte=today + timedelta(days=6)) | Q(loose=True) | Q(code="C1", made_safe=False)
    rows = rows_due(user, today=today).filter(mine, soon).select_related("site", "owner").order_by(*ORDER)
    found: dict[str, list[str]] = {
        "Danger present, not made safe": [],
        "Loose ends": [],
        "Late": [],
        "Today": [],
        "This week": [],
    }
    for row in rows[:400]:
        danger = row.code == "C1" and not row.made_safe
        heading = "Danger present, not made safe" if danger else "Loose ends" if row.loose else group_of(row.due, today)
        heading = "This week" if heading == "Later" else heading
        found.setdefault(heading, []).append(_digest_line(row, today))
    return {heading: lines for heading, lines in found.items() if lines}


def _digest_line(row: DueRow, today: date) -> str:
    by = "no date" if row.due == NO_DATE else late(row.due, today) or f"by {near_day(row.due, today)}"
    code = f"{row.code} " if row.code else ""
    return f"- {code}{row.next_step}: {row.subject} ({row.site.name}), {by}\n  {settings.SITE_ADDRESS}{address_of(row)}"


def active_staff() -> list[User]:
    """People of the firm who still work here."""
    return list(User.objects.filter(is_active=True).order_by("name", "pk"))


def danger_now(*, today: date) -> list[DueRow]:
    """Every C1 that is not made safe. One statement."""
    rows = DueRow.objects.filter(code="C1", made_safe=False, observation__isnull=False, shows_from__lte=today)
    return list(rows.select_related("site", "owner").order_by("observation", "due", "kind"))
