"""The rows of the due list as pages show them: narrowed, in order, folded, counted, the gravest first."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import Any
from uuid import UUID

from django.db.models import Case, Exists, F, OuterRef, Q, QuerySet, Subquery, UUIDField, Value, When, Window
from django.db.models.functions import Coalesce, RowNumber
from django.urls import reverse
from django.utils.html import format_html

from inspections.models import Observation
from jobsite.addresses import address
from jobsite.ids import key_in
from jobsite.kept_plans import plan_kept
from jobsite.marks import Axis, age_line_svg, age_ruler_svg, code_mark, common_axis
from jobsite.paging import SIZE, Slice, keyset
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Board
from jobsite.words import late, near_day, since
from remedials.due.models import DueRow
from remedials.due.policy import may_have_it
from remedials.due.queries.finding import day_with, due_until, maybe_urgent, of_owner

NO_DATE = date(9999, 12, 31)
# A site's rows of one kind and date stand together, so that they can fold into one.
ORDER = ("due", "-rank", "kind", "site_id", "ref")
# For paging, which knows no NULL: what no site has stands `at` NOBODY's. No kind has rows with and without a site.
KEYSET = ("due", "-rank", "kind", "at", "ref")
KEY = ("due", "rank", "kind", "at", "ref")
COUNT_STOPS_AT = 100
NEAR, FAR = 600, 20_000  # steps among which the rows of a page are sought before all of them are
FIRST_STOP_AT = 20
FOLDS_FROM = 6
NOBODY = UUID(int=0)
ALARM = "may be dangerous now"

GROUPS = ("Late", "Today", "This week", "Later", "No date")
PAGES = {
    "uncoded": "inspections:review",
    "decide": "desk:observation",
    "offer-again": "desk:remedial",
    "look-again": "desk:observation",
    "review": "works:review",
    "inspection": "desk:site",
    "draft": "inspections:inspection",
    "codes": "inspections:codes",
    "paper": "inspections:paper",
    "quote": "quotes:quote",
    "question": "quotes:quote",
    "notice": "inspections:notice",
    "confirm": "visits:visit",
    "unclosed": "visits:visit",
    "check-out": "visits:visit",
    "access": "visits:getting_in",
    "see-to": "visits:getting_in",
    "key": "visits:getting_in",
    "times": "visits:getting_in",
    "notification": "inspections:paper",
    "letter": "due:closing",
    "instrument": "works:instrument",
    "competence": "people:person",
    "insurance": "people:person",
    "recall": "works:recall",
}
# Pages of steps that not everybody opens who may see the row.
NEEDS = {"people:person": Right.KEEP_PEOPLE, "due:closing": Right.KEEP_CUSTOMERS}
OF_PRICES = ("quote", "question")
OF_FIRM = ("instrument", "competence", "insurance", "recall")
# A subcontractor sees own visits only: of these rows at a site that they see, those that are theirs.
OF_VISITS = ("confirm", "unclosed", "check-out", "access", "see-to", "key", "times")

# The heaps above the list, the first that fits: what a row must be to stand there, and the words for it.
DANGER, LOOSE, UNCODED = "danger", "loose", "uncoded"
HEAPS = {DANGER: Q(code="C1", made_safe=False), LOOSE: Q(loose=True), UNCODED: Q(kind="uncoded")}
HEAP_WORDS = {DANGER: "C1 not made safe", LOOSE: "Loose ends", UNCODED: "Reports that nobody has coded yet"}


@dataclass(frozen=True)
class DuePage(Slice):
    """One page of the due list, with the scale of its age lines."""

    ruler: str = ""


def rows_due(user: User, *, today: date) -> QuerySet[DueRow]:
    """Every row that `user` may see and that stands in the list on `today`."""
    return rows_seen(user).filter(shows_from__lte=today, shows_until__gte=today)


def rows_seen(user: User) -> QuerySet[DueRow]:
    """Every row that `user` may see, whatever its days; quotes are for those who see prices."""
    rows = DueRow.objects.visible_to(user)
    if user.subcontractor:
        rows = rows.exclude(~Q(owner=user), kind__in=OF_VISITS)
    return rows if user.may(Right.PRICE) else rows.exclude(kind__in=OF_PRICES)


def narrowed(
    rows: QuerySet[DueRow], *, owner: str = "", code: str = "", waits_on: str = "", words: str = "", heap: str = ""
) -> Any:
    """`rows` as a person narrows them.

    By owner (a key, or "nobody"), by code ("none" for those without one), by whom it waits on ("anybody", or words
    of a name), by words in the subject, step, site or unit, and by a heap of `HEAPS`.
    """
    if owner == "nobody":
        rows = rows.filter(owner__isnull=True)
    elif owner:
        rows = of_owner(rows, key_in(owner) or NOBODY)
    if code:
        rows = rows.filter(code="" if code == "none" else code)
    if waits_on:
        rows = rows.exclude(waits_on="") if waits_on == "anybody" else rows.filter(waits_on__icontains=waits_on)
    for word in words.split()[:8]:
        found = Q(subject__icontains=word) | Q(site__name__icontains=word) | Q(next_step__icontains=word)
        rows = rows.filter(found | Q(unit__name__icontains=word))
    return rows.filter(HEAPS[heap]) if heap in HEAPS else rows


def rows_to_read(user: User, *, today: date) -> QuerySet[DueRow]:
    """`rows_due`, ready for `as_dicts`."""
    return _read(rows_due(user, today=today))


def _read(rows: QuerySet[DueRow]) -> QuerySet[DueRow]:
    """`rows` with all that a row shows, so that each list is one statement."""
    named = Board.objects.filter(pk=OuterRef("board")).values("designation")
    alarming = Observation.objects.uncoded().filter(pk=OuterRef("observation"), may_be_dangerous=True)
    rows = rows.annotate(board_name=Subquery(named), alarming=Exists(alarming))
    return rows.select_related("site", "unit", "owner").only(*_shown())


@cache
def _shown() -> list[str]:
    """The columns that a row shows: its own, and few of its site, unit and owner, which have many."""
    own = [field.name for field in DueRow._meta.concrete_fields]
    return [*own, "site__name", "unit__name", "unit__whole_site", "owner__name", "owner__is_active"]


def page_of_rows(
    rows: QuerySet[DueRow],
    *,
    today: date,
    after: str = "",
    size: int = SIZE,
    user: User | None = None,
    owner: UUID | None = None,
) -> DuePage:
    """One page of `rows` as dicts of ready strings for `user`, with a `heading` where a group begins.

    Statements, and `owner`: see `slice_of_rows`.

    Six or more rows of one kind, site, owner, code and date are folded into one with `folded` holding them.
    A heading says how many rows its group has, counted up to 100 by looking that far beyond the page; a group that
    began on an earlier page says none.
    """
    found = slice_of_rows(rows, after=after, size=size, ahead=COUNT_STOPS_AT + 1, owner=owner)
    groups = [group_of(row.due, today) for row in (*found.rows, *found.ahead)]
    counts = {group: groups.count(group) for group in groups}
    if after and groups:
        counts[groups[0]] = 0
    axis = _axis(found.rows, today)
    entries = _with_headings(_folded(as_dicts(found.rows, today=today, axis=axis, user=user)), counts)
    return DuePage(entries, found.next, ruler=age_ruler_svg(today, axis))


def slice_of_rows(
    rows: QuerySet[DueRow], *, after: str = "", size: int = SIZE, ahead: int = 1, owner: UUID | None = None
) -> Slice:
    """One page of `rows` in the list's order, ready for `as_dicts`, and the rows `ahead` of it.

    `owner`: that `rows` are known to be of that person. Two statements where few steps are due before the page is full, as
    in the list of a whole firm; up to five in one that is narrowed so that the rows of a page lie far apart.
    Raises BadRequest for an `after` that this list did not make.
    """
    placed = rows.annotate(at=Coalesce("site_id", Value(NOBODY), output_field=UUIDField()))
    for many in NEAR, FAR:
        day, held = day_with(many, after=after, owner=owner)
        near = placed if day is None else due_until(placed, day, held)
        with plan_kept():
            found = keyset(_read(near), KEYSET, after=after, size=size, ahead=ahead)
        if day is None:
            return found
        if len(found.rows) + len(found.ahead) == size + ahead:
            return found
    # Keys first: sorting every open row with all that a page shows of it costs half as much again.
    keys = keyset(placed.values(*KEY), KEYSET, after=after, size=size, ahead=ahead)
    return Slice(_by_keys(rows, keys.rows), keys.next, _by_keys(rows, keys.ahead))


def _by_keys(rows: QuerySet[DueRow], keys: list[dict[str, Any]]) -> list[DueRow]:
    """The rows of `keys` in their order, ready to be shown; the view reaches them by its indexes."""
    read = {(row.kind, row.ref): row for row in _read(rows.filter(ref__in=[key["ref"] for key in keys]))}
    return [read[key["kind"], key["ref"]] for key in keys if (key["kind"], key["ref"]) in read]


def all_rows(rows: QuerySet[DueRow], *, today: date) -> list[dict[str, Any]]:
    """Every one of `rows` as dicts, in the list's order, for a download. One statement."""
    return as_dicts(list(_read(rows).order_by(*ORDER)), today=today)


def _folded(dicts: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The same list with many rows of one sort put into the first of them."""
    alike: dict[tuple[Any, ...], list[dict[str, Any]]] = {}
    for row in dicts:
        key = (row["kind"], row["site_href"], row["who"], row["letters"], row["due"], row["in_hand"])
        alike.setdefault(key, []).append(row)
    entries = []
    for rows in alike.values():
        entries += [_fold(rows)] if len(rows) >= FOLDS_FROM else rows
    return entries


def _fold(rows: list[dict[str, Any]]) -> dict[str, Any]:
    """The first of `rows` holding them all, with the longest overdue of them."""
    oldest = min(rows, key=lambda row: row["remedy_by"] or NO_DATE)
    return rows[0] | {"folded": rows, "count": len(rows), "overdue": oldest["overdue"]}


def _with_headings(entries: list[dict[str, Any]], counts: dict[str, int]) -> list[dict[str, Any]]:
    group = ""
    for entry in entries:
        entry["heading"] = "" if entry["group"] == group else _heading(entry["group"], counts[entry["group"]])
        group = entry["group"]
    return entries


def _heading(group: str, count: int) -> str:
    if not count:
        return group
    return f"{group} · {f'{COUNT_STOPS_AT}+' if count > COUNT_STOPS_AT else count}"


def first_things(
    rows: QuerySet[DueRow], *, today: date, leavers: Collection[UUID], user: User | None = None
) -> list[dict[str, Any]]:
    """What stands above the list: C1 not made safe, loose ends, uncoded reports; only heaps that have any.

    Each with `heap`, `words`, `count` ("20+" beyond) and `rows`, worst and oldest first, of those without a code what
    may be dangerous now; an observation stands in a
    heap once. `leavers`: the keys of all who have left. One statement.
    """
    heap = Case(*(When(condition, then=Value(name)) for name, condition in HEAPS.items()))
    order: list[Any] = [F("rank").desc(), F("alarming").desc(), F("due"), F("ref")]
    place = Window(RowNumber(), partition_by=[heap], order_by=order)
    urgent = _read(rows).filter(HEAPS[DANGER] | HEAPS[LOOSE] | HEAPS[UNCODED], maybe_urgent(leavers, user))
    urgent = urgent.annotate(heap=heap, place=place)
    with plan_kept():
        found = list(urgent.filter(place__lte=FIRST_STOP_AT + 1).order_by("place"))
    axis = _axis(found, today)
    heaps = []
    for name, words in HEAP_WORDS.items():
        mine = list({row.observation or row.ref: row for row in reversed(found) if row.heap == name}.values())[::-1]  # type: ignore[attr-defined]
        if mine:
            count = f"{FIRST_STOP_AT}+" if len(mine) > FIRST_STOP_AT else str(len(mine))
            shown = as_dicts(mine, today=today, axis=axis, user=user)
            heaps.append({"heap": name, "words": words, "count": count, "rows": shown})
    return heaps


def group_of(due: date, today: date) -> str:
    """The group in which a row due on `due` stands on `today`; a week ends on Sunday."""
    if due == NO_DATE:
        return "No date"
    if due <= today:
        return "Late" if due < today else "Today"
    return "This week" if due <= today + timedelta(days=6 - today.weekday()) else "Later"


def _axis(rows: Iterable[DueRow], today: date) -> Axis:
    return common_axis([(r.first_recorded_on, r.remedy_by) for r in rows if r.first_recorded_on], today)


def as_dicts(
    rows: Iterable[DueRow], *, today: date, axis: Axis | None = None, user: User | None = None
) -> list[dict[str, Any]]:
    """Rows (from `rows_to_read`) as dicts of ready strings for a template. No statement but their own.

    For `user`, a step leads to its form where they may use it.
    """
    rows = list(rows)
    axis = axis or _axis(rows, today)
    return [_dict(row, axis, today, user) for row in rows]


def _dict(row: DueRow, axis: Axis, today: date, user: User | None) -> dict[str, Any]:
    unit = row.unit.name if row.unit and not row.unit.whole_site else ""
    due = None if row.due == NO_DATE else row.due
    first = row.first_recorded_on
    return {
        "kind": row.kind,
        "group": group_of(row.due, today),
        "code": code_mark(row.code, row.made_safe) if row.observation or row.code else "",
        "letters": row.code,
        "next_step": row.next_step,
        "href": step_address(row, user),
        "make_safe": _make_safe(row, user),
        "about": address("desk:observation", row.observation) if row.observation else _page_for(row, user),
        "take_on": _take_on(row),
        "subject": row.subject,
        "rule": row.rule,
        "site": row.site_name,
        "site_href": address("desk:site", row.site_id) if row.site_id else "",
        "place": ", ".join(filter(None, [unit, row.board_name])),  # type: ignore[attr-defined]
        "age": age_line_svg(row.code, first, row.remedy_by, today, axis) if first else "",
        "since": since(first, today) if first else "",
        "first": first,
        "remedy_by": row.remedy_by,
        "who": row.waits_on or owner_words(row.owner),
        "in_hand": in_hand_words(row, today),
        "have_it": have_it_address(row, user, today),
        "in_hand_until": row.in_hand_until,
        "in_hand_why": row.in_hand_why or "",
        "waits": "waits on" if row.waits_on else "",
        "due": due,
        "by": near_day(due, today) if due else "no date",
        "mark": mark_of(row, today),
        "overdue": overdue(row.code, row.remedy_by, today),
        "loose": row.loose,
        "made_safe": row.made_safe,
    }


def owner_words(owner: User | None) -> str:
    """Who has it: a name, "nobody", or that the person has left."""
    if owner is None:
        return "nobody"
    return owner.name if owner.is_active else f"{owner.name} (has left)"


def in_hand_words(row: DueRow, today: date) -> str:
    """ "Mina Volt has it until Thu 3 Dec: the part is on its way", or that the day has passed; "" for no such word."""
    if row.in_hand_until is None:
        return ""
    has = "has it" if row.in_hand_until >= today else "had it in hand"
    return f"{owner_words(row.owner)} {has} until {near_day(row.in_hand_until, today)}: {row.in_hand_why}"


def have_it_address(row: DueRow, user: User | None, today: date) -> str:
    """Where `user` says that they have it; "" where they said so already, or it isn't theirs to say."""
    held = row.in_hand_until is not None and row.in_hand_until >= today
    if user is None or not may_have_it(user, row) or (held and row.owner_id == user.pk):
        return ""
    return _have_it_shape().format(row.kind, row.ref)


@cache
def _have_it_shape() -> str:
    """The address as a template for `format`: reversing it anew for each row is slow."""
    return reverse("due:have_it", args=["kind", NOBODY]).replace("/kind/", "/{}/").replace(str(NOBODY), "{}")


def leading_row(rows: Iterable[DueRow]) -> DueRow | None:
    """Which of the rows of one thing says what must happen next: a loose end, else the soonest; None of none."""
    return min(rows, key=lambda row: (not row.loose, row.due, row.kind, row.ref), default=None)


def mark_of(row: DueRow, today: date) -> str:
    """What is wrong with the row, reversed out of its ground: it may be dangerous now, is a loose end, or late; or ""."""
    words = "loose end" if row.loose else late(row.due, today)
    words = ALARM if getattr(row, "alarming", False) else words
    return format_html('<span class="late">{}</span>', words) if words else ""


def overdue(code: str, remedy_by: date | None, today: date) -> str:
    """How long ago an item should have been remedied, which a step with a new date would hide; "" for a C3."""
    if not remedy_by or remedy_by >= today or code == "C3":
        return ""
    return format_html('<span class="late">remedy overdue {}</span>', since(remedy_by, today))


def address_of(row: DueRow) -> str:
    """The page on which the row's next step is taken."""
    page = PAGES.get(row.kind, "desk:remedial")
    key = {
        "desk:site": row.site_id,
        "visits:getting_in": row.site_id,
        "desk:observation": row.observation,
        "inspections:review": row.observation,
        "inspections:inspection": row.ref,
        "inspections:codes": row.ref,
        "inspections:paper": row.ref,
        "works:instrument": row.ref,
        "due:closing": row.ref,
        "works:recall": row.ref,
        "people:person": row.person,
        "inspections:notice": row.observation,
        "quotes:quote": row.quote,
        "visits:visit": row.visit,
    }.get(page, row.remedial)
    return address(page, key) if key else address("desk:observation", row.observation)


def step_address(row: DueRow, user: User | None) -> str:
    """Where `user` takes the row's next step: the form of the step itself where they may use it, else `address_of`.

    "" where its page isn't for them: who renews their own competence does so elsewhere, and the office records it.
    """
    if row.kind == "decide" and (form := _make_safe(row, user)):
        return form
    if row.kind == "look-again" and row.observation and user and user.may(Right.INSPECT):
        return address("inspections:look_again", row.observation)
    if row.kind == "answer" and row.quote and user and user.may(Right.PRICE):
        return address("quotes:quote", row.quote)
    return _page_for(row, user)


def _page_for(row: DueRow, user: User | None) -> str:
    """`address_of`, but "" where `user` may not open that page."""
    right = NEEDS.get(PAGES.get(row.kind, ""))
    return "" if right and user and not user.may(right) else address_of(row)


def _make_safe(row: DueRow, user: User | None) -> str:
    """The form by which `user` says that the danger of this row was made safe; "" where there is none or they may not."""
    danger = row.code == "C1" and not row.made_safe and row.observation
    return address("inspections:make_safe", row.observation) if danger and user and user.may(Right.INSPECT) else ""


def _take_on(row: DueRow) -> str:
    if row.remedial and row.kind not in ("chase", *OF_VISITS):
        return address("works:take_on", row.remedial)
    if row.kind in OF_PRICES:
        return address("quotes:take_on", row.quote)
    return address("inspections:take_on", row.observation) if row.observation else ""
