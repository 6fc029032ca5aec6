"""This gap: what due work fits an empty stretch of somebody's day, the most dangerous first, then the nearest."""

from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.db.models import Exists, OuterRef, Q, QuerySet

from inspections.models import Observation
from jobsite import clock
from jobsite.addresses import address
from jobsite.marks import code_mark
from jobsite.people.models import User
from jobsite.people.queries.hours import can_on, skills_of
from jobsite.sorting import sort_key
from jobsite.words import joined, late, london, many, measure, near_day, span
from remedials.visits.models import Attendance, SeeTo, Visit
from remedials.visits.queries.access import window_for, windows_of
from remedials.visits.queries.checks import held_back
from remedials.visits.queries.diary_rows import Roads, home_of, place_of
from remedials.visits.queries.terms import diary_terms
from remedials.visits.queries.visits import begins
from remedials.visits.rules import travel
from remedials.visits.rules.gap import Span, when_in
from remedials.works.models import Remedial, Waiting
from remedials.works.queries.lists import WORST_FIRST, observations_by_remedial
from remedials.works.states import Stage

MOST_LOOKED_AT, MOST_SHOWN = 2000, 50


@dataclass(frozen=True)
class Fit:
    """Work that fits: when, and how long the ways there and onward are (minutes; None: not known)."""

    remedial: Remedial
    when: Span
    there: int | None
    onward: int | None
    items: list[Observation] = field(default_factory=list)

    @property
    def order(self) -> tuple[int, int, int]:
        """The most dangerous first, then the nearest."""
        return (
            WORST_FIRST.get(self.items[0].code, 3) if self.items else 5,
            (self.there or 0) + (self.onward or 0),
            self.number,
        )

    @property
    def number(self) -> int:
        """The remedial's number."""
        return self.remedial.number


def fitting(user: User, who: User, *, start: datetime, until: datetime, now: datetime) -> dict[str, Any]:
    """The approved work that `who` could do from `start` up to `until`, with the driving there and onward.

    Left out: what `who` has no skill for on that day, what takes more people, what waits for somebody, for parts or for
    something to be seen to, what a consumer may still cancel, and what does not fit with its driving and the customer's access times. Work whose place or
    duration nobody knows is told apart. Eleven statements at most, however much work there is.
    """
    on = london(start).date()
    work = list(candidates(user, who, on)[:MOST_LOOKED_AT])
    held = held_back(work)
    work = [remedial for remedial in work if held.get(remedial.pk, on) <= on]
    timed = [remedial for remedial in work if remedial.minutes]
    before, after = _ends(who, start, until)
    roads = Roads([before, after, *(place_of(remedial.site) for remedial in timed)], diary_terms(on))
    windows = windows_of({r.site_id: r.site for r in timed}.values(), on, on)
    found, lost = [], set()
    for remedial in timed:
        here = place_of(remedial.site)
        nowhere = {name for pair in ((before, here), (here, after)) for name in travel.unknown(pair, roads.table)}
        lost |= nowhere
        if here.name in nowhere:
            continue
        there, onward = roads.minutes(before, here), roads.minutes(here, after)
        open_at = window_for(windows, remedial.site_id, remedial.unit_id)
        if when := when_in((start, until), remedial.minutes or 0, there or 0, onward or 0, open_at):
            found.append(Fit(remedial, when, there, onward))
    return {
        "who": who.name,
        "when": span(start, until),
        "before": before.name,
        "after": after.name,
        "rows": _rows(found, who, clock.local_day(now)),
        "lost": sorted(lost),
        "untimed": many(len(work) - len(timed), "remedial") if len(work) > len(timed) else "",
    }


def candidates(user: User, who: User, on: date) -> "QuerySet[Remedial, Any]":
    """Approved work that nothing holds back on the day `on` and that `who` alone has the skill for."""
    skills = can_on(skills_of([who]).get(who.pk, []), on)
    rows = Remedial.objects.visible_to(user).filter(stage=Stage.APPROVED, crew=1, site__archived_at=None)
    rows = rows.filter(Q(parts_ready_on=None) | Q(parts_ready_on__lte=on))
    waits = Waiting.objects.filter(ended_at=None).filter(
        Q(remedial=OuterRef("pk")) | Q(observation__remedials=OuterRef("pk"))
    )
    unmet = SeeTo.objects.filter(withdrawn_at=None).filter(
        Q(remedial=OuterRef("pk"))
        | Q(remedial=None, unit=OuterRef("unit"))
        | Q(remedial=None, unit=None, site=OuterRef("site"))
    )
    unmet = unmet.filter(Q(met_on=None) | Q(met_on__gt=on) | Q(holds_until__lt=on))
    rows = rows.filter(~Exists(waits), ~Exists(unmet)).select_related("site", "unit").order_by("step_by", "number")
    return _with_skill(rows, skills)


def _with_skill(rows: "QuerySet[Remedial, Any]", skills: frozenset[str]) -> "QuerySet[Remedial, Any]":
    """Those whose skill, folded, is one of `skills`, or that ask for none."""
    names = set(rows.exclude(skill="").order_by().values_list("skill", flat=True).distinct())
    return rows.filter(skill__in=["", *(name for name in names if sort_key(name) in skills)])


def _ends(who: User, start: datetime, until: datetime) -> tuple[travel.Place, travel.Place]:
    """Where `who` is before and after the stretch: at that day's visits, else at home. One statement."""
    on = london(start).date()
    rows = Attendance.objects.filter(engineer=who, cancelled=False, visit__state=Visit.State.BOOKED, end__gt=begins(on))
    rows = rows.filter(Q(end__lte=start) | Q(start__gte=until)).select_related("visit__site").order_by("start")
    here = [row for row in rows if london(row.start).date() <= on]
    before = [row for row in here if row.end <= start]
    after = [row for row in here if row.start >= until]
    first = place_of(before[-1].visit.site) if before else home_of(who)
    return first, place_of(after[0].visit.site) if after else home_of(who)


def _rows(found: list[Fit], who: User, today: date) -> list[dict[str, Any]]:
    items = observations_by_remedial(fit.remedial for fit in found)
    withs = [
        Fit(f.remedial, f.when, f.there, f.onward, [o for o in items.get(f.remedial.pk, []) if not o.ended])
        for f in found
    ]
    return [_row(fit, who, today) for fit in sorted(withs, key=lambda fit: fit.order)[:MOST_SHOWN]]


def _row(fit: Fit, who: User, today: date) -> dict[str, Any]:
    remedial = fit.remedial
    start, end = (f"{london(at):%Y-%m-%dT%H:%M}" for at in fit.when)
    worst = fit.items[0] if fit.items else None
    return {
        "number": str(remedial.number),
        "work": remedial.work,
        "address": address("desk:remedial", remedial.pk),
        "mark": code_mark(worst.code, worst.made_safe, False, worst.needs_code) if worst else "",
        "site": joined(remedial.site.name, "" if remedial.unit.whole_site else remedial.unit.name),
        "minutes": measure(remedial.minutes, "min"),
        "times": f"{london(fit.when[0]):%H:%M}–{london(fit.when[1]):%H:%M}",
        "drive": joined(_way(fit.there, "there"), _way(fit.onward, "onward")),
        "by": near_day(remedial.step_by, today),
        "late": late(remedial.step_by, today),
        "book": address("visits:book", remedial=remedial.pk, engineers=who.pk, start=start, end=end),
    }


def _way(minutes: int | None, where: str) -> str:
    return f"{where} not known" if minutes is None else f"{measure(minutes, 'min')} {where}"
