"""From the database to what the planner is given: who works when, what stands, what is to be placed, how far it all is."""

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from jobsite.firm.queries import the_firm
from jobsite.people.models import User
from jobsite.premises.models import Site
from jobsite.words import many
from remedials.visits.driving.routing import NoMatrix, matrix_from
from remedials.visits.models import DiaryTerms, DrivingTime
from remedials.visits.planner.problem import Job, Problem, Shift
from remedials.visits.queries import problem_people as people
from remedials.visits.queries.access import windows_of
from remedials.visits.queries.problem_supply import OfSites, of_sites
from remedials.visits.queries.problem_work import (
    ToPlan,
    boards_above,
    looks_at,
    quarter_after,
    sites_to_plan,
    unbooked,
    work_to_plan,
)
from remedials.visits.queries.terms import diary_terms
from remedials.visits.rules import travel
from remedials.visits.rules.checks import Check
from remedials.visits.rules.days import bank_holidays
from remedials.visits.rules.grouping import DANGER, Group, grouped
from remedials.visits.rules.times import MINUTES_A_DAY, Window, both, minute_of, odd_hours, span_of, without
from remedials.works.models import Remedial

USUAL_DAY = 480  # minutes in which one visit must fit where nobody works on these days
NOT_KNOWN_WHERE = "It is not known where this site is: write its coordinates on its page."
Access = Mapping[tuple[UUID, UUID | None], list[tuple[datetime, datetime]]]


@dataclass(frozen=True)
class Gathered:
    """The problem, and what its keys stand for: the remedials of each job; what is held back, and why.

    `missing`: kind ("site", "home"), key and name of places that nobody knows. `notes`: sentences for whoever reads
    the plan.
    """

    problem: Problem
    work: dict[str, list[UUID]]
    held_back: dict[UUID, str]
    missing: list[tuple[str, str, str]]
    notes: list[str]
    from_instant: datetime


@dataclass
class Places:
    """Every place of the problem by its key, those that are known, and whom to ask for the rest."""

    known: dict[str, travel.Place] = field(default_factory=dict)
    missing: list[tuple[str, str, str]] = field(default_factory=list)


def problem_of(first: date, days: int, users: Sequence[User], now: datetime) -> tuple[Problem, list[str]]:
    """The problem of `days` days from `first` for the engineers `users`, and the names of places that are missing."""
    found = gathered(first, days, users, now)
    return found.problem, [name for _, _, name in found.missing]


def gathered(first: date, days: int, users: Sequence[User], now: datetime) -> Gathered:
    """All that a plan of `days` days from `first` is made of. Twenty-five statements, however much there is.

    The routing server is asked where the firm names one; where it fails, driving is reckoned and a note says so.
    """
    terms = diary_terms(first)
    last = first + timedelta(days=days - 1)
    sites = {row.site_id: row.site for row in unbooked()}
    access: Access = windows_of(list(sites.values()), first, last) if looks_at(terms, Check.ACCESS) else {}
    to_plan = work_to_plan(first, days, terms=terms, own_access={key: 1 for key in access if key[1]})
    visits = people.standing(users, first, days)
    table = driving_table()
    places = _places(users, [*sites.values(), *(visit.site for visit in visits)], table)
    supply = of_sites(to_plan.rows.values(), visits)
    _hold_back(to_plan, places, supply)
    closed = _closed(terms, {the_firm().nation, *(site.nation for site in sites.values())}, first, last)
    shifts = people.shifts(users, first, days, terms=terms, closed=closed[the_firm().nation], homes=set(places.known))
    groups = grouped(to_plan.works, above=boards_above(sites), least=terms.visit_minutes_least, most=_longest(shifts))
    open_at = _Open(first, days, now, access, closed, supply, terms)
    jobs = [_job(group, to_plan, open_at.windows(group, to_plan), terms) for group in groups]
    if looks_at(terms, Check.OUTAGE):
        apart = supply.apart({group.works[0].key: [to_plan.rows[work.key] for work in group.works] for group in groups})
        jobs = [replace(job, apart=apart[job.key]) for job in jobs]
    minutes, km, notes = _driven(places.known, terms, table)
    return Gathered(
        problem=Problem(days, tuple(shifts), tuple(people.fixed(visits, first, shifts, set(places.known))), tuple(jobs), minutes, km, first),
        work={group.works[0].key: [to_plan.rows[work.key].pk for work in group.works] for group in groups},
        held_back=to_plan.held_back,
        missing=places.missing,
        notes=notes,
        from_instant=quarter_after(now),
    )  # fmt: skip


def missing_places() -> list[tuple[str, str, str]]:
    """Sites with work to plan and engineers of which it is not known where they are. Three statements."""
    return _places(people.engineers(), sites_to_plan(), driving_table()).missing


def driving_table() -> dict[tuple[str, str], tuple[int, float]]:
    """The firm's table: minutes and km by districts. One statement."""
    rows = DrivingTime.objects.values_list("from_district", "to_district", "minutes", "km")
    return {(a, b): (minutes, float(km)) for a, b, minutes, km in rows}


def _places(users: Iterable[User], sites: Iterable[Site], table: Mapping[Any, Any]) -> Places:
    names: dict[str, tuple[str, str, str]] = {}
    every: dict[str, travel.Place] = {}
    for user in users:
        key = people.home_of(user)
        names[key] = ("home", str(user.pk), user.name)
        every[key] = _place(key, user.home_latitude, user.home_longitude, user.home_postcode)
    for site in sites:
        key = people.site_of(site.pk)
        names[key] = ("site", str(site.pk), site.name)
        every[key] = _place(key, site.latitude, site.longitude, site.postcode)
    lost = set(travel.unknown(every.values(), table))
    found = Places({key: place for key, place in every.items() if key not in lost})
    found.missing = sorted((names[key] for key in lost), key=lambda one: (one[0], one[2], one[1]))
    return found


def _place(key: str, latitude: Any, longitude: Any, postcode: str) -> travel.Place:
    known = latitude is not None and longitude is not None
    point = (float(latitude), float(longitude)) if known else (None, None)
    return travel.Place(key, key, point[0], point[1], postcode)


def _hold_back(to_plan: ToPlan, places: Places, supply: OfSites) -> None:
    """Take off the plan what is nobody knows where, and live tests below a lock-off."""
    for work in list(to_plan.works):
        row = to_plan.rows[work.key]
        lock = supply.below_lock(row)
        if people.site_of(work.site) not in places.known:
            to_plan.hold(row, NOT_KNOWN_WHERE)
        elif lock:
            to_plan.hold(
                row, f"Its live tests lie below a lock-off: {lock}. Book it for whoever put that on, or later."
            )
        else:
            continue
        to_plan.works.remove(work)


def _closed(terms: DiaryTerms, nations: Iterable[str], first: date, last: date) -> dict[str, dict[date, str]]:
    """The bank holidays by nation; none where the firm does not heed them."""
    heeded = looks_at(terms, Check.BANK_HOLIDAY)
    return {nation: bank_holidays(nation, first, last) if heeded else {} for nation in nations}


def _longest(shifts: Iterable[Shift]) -> int:
    return max((shift.end - shift.start for shift in shifts), default=USUAL_DAY)


def _job(group: Group, to_plan: ToPlan, windows: Sequence[Window], terms: DiaryTerms) -> Job:
    head = group.works[0]
    skills = frozenset({head.skill}) if head.skill and looks_at(terms, Check.SKILL) else frozenset[str]()
    return Job(
        key=head.key,
        site=head.site,
        place=people.site_of(head.site),
        minutes=group.minutes,
        windows=tuple(windows),
        skills=skills,
        crew=group.crew,
        danger=group.danger,
        remedy_by=group.remedy_by,
        what=_what(group, to_plan),
    )


def _what(group: Group, to_plan: ToPlan) -> str:
    """What it removes, in words: "2 C2 items, 1 C3 item"; "" where no observation is open or coded."""
    codes = Counter(o.code for work in group.works for o in to_plan.rows[work.key].open_items if o.code)  # type: ignore[attr-defined]
    ordered = sorted(codes.items(), key=lambda one: -DANGER.get(one[0], 0))
    return ", ".join(many(count, f"{code} item") for code, count in ordered)


@dataclass(frozen=True)
class _Open:
    """When work at a site can be done: its access times, without closed days, odd hours, what is past, other outages."""

    first: date
    days: int
    now: datetime
    access: Access
    closed: Mapping[str, Mapping[date, str]]
    supply: OfSites
    terms: DiaryTerms

    def windows(self, group: Group, to_plan: ToPlan) -> list[Window]:
        """The windows of one visit, in minutes of the plan."""
        head, row = group.works[0], to_plan.rows[group.works[0].key]
        last = self.days - 1 if head.last is None else head.last
        found: list[Window] = [(head.first * MINUTES_A_DAY, (last + 1) * MINUTES_A_DAY)]
        times = self.access.get((row.site_id, row.unit_id), self.access.get((row.site_id, None)))
        if times is not None:
            found = both(found, [span_of(start, end, self.first) for start, end in times])
        rows = [to_plan.rows[work.key] for work in group.works]
        return without(found, [*self._never(row.site), *self._clashes(rows)])

    def _never(self, site: Site) -> list[Window]:
        holidays = [(on - self.first).days * MINUTES_A_DAY for on in self.closed.get(site.nation, ())]
        past = minute_of(quarter_after(self.now), self.first)
        return [(start, start + MINUTES_A_DAY) for start in holidays] + odd_hours(self.first, self.days) + [(0, past)]

    def _clashes(self, rows: Sequence[Remedial]) -> list[Window]:
        """When another visit there has the power off that this one needs, or needs the power that this one cuts."""
        if not looks_at(self.terms, Check.OUTAGE):
            return []
        return [span_of(visit.start, visit.end, self.first) for visit in self.supply.clashing(rows)]


Matrices = tuple[dict[str, dict[str, int]], dict[str, dict[str, float]], list[str]]


def _driven(known: Mapping[str, travel.Place], terms: DiaryTerms, table: Mapping[Any, Any]) -> Matrices:
    """Minutes and km between all known places: from the routing server, else by the table and the distance."""
    minutes, km = travel.matrix(
        list(known.values()), winding=float(terms.winding_factor), speed_kmh=terms.speed_kmh, table=table
    )
    points = {key: place.point for key, place in known.items() if place.point}
    if not terms.matrix_address or len(points) < 2:
        return minutes, km, []
    try:
        by_road, how_far = matrix_from(terms.matrix_address, points)
    except NoMatrix as no:
        return minutes, km, [f"{no} Driving is reckoned by the firm's own figures instead."]
    for key in points:
        minutes[key] |= by_road[key]
        km[key] |= how_far[key]
    return minutes, km, []
