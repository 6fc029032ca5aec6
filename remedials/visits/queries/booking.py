"""What the page that books a visit shows: what can be booked together, what else is to be done there, who is free."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Q

from inspections.models import InspectionDue, Observation
from jobsite import clock
from jobsite.ids import key_in
from jobsite.people.models import User
from jobsite.people.queries.hours import away, can_on, skills_of
from jobsite.people.rights import Role
from jobsite.premises.models import Site
from jobsite.sorting import sort_key
from jobsite.words import day, joined, london, many, span
from remedials.visits.choices import LineKind
from remedials.visits.models import Attendance, Visit, VisitLine
from remedials.visits.queries.supply import feeds_of, touched_by
from remedials.visits.queries.visits import begins
from remedials.visits.rules.below import boards_below
from remedials.works.models import Remedial
from remedials.works.states import Stage


@dataclass(frozen=True)
class Other:
    """Something besides remedials that a visit can be for."""

    value: str  # its kind and key, as the form sends it
    label: str


def under_one_outage(chosen: Iterable[Remedial], offered: Iterable[Remedial], site: Site) -> dict[UUID, str]:
    """Those of `offered` that the outage of `chosen` covers too, with why in words: done together, it goes off once.

    Themselves in need of power off, and nowhere but on boards that go off anyhow: what is also on another board needs an
    outage of its own. Three statements; none where nothing goes off.
    """
    mine = [remedial for remedial in chosen if remedial.power_off]
    others = [r for r in offered if r.power_off and r.pk not in {m.pk for m in mine}]
    if not mine or not others:
        return {}
    touched, feeds = touched_by(r.pk for r in (*mine, *others)), feeds_of(site)
    off: dict[UUID, int] = {}
    for remedial in mine:
        for board in boards_below(touched.boards[remedial.pk], feeds):
            off.setdefault(board, remedial.number)
    return {
        r.pk: f"under the same outage as remedial {off[min(touched.boards[r.pk])]}"
        for r in others
        if touched.boards[r.pk] and touched.boards[r.pk] <= off.keys()
    }


def others_of(site: Site, wanted: Iterable[str] = ()) -> list[Other]:
    """What else may be done at `site`: inspections that are due or asked for, looks, call-outs. Four statements.

    What is on a visit to come already is left out.
    """
    asked = set(wanted)
    taken = VisitLine.objects.filter(visit__site=site, active=True, settled_at=None)
    gone = {_value(line.kind, line.unit_id or line.observation_id) for line in taken.exclude(kind=LineKind.REMEDIAL)}
    units = list(site.units.current().order_by("sort"))
    due = dict(InspectionDue.objects.filter(unit__in=units).values_list("unit", "due_on"))
    found = [
        Other(value, joined("Inspect" if unit.whole_site else f"Inspect {unit.name}", _due(due.get(unit.pk))))
        for unit in units
        if (value := _value(LineKind.INSPECTION, unit.pk)) in asked or unit.pk in due
    ]
    seen = Observation.objects.filter(site=site, ended="", draft=False)
    again, reported = seen.filter(made_safe=True).order_by("number"), seen.filter(code="").order_by("number")
    found += [
        Other(_value(LineKind.LOOK_AGAIN, row.pk), f"Look again at {row.number}, made safe: {row.text}")
        for row in again
    ]
    found += [Other(_value(LineKind.CALL_OUT, row.pk), f"Call-out for {row.number}: {row.text}") for row in reported]
    return [other for other in found if other.value not in gone]


def _due(on: date | None) -> str:
    return f"due {day(on)}" if on else ""


def _value(kind: str, key: UUID | None) -> str:
    return f"{kind}:{key}"


def keys_of(values: Iterable[str]) -> dict[str, list[UUID]]:
    """By kind of line, the keys that `values` (as `Other.value`) spell."""
    found: dict[str, list[UUID]] = {kind: [] for kind in LineKind.values}
    for value in values:
        kind, _, text = value.partition(":")
        if kind in found and (key := key_in(text)):
            found[kind].append(key)
    return found


def engineers() -> Any:
    """Those who may be sent, by name."""
    return User.objects.filter(is_active=True, roles__contains=[Role.ENGINEER.value]).order_by("name", "pk")


def about_people(people: list[User], work: Iterable[Remedial], on: date) -> dict[UUID, str]:
    """Of each of `people`, in words: whether they have the skills of `work`, and what the day `on` holds. Three statements."""
    wanted = {sort_key(r.skill): r.skill for r in work if r.skill}
    skills, gone = skills_of(people), {leave.user_id for leave in away(people, on, on)}
    busy: Mapping[UUID, list[str]] = _busy(people, on)
    return {
        user.pk: _about(user, wanted, can_on(skills.get(user.pk, []), on), gone, busy.get(user.pk, []), on)
        for user in people
    }


def _about(user: User, wanted: dict[str, str], able: frozenset[str], gone: set[UUID], busy: list[str], on: date) -> str:
    lacking = [name for sort, name in wanted.items() if sort not in able]
    return joined(
        "apprentice, never alone" if user.apprentice else "",
        "subcontractor" if user.subcontractor else "",
        f"lacks {', '.join(lacking)}" if lacking else "",
        f"away on {day(on)}" if user.pk in gone else f"{'busy ' + ', '.join(busy) if busy else 'free'} on {day(on)}",
        by="; ",
    )


def _busy(people: list[User], on: date) -> dict[UUID, list[str]]:
    around = Q(start__date__lte=on + timedelta(days=1), end__date__gte=on - timedelta(days=1))
    found: dict[UUID, list[str]] = {}
    for row in Attendance.objects.filter(around, engineer__in=people, cancelled=False).order_by("start"):
        if clock.local_day(row.start) <= on <= clock.local_day(row.end):
            found.setdefault(row.engineer_id, []).append(f"{london(row.start):%H:%M}–{london(row.end):%H:%M}")
    return found


def in_the_way(visits: Iterable[Visit]) -> list[tuple[str, str]]:
    """Visits that an emergency would displace, as key and words; each once."""
    return [
        (str(key), f"Visit {row.number} to {row.site.name}, {span(row.start, row.end)}")
        for key, row in {visit.pk: visit for visit in visits}.items()
    ]


def length_words(work: Iterable[Remedial]) -> str:
    """How long `work` takes by what is written at it, for the form's help; "" where nothing is."""
    work = list(work)
    minutes = sum(r.minutes or 0 for r in work)
    crew = max((r.crew for r in work), default=1)
    unsaid = sum(r.minutes is None for r in work)
    if not minutes:
        return ""
    alone = f"The work ticked takes about {many(minutes, 'minute')} for one person"
    shared = f", {many(-(-minutes // crew), 'minute')} for {crew}" if crew > 1 else ""
    return f"{alone}{shared}{f'; {unsaid} without a time' if unsaid else ''}."


def bookable_at(user: User, site: Site) -> list[Remedial]:
    """The approved remedials of `site`. One statement."""
    rows = Remedial.objects.visible_to(user).filter(site=site, stage=Stage.APPROVED)
    return list(rows.select_related("site").order_by("number"))


def booked_then(user: User, first: date, last: date) -> list[str]:
    """In sentences, the visits of `user` that touch the days from `first` to `last`. One statement."""
    rows = Attendance.objects.filter(engineer=user, cancelled=False, start__lt=begins(last + timedelta(days=1)))
    there = rows.filter(end__gt=begins(first)).select_related("visit__site").order_by("start")
    return [
        f"{user.name} is booked then: visit {row.visit.number}, {row.visit.site.name}, {span(row.start, row.end)}. Move it "
        "or send somebody else."
        for row in there
    ]
