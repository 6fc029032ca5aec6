"""The rows of the diary as they come from the database: visits and proposals of people, their hours, roads between."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.contrib.postgres.expressions import ArraySubquery
from django.db.models import F, OuterRef
from django.db.models.functions import Coalesce, JSONObject

from jobsite.firm.queries import the_firm
from jobsite.people.models import User
from jobsite.people.queries import hours
from jobsite.premises.models import Site
from remedials.visits.choices import ProposalState
from remedials.visits.drawing.layout import Part, part_on
from remedials.visits.models import Attendance, DiaryTerms, DrivingTime, Proposal, Visit, VisitLine
from remedials.visits.queries.terms import diary_terms
from remedials.visits.queries.visits import begins
from remedials.visits.rules import travel
from remedials.visits.rules.days import bank_holidays
from remedials.works.models import Remedies
from remedials.works.queries.lists import WORST_FIRST

# What a line of a visit is about, told with the visit itself so that a week takes one statement.
ABOUT = JSONObject(
    remedial="remedial__number",
    stage="remedial__stage",
    kind="kind",
    settled=F("settled_at"),
    code=Coalesce("remedial__observations__code", "observation__code"),
    held=Coalesce("remedial__observations__made_safe", "observation__made_safe"),
    ended=Coalesce("remedial__observations__ended", "observation__ended"),
)
# No more than is shown: the long texts of sites and visits stay where they are.
COLUMNS = (
    "start", "end", "engineer__name", "visit__number", "visit__start", "visit__end", "visit__outage", "visit__outage_start",
    "visit__answered", "visit__emergency", "visit__version", "visit__site__name", "visit__site__postcode",
    "visit__site__latitude", "visit__site__longitude",
)  # fmt: skip
NOWHERE = Part(0, 0)
ITEMS = JSONObject(code="observation__code", held="observation__made_safe", ended="observation__ended")


@dataclass(frozen=True)
class Entry:
    """A visit or a proposal as one of its engineers has it; `part`: what of it falls on the day it is shown on."""

    key: UUID
    engineer: User
    start: datetime
    end: datetime
    site: Site
    lines: list[dict[str, Any]] = field(default_factory=list)
    visit: Visit | None = None
    proposal: Proposal | None = None
    part: Part = NOWHERE

    @property
    def proposed(self) -> bool:
        """Whether it is the planner's proposal."""
        return self.visit is None

    def on(self, day: date) -> Part | None:
        """What of it falls on `day`."""
        return part_on(self.start, self.end, day)

    @property
    def worst(self) -> tuple[str, bool]:
        """The code of the most dangerous open item, "" for none, and whether it is made safe."""
        found = [(line["code"], bool(line["held"])) for line in self.lines if line["code"] and not line["ended"]]
        return min(found, key=lambda one: (WORST_FIRST.get(one[0], 3), one[1]), default=("", False))


def booked(user: User, *, first: date, last: date) -> list[Entry]:
    """The visits that `user` sees on these days, once for each who goes; a subcontractor sees their own. One statement."""
    rows = Attendance.objects.filter(cancelled=False, visit__state=Visit.State.BOOKED)
    rows = rows.filter(start__lt=begins(last + timedelta(days=1)), end__gt=begins(first))
    rows = rows.filter(visit__in=Visit.objects.visible_to(user))
    if user.subcontractor:
        rows = rows.filter(engineer=user)
    lines = VisitLine.objects.filter(visit=OuterRef("visit"), active=True)
    rows = rows.annotate(found=ArraySubquery(lines.order_by("pk").values(found=ABOUT)))
    rows = rows.select_related("visit__site", "engineer").only(*COLUMNS).order_by("start", "visit")
    return [
        Entry(a.visit_id, a.engineer, a.start, a.end, a.visit.site, a.found, visit=a.visit)  # type: ignore[attr-defined]
        for a in rows
    ]


def proposed(people: list[User], *, first: date, last: date, now: datetime) -> list[Entry]:
    """What plans propose on these days, still open and still to come. One statement."""
    items = Remedies.objects.filter(remedial__proposals=OuterRef("proposal"))
    until = begins(last + timedelta(days=1))
    rows = Proposal.engineers.through.objects.filter(
        proposal__state=ProposalState.OPEN, proposal__start__lt=until, proposal__end__gt=begins(first)
    )
    rows = rows.filter(user__in=people, proposal__start__gte=now)
    rows = rows.annotate(found=ArraySubquery(items.values(found=ITEMS))).select_related("proposal__site", "user")
    return [
        Entry(p.pk, row.user, p.start, p.end, p.site, row.found, proposal=p)  # type: ignore[attr-defined]
        for row in rows.order_by("proposal__start", "proposal")
        if (p := row.proposal)
    ]


@dataclass(frozen=True)
class WholeDays:
    """When people work on some days: hours as instants, who is away, bank holidays, and the firm's terms."""

    hours: dict[Any, tuple[datetime, datetime] | None]
    away: dict[tuple[UUID, date], str]
    holidays: dict[date, str]
    terms: DiaryTerms


def whole_days(people: list[User], *, first: date, last: date) -> WholeDays:
    """Hours, leave and bank holidays of `people`. Five statements."""
    terms = diary_terms(first)
    found = hours.hours_on(people, first, last, usual=(terms.day_start, terms.day_end))
    away: dict[tuple[UUID, date], str] = {}
    for leave in hours.away(people, first, last):
        for n in range((min(leave.last, last) - max(leave.first, first)).days + 1):
            away[leave.user_id, max(leave.first, first) + timedelta(days=n)] = leave.get_what_display()
    return WholeDays(found, away, bank_holidays(the_firm().nation, first, last), terms)


def place_of(site: Site) -> travel.Place:
    """Where a site is, for driving."""
    return travel.Place(str(site.pk), site.name, _degrees(site.latitude), _degrees(site.longitude), site.postcode)


def home_of(user: User) -> travel.Place:
    """Where somebody's day begins and ends, for driving."""
    at = _degrees(user.home_latitude), _degrees(user.home_longitude)
    return travel.Place(f"home {user.pk}", f"the home of {user.name}", *at, user.home_postcode)


def _degrees(value: Any) -> float | None:
    return None if value is None else float(value)


class Roads:
    """Driving between two places, as the firm reckons it."""

    def __init__(self, places: Iterable[travel.Place], terms: DiaryTerms) -> None:
        """Reads the part of the loaded table that these places need. One statement, none where they have no district."""
        names = {name for place in places if (name := travel.district(place.postcode))}
        rows = DrivingTime.objects.filter(from_district__in=names, to_district__in=names) if len(names) > 1 else ()
        self.table = {(row.from_district, row.to_district): (row.minutes, float(row.km)) for row in rows}
        self.known: dict[tuple[str, str], int | None] = {}
        self.winding, self.speed = float(terms.winding_factor), float(terms.speed_kmh)

    def minutes(self, a: travel.Place, b: travel.Place) -> int | None:
        """Whole minutes from `a` to `b`; None where it is not known where one of them is."""
        if a.key == b.key:
            return 0
        if (a.key, b.key) not in self.known:
            self.known[a.key, b.key] = self._reckoned(a, b)
        return self.known[a.key, b.key]

    def _reckoned(self, a: travel.Place, b: travel.Place) -> int | None:
        if travel.unknown((a, b), self.table):
            return None
        return travel.matrix((a, b), winding=self.winding, speed_kmh=self.speed, table=self.table)[0][a.key][b.key]


def roads(by_day: dict[tuple[UUID, date], list[Entry]], terms: DiaryTerms) -> Roads:
    """The roads between the sites of these days. One statement at most."""
    return Roads({place_of(entry.site) for found in by_day.values() for entry in found}, terms)
