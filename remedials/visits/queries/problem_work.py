"""What there is to plan: approved remedials on no visit, what holds some of them back, and the visits that they make."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from uuid import UUID

from django.db.models import Prefetch, Q, QuerySet

from inspections.models import Observation
from jobsite.premises.choices import FeedKind
from jobsite.premises.models import Feed, Site
from jobsite.sorting import sort_key
from jobsite.words import day
from remedials.visits.models import DiaryTerms, SeeTo
from remedials.visits.queries.access import to_see_to
from remedials.visits.queries.checks import held_back
from remedials.visits.rules.checks import Check, Severity, severity_of
from remedials.visits.rules.grouping import DANGER, Work, on_site
from remedials.works.models import Remedial, Waiting
from remedials.works.states import Stage

NO_MINUTES = "How long it takes is not known: write its minutes on its page, or price it."


@dataclass
class ToPlan:
    """What can be planned, as the rules group it, and why the rest cannot, by remedial."""

    works: list[Work] = field(default_factory=list)
    held_back: dict[UUID, str] = field(default_factory=dict)
    rows: dict[str, Remedial] = field(default_factory=dict)  # by the key of their work

    def hold(self, remedial: Remedial, why: str) -> None:
        """Leave `remedial` out of the plan, and say why."""
        self.held_back[remedial.pk] = why


def looks_at(terms: DiaryTerms, check: Check) -> bool:
    """Whether the plan heeds `check`: whatever the firm wants to be told of, be it a refusal or a warning."""
    return severity_of(check, terms.severities) is not Severity.SILENT


def work_to_plan(
    first: date, days: int, *, terms: DiaryTerms, own_access: Mapping[tuple[UUID, UUID | None], object]
) -> ToPlan:
    """The approved remedials that are on no visit, for the days from `first`. Seven statements at most.

    `own_access`: the sites and units that have access times; what has others is another visit.
    """
    last = first + timedelta(days=days - 1)
    found = ToPlan()
    rows = unbooked()
    held = held_back(rows) if looks_at(terms, Check.CANCELLATION) else {}
    waits = _waits(rows)
    until = _seen_to(rows, first, last, found) if looks_at(terms, Check.SEE_TO) else {}
    for row in rows:
        if row.pk in found.held_back:
            continue
        start = max(first, held.get(row.pk, first), _parts(row, first, terms))
        end = until.get(row.pk, last)
        if row.pk in waits:
            found.hold(row, waits[row.pk])
        elif row.minutes is None:
            found.hold(row, NO_MINUTES)
        elif start > last or start > end:
            found.hold(row, _too_early(row, start, held.get(row.pk)))
        else:
            access = str(row.unit_id) if (row.site_id, row.unit_id) in own_access else ""
            work = _work(row, first, start, None if end == last else end, access)
            found.works.append(work)
            found.rows[work.key] = row
    return found


def sites_to_plan() -> list[Site]:
    """The sites of what is `unbooked`, with what tells where they are. One statement."""
    sites = Site.objects.filter(pk__in=_unbooked().values("site"))
    return list(sites.only("pk", "name", "latitude", "longitude", "postcode"))


def _unbooked() -> QuerySet[Remedial]:
    return Remedial.objects.filter(stage=Stage.APPROVED, site__archived_at__isnull=True)


def unbooked() -> list[Remedial]:
    """The approved remedials of sites that are not archived, with their open observations. Two statements.

    Approved is what is on no visit to come: one that was part done, or where nobody was let in, keeps the line of that
    visit until it is booked again.
    """
    items = Prefetch("observations", Observation.objects.open().order_by("number"), to_attr="open_items")
    return list(_unbooked().select_related("site", "unit").prefetch_related(items).order_by("number"))


def boards_above(sites: Iterable[UUID]) -> dict[str, frozenset[str]]:
    """For each board that is fed from another, all on its way from the supply, by its normal feed. One statement."""
    rows = Feed.objects.filter(site__in=sites, kind=FeedKind.NORMAL, from_circuit__isnull=False)
    feeder = {str(board): str(by) for board, by in rows.values_list("board", "from_circuit__board")}
    found = {}
    for board in feeder:
        way: list[str] = []
        at = board
        while (at := feeder.get(at, "")) and at not in way and at != board:
            way.append(at)
        found[board] = frozenset(way)
    return found


def _work(row: Remedial, first: date, start: date, end: date | None, access: str) -> Work:
    items: list[Observation] = row.open_items  # type: ignore[attr-defined]
    limits = [o.remedy_by for o in items if o.remedy_by]
    boards = {str(o.board_id) for o in items if o.board_id}
    off = frozenset[str]() if row.power_off is False else (frozenset(boards) or None)
    return Work(
        key=f"{row.number:08}",
        site=str(row.site_id),
        skill=sort_key(row.skill),
        minutes=on_site(row.minutes or 0, row.crew),
        crew=row.crew,
        access=access,
        off=off,
        danger=max((DANGER.get(o.code, 0) for o in items), default=0),
        remedy_by=(min(limits) - first).days if limits else None,
        first=(start - first).days,
        last=None if end is None else (end - first).days,
    )


def _parts(row: Remedial, first: date, terms: DiaryTerms) -> date:
    return row.parts_ready_on if row.parts_ready_on and looks_at(terms, Check.PARTS) else first


def _too_early(row: Remedial, start: date, held: date | None) -> str:
    if held == start:
        return f"The customer may still cancel, and has not asked to begin at once: not before {day(start)}."
    if row.parts_ready_on == start:
        return f"Its parts are there from {day(start)}, after these days."
    return "What was seen to holds no longer when it could begin."


def _waits(rows: list[Remedial]) -> dict[UUID, str]:
    """Which remedials wait on somebody outside, themselves or by what they put right, and for what. One statement."""
    keys = [row.pk for row in rows]
    waiting = Waiting.objects.filter(ended_at__isnull=True).filter(
        Q(remedial__in=keys) | Q(observation__remedials__in=keys)
    )
    said = waiting.order_by("-chase_on").values_list("remedial", "observation__remedials", "on_whom", "for_what")
    return {key: f"It waits on {on_whom} for {for_what}." for *both, on_whom, for_what in said for key in both if key}


def _seen_to(rows: list[Remedial], first: date, last: date, found: ToPlan) -> dict[UUID, date]:
    """The last day for what is seen to on the first day only; what is not even then is held back. Two questions."""
    unmet, later = to_see_to(rows, first), to_see_to(rows, last)
    by_key = {row.pk: row for row in rows}
    for key, things in unmet.items():
        if things:
            what = "; ".join(f"{one.get_kind_display()}: {one.what}" for one in things)
            found.hold(by_key[key], f"This must be seen to first: {what}.")
    return {
        key: min(_holds(one, last) for one in things) for key, things in later.items() if things and not unmet.get(key)
    }


def _holds(one: SeeTo, last: date) -> date:
    return min(one.holds_until or last, last)


def quarter_after(now: datetime) -> datetime:
    """The next quarter of an hour: nobody is sent off at 10:07."""
    past = timedelta(minutes=now.minute % 15, seconds=now.second, microseconds=now.microsecond)
    return now - past + timedelta(minutes=15) if past else now
