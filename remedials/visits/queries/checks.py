"""What of a visit that is asked for does not fit, how strictly the firm takes it, and what is said."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.db.models import Q
from django.utils.module_loading import import_string

from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.people.models import User
from jobsite.people.queries.hours import away, can_on, hours_on, skills_of
from jobsite.premises.models import Site
from jobsite.sorting import sort_key
from jobsite.words import joined
from remedials.visits.models import Attendance, DiaryTerms, DrivingTime, SeeTo, Visit
from remedials.visits.queries.access import to_see_to, window_for, windows_of
from remedials.visits.queries.supply import (
    Touched,
    feeds_of,
    lock_offs,
    outage_clashes,
    standing_locks,
    touched_by,
    unplaced,
)
from remedials.visits.queries.terms import diary_terms
from remedials.visits.rules.checks import Check, Finding, Severity, severity_of
from remedials.visits.rules.days import bank_holidays
from remedials.visits.rules.fitting import Asked, Going, Leg, Said, Work, look_over
from remedials.visits.rules.travel import Place, district, matrix, unknown
from remedials.works.models import Remedial


def findings(
    *, site: Site, remedials: list[Remedial], engineers: list[User], start: datetime, end: datetime, now: datetime,
    visit: Visit | None = None, emergency: bool = False, locks: str = "",
) -> list[Finding]:  # fmt: skip
    """What does not fit where `engineers` go to `site` from `start` up to `end` (instants) for `remedials`.

    `locks`: what is typed of other firms' locks. `visit` is the one that is moved, if any: it does not clash with itself. As strictly as the firm takes each on the day
    of the visit; what it keeps silent about is left out. At most 20 statements, however many people and remedials.
    """
    terms = diary_terms(clock.local_day(start))
    asked = _asked(
        site, remedials, engineers, start=start, end=end, visit=visit, emergency=emergency, terms=terms, locks=locks,
        today=clock.local_day(now),
    )  # fmt: skip
    return _as_set(look_over(asked), terms, emergency=emergency)


def _as_set(said: Iterable[Said], terms: DiaryTerms, *, emergency: bool) -> list[Finding]:
    found = []
    for one in said:
        severity = severity_of(one.check, terms.severities)
        if emergency and one.check == Check.SEE_TO:
            severity = Severity.WARN  # said whatever the firm set, and never what keeps help away
        found.append(Finding(one.check, severity, one.sentence, one.field))
    return [one for one in found if one.severity != Severity.SILENT]


def _asked(
    site: Site, remedials: list[Remedial], engineers: list[User], *, start: datetime, end: datetime,
    visit: Visit | None, emergency: bool, terms: DiaryTerms, locks: str, today: date,
) -> Asked:  # fmt: skip
    blank = Asked(site.name, start, end)
    first, last = blank.days[0], blank.days[-1]
    touched, feeds = touched_by(r.pk for r in remedials), feeds_of(site)
    units: set[UUID | None] = {r.unit_id for r in remedials} or {None}
    windows, standing = windows_of([site], first, last), standing_locks(site, touched, engineers)
    return Asked(
        site=site.name,
        start=start,
        end=end,
        going=_going(engineers, site, start, end, visit, terms),
        work=_work(remedials, touched, lock_offs(standing, remedials, touched, feeds), first),
        open_at=_shared([window_for(windows, site.pk, unit) for unit in units]),
        holidays=_holidays(site, first, last),
        outages=outage_clashes(site, remedials, touched, feeds, start=start, end=end, visit=visit),
        locks=unplaced(standing, remedials, touched, locks),
        emergency=emergency,
        today=today,
    )


def _shared(of_units: list[list[tuple[datetime, datetime]] | None]) -> list[tuple[datetime, datetime]] | None:
    """The spans at which every unit may be entered; None: at any time."""
    shared: list[tuple[datetime, datetime]] | None = None
    for spans in of_units:
        if spans is None:
            continue
        if shared is None:
            shared = spans
        else:
            both = [(max(a, c), min(b, d)) for a, b in shared for c, d in spans]
            shared = [one for one in both if one[0] < one[1]]
    return shared


def _holidays(site: Site, first: date, last: date) -> dict[date, str]:
    """The bank holidays of the site's nation and of the firm's. One statement."""
    found = dict(bank_holidays(site.nation, first, last))
    for on, name in bank_holidays(the_firm().nation, first, last).items():
        found.setdefault(on, f"{name} (where the firm is)")
    return found


def held_back(remedials: list[Remedial]) -> dict[UUID, date]:
    """The first day on which each may begin, by what the settings name; those that nothing holds back are missing."""
    found: dict[UUID, date] = {}
    for name in settings.HELD_BACK_UNTIL:
        for key, on in import_string(name)(remedials).items():
            found[key] = max(on, found.get(key, on))
    return found


def _work(remedials: list[Remedial], touched: Touched, locks: dict[UUID, tuple[str, ...]], on: date) -> list[Work]:
    """What is to be known of the work. Two statements and what the settings name."""
    first, before = held_back(remedials), to_see_to(remedials, on)
    return [
        Work(
            number=r.number,
            skill=r.skill,
            skill_folded=sort_key(r.skill),
            minutes=r.minutes,
            crew=r.crew,
            parts_ready_on=r.parts_ready_on,
            may_begin=first.get(r.pk),
            see_to=tuple(_thing(row) for row in before.get(r.pk, [])),
            remedy_by=min(
                (o.remedy_by for o in touched.observations[r.pk] if o.remedy_by and not o.ended), default=None
            ),
            lock_offs=locks.get(r.pk, ()),
        )
        for r in remedials
    ]


def _thing(row: SeeTo) -> str:
    return f"{row.get_kind_display()}, {row.what}"


def _going(
    engineers: list[User], site: Site, start: datetime, end: datetime, visit: Visit | None, terms: DiaryTerms
) -> list[Going]:
    """What is to be known of the people. Seven statements."""
    first, last = clock.local_day(start), clock.local_day(end - timedelta(microseconds=1))
    hours = hours_on(engineers, first, last, usual=(terms.day_start, terms.day_end))
    days = sorted({on for _, on in hours})
    gone, able = away(engineers, first, last), skills_of(engineers)
    legs = _legs(engineers, site, start, end, visit, terms)
    return [
        Going(
            name=user.name,
            hours={on: hours[user.pk, on] for on in days},
            away=tuple((l.first, l.last, l.get_what_display()) for l in gone if l.user_id == user.pk),  # noqa: E741
            skills=frozenset.intersection(*(can_on(able.get(user.pk, []), on) for on in (first, *days))),
            apprentice=user.apprentice,
            insured_until=user.insured_until,
            subcontractor=user.subcontractor,
            legs=tuple(legs.get(user.pk, ())),
        )
        for user in engineers
    ]


def _legs(
    engineers: list[User], site: Site, start: datetime, end: datetime, visit: Visit | None, terms: DiaryTerms
) -> dict[UUID, list[Leg]]:
    """For each engineer the visit before it and the one after it on the same day, and the driving. Two statements."""
    near = Attendance.objects.filter(engineer__in=[user.pk for user in engineers], cancelled=False)
    near = near.filter(
        Q(end__lte=start, end__gt=start - timedelta(hours=12)) | Q(start__gte=end, start__lt=end + timedelta(hours=12))
    )
    if visit is not None:
        near = near.exclude(visit=visit)
    same_day = [a for a in near.select_related("visit__site").order_by("start") if _same_day(a, start, end)]
    found: dict[UUID, list[Leg]] = {}
    minutes = _minutes({site, *(a.visit.site for a in same_day)}, terms) if same_day else {}
    for user in engineers:
        mine = [a for a in same_day if a.engineer_id == user.pk]
        beside = [*[a for a in mine if a.end <= start][-1:], *[a for a in mine if a.start >= end][:1]]
        legs = [(a, minutes.get((a.visit.site_id, site.pk))) for a in beside if a.visit.site_id != site.pk]
        found[user.pk] = [Leg(a.visit.site.name, (a.start, a.end), m) for a, m in legs if m is not None]
    return found


def _same_day(row: Attendance, start: datetime, end: datetime) -> bool:
    if row.end <= start:
        return clock.local_day(row.end) == clock.local_day(start)
    return clock.local_day(row.start) == clock.local_day(end)


def _minutes(sites: set[Site], terms: DiaryTerms) -> dict[tuple[UUID, UUID], int]:
    """Minutes of driving between those of `sites` of which it is known where they are. One statement."""
    places = [_place(site) for site in sorted(sites, key=lambda site: site.pk)]
    districts = {district(place.postcode) for place in places} - {""}
    rows = DrivingTime.objects.filter(from_district__in=districts, to_district__in=districts)
    table = {(r.from_district, r.to_district): (r.minutes, float(r.km)) for r in rows}
    lost = set(unknown(places, table))
    known = [place for place in places if place.name not in lost]
    found, _ = matrix(known, winding=float(terms.winding_factor), speed_kmh=terms.speed_kmh, table=table)
    return {(UUID(a), UUID(b)): minutes for a, row in found.items() for b, minutes in row.items()}


def _place(site: Site) -> Place:
    at: tuple[float | None, float | None] = (None, None)
    if site.latitude is not None and site.longitude is not None:
        at = (float(site.latitude), float(site.longitude))
    return Place(str(site.pk), joined(site.name, str(site.number), by=" "), *at, postcode=site.postcode)
