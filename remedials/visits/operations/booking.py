"""Booking a visit. Closing a remedial never touches its visit."""

from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import TypedDict, Unpack
from uuid import UUID

from django.db import IntegrityError, transaction

from inspections.models import Observation
from jobsite import clock
from jobsite.firm.operations import take_number
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site, Unit
from jobsite.premises.operations import grant_access
from jobsite.refused import NotAllowed, Refused
from jobsite.words import span
from remedials.visits import policy
from remedials.visits.choices import LineKind
from remedials.visits.models import Attendance, Visit, VisitLine
from remedials.visits.operations import booking_work
from remedials.visits.operations.calling_off import call_off, give_back
from remedials.visits.operations.overtaken import note_overtaken
from remedials.visits.operations.telling import What, tell
from remedials.visits.queries.checks import findings
from remedials.visits.queries.terms import diary_terms
from remedials.visits.rules.checks import Finding, Severity
from remedials.visits.verbs import Verb
from remedials.works.models import Remedial
from remedials.works.operations import mark_booked
from remedials.works.operations.ground import person, same_form

LONGEST = timedelta(days=14)
NOT_YOURS = "Only the office may book and cancel visits."


class Particulars(TypedDict, total=False):
    """What is agreed about a visit, in words and instants: the fields of `Visit` of the same names."""

    access: str
    outage: str
    outage_with: str
    outage_start: datetime | None
    outage_end: datetime | None
    permits: str
    locks: str


class Warned(Refused):
    """It is booked only when a person says why all the same. `findings` are what they were warned of."""

    def __init__(self, found: list[Finding]) -> None:
        super().__init__(" ".join(one.sentence for one in found), field="despite")
        self.findings = found


class Clash(Refused):
    """Somebody is elsewhere at that time; `visits` are those that an emergency would displace."""

    def __init__(self, visits: list[Visit], sentence: str) -> None:
        super().__init__(sentence, field="engineers")
        self.visits = visits


@dataclass
class Wanted:
    """What a visit is for: remedials and, besides, inspections of units, looks at what was made safe, call-outs."""

    remedials: list[Remedial] = field(default_factory=list)
    units: list[Unit] = field(default_factory=list)
    looks: list[Observation] = field(default_factory=list)
    call_outs: list[Observation] = field(default_factory=list)


@operation
def book_visit(
    site: Site, *, id: UUID, engineers: Iterable[User], start: datetime, end: datetime, by: Actor, now: datetime,
    remedials: Iterable[Remedial] = (), units: Iterable[Unit] = (), looks: Iterable[Observation] = (),
    call_outs: Iterable[Observation] = (), move: bool = False, emergency: bool = False,
    displace: bool | Collection[UUID] = False, despite: str = "", confirm: bool = True, **told: Unpack[Particulars],
) -> Visit:  # fmt: skip
    """Book a visit of `engineers` from `start` up to `end` (instants) for approved remedials and other things of one site.

    1. The sites (those of visits to be displaced too), remedials, then the engineers are locked in the order of their keys:
    two bookings of one person wait for each other instead of meeting crosswise in the constraint. 2. A remedial on another
    visit is taken off it only if `move` says so; a visit to come that is left with nothing to do is cancelled. 3. What does
    not fit (`queries.checks`) refuses it, or warns: then it is booked only with `despite`, a person's reason. 4. An engineer
    who is elsewhere is refused with a sentence that names where; an `emergency` may `displace` those visits, whose work goes
    back to the office (where `displace` names them: those and no other). 5. A subcontractor sees the site from now on.
    6. Those who go are told.
    `confirm`: whether somebody is to say that the time suits. Raises NotAllowed, Refused (Warned, Clash).
    """
    if not policy.may_book(by):
        raise NotAllowed(NOT_YOURS)
    wanted = Wanted(list(remedials), list(units), list(looks), list(call_outs))
    going = list(engineers)
    # The same form again finds its own visit there.
    in_the_way = [one for one in displaced_by(going, start, end) if one.pk != id] if emergency and displace else []
    knowingly(in_the_way, displace)
    site = booking_work.held(site, in_the_way)
    work = booking_work.locked_work(site, wanted.remedials, in_the_way)
    if made := Visit.objects.filter(pk=id).first():
        return same_form(made, made.site_id == site.pk)
    _sensible_span(start, end, now, told)
    booking_work.must_be_bookable(site, work, wanted, move=move)
    left = booking_work.visits_left(work, now)
    people = able(going)
    look(
        site, work, people, start=start, end=end, now=now, despite=despite, emergency=emergency, locks=told.get("locks", "")
    )  # fmt: skip
    visit = Visit.objects.create(
        id=id, number=take_number("visit"), site=site, start=start, end=end, booked_by=person(by), booked_at=now,
        emergency=emergency, despite=despite.strip(), confirm_by=confirm_day(start, now) if confirm else None,
        **_stripped(told),
    )  # fmt: skip
    _displace(in_the_way, visit, people, by=by, now=now)
    VisitLine.objects.filter(remedial__in=work, active=True).update(active=False)
    for empty in left:
        call_off(empty, reason=f"Its work moved to visit {visit.number}.", back=[], by=by, now=now)
    attend(visit, people)
    _put_on(visit, work, wanted)
    note_overtaken(visit, work, now=now)
    _record(visit, people, work, wanted, in_the_way, by=by, now=now)
    for remedial in work:
        mark_booked(remedial, visit_start=start, owner=people[0], by=by, now=now)
    see_site(site, people, now)
    tell(visit, What.BOOKED, users=people, by=by, now=now)
    return visit


def _stripped(told: Particulars) -> dict[str, object]:
    return {name: value.strip() if isinstance(value, str) else value for name, value in told.items()}


def _record(
    visit: Visit,
    people: list[User],
    work: list[Remedial],
    wanted: Wanted,
    gone: list[Visit],
    *,
    by: Actor,
    now: datetime,
) -> None:
    facts = {
        "number": visit.number,
        "start": visit.start.isoformat(),
        "end": visit.end.isoformat(),
        "engineers": sorted(str(p.pk) for p in people),
        "remedials": sorted(str(r.pk) for r in work),
    }
    others = {
        "units": [str(unit.pk) for unit in wanted.units],
        "looks": [str(seen.pk) for seen in wanted.looks],
        "call_outs": [str(seen.pk) for seen in wanted.call_outs],
        "emergency": visit.emergency,
        "displaced": [str(one.pk) for one in gone],
    }
    facts |= {name: value for name, value in others.items() if value}
    names = ("access", "outage", "outage_with", "permits", "locks", "despite")
    words = {name: getattr(visit, name) for name in names}
    record(Verb.BOOKED, site=visit.site_id, subject=visit, by=by, now=now, facts=facts, words=words)


def confirm_day(start: datetime, now: datetime) -> date:
    """By when somebody is to say that the time suits: the firm's days before the visit, never before today."""
    days = diary_terms(clock.local_day(start)).confirm_days
    return max(clock.local_day(start) - timedelta(days=days), clock.local_day(now))


def _sensible_span(start: datetime, end: datetime, now: datetime, told: Particulars) -> None:
    if end <= start:
        raise Refused("The visit must end after it begins.", field="end")
    if end - start > LONGEST:
        raise Refused("A visit lasts 14 days at most: book several.", field="end")
    if clock.local_day(start) < clock.local_day(now):
        raise Refused("This visit would begin in the past.", field="start")
    off, on = told.get("outage_start"), told.get("outage_end")
    if (off is None) != (on is None):
        raise Refused("Say both when the power goes off and when it comes back, or neither.", field="outage_end")
    if off and on and on <= off:
        raise Refused("The power must come back after it goes off.", field="outage_end")
    if off and on and (off < start or on > end):
        raise Refused("The outage must lie within the visit.", field="outage_start")


def look(
    site: Site, work: list[Remedial], people: list[User], *, start: datetime, end: datetime, now: datetime, despite: str,
    emergency: bool = False, visit: Visit | None = None, locks: str = "",
) -> None:  # fmt: skip
    """Raises Refused for what does not fit and must, and Warned for what need not, unless `despite` says why."""
    found = findings(
        site=site, remedials=work, engineers=people, start=start, end=end, now=now, visit=visit, emergency=emergency,
        locks=locks,
    )  # fmt: skip
    if refused := [one for one in found if one.severity == Severity.REFUSE]:
        raise Refused(" ".join(one.sentence for one in refused), field=refused[0].field)
    if found and not despite.strip():
        raise Warned(found)


def able(engineers: Iterable[User], *, besides: Iterable[User] = ()) -> list[User]:
    """The engineers, locked, the first one asked for at the head. Raises Refused where one cannot go.

    `besides`: whose hours change too, locked with them in the order of their keys, and not among those returned.
    """
    wanted = [engineer.pk for engineer in engineers]
    keys = {*wanted, *(user.pk for user in besides)}
    rows = User.objects.select_for_update(of=("self",), no_key=True).filter(pk__in=keys).order_by("pk")
    found = sorted((user for user in rows if user.pk in wanted), key=lambda user: wanted.index(user.pk))
    if not found:
        raise Refused("Choose who goes.", field="engineers")
    must_do_work(found)
    return found


def must_do_work(engineers: Iterable[User]) -> None:
    """Raises Refused where one of them is no engineer who works here now."""
    for engineer in engineers:
        if not engineer.may(Right.DO_WORK):
            raise Refused(f"{engineer} is no engineer of the firm now.", field="engineers")


def attend(visit: Visit, engineers: list[User]) -> None:
    """The attendances. Raises Clash, naming what clashes, where an engineer is at another visit at that time."""
    try:
        with transaction.atomic():
            Attendance.objects.bulk_create(
                Attendance(visit=visit, engineer=engineer, start=visit.start, end=visit.end) for engineer in engineers
            )
    except IntegrityError as error:
        if getattr(getattr(error.__cause__, "diag", None), "constraint_name", "") != "one_place_at_a_time":
            raise
        raise clash(visit, engineers) from error


def clash(visit: Visit, engineers: list[User]) -> Clash:
    """Who is where at that time, in a sentence, with the visits that are in the way."""
    found = Attendance.objects.filter(
        engineer__in=engineers, cancelled=False, start__lt=visit.end, end__gt=visit.start
    ).exclude(visit=visit)
    rows = list(found.select_related("engineer", "visit__site").order_by("start", "pk"))
    said = [
        f"{a.engineer} is at {a.visit.site} then: {span(a.visit.start, a.visit.end)} (visit {a.visit.number})."
        for a in rows
    ]
    return Clash([a.visit for a in rows], " ".join(said))


def displaced_by(engineers: list[User], start: datetime, end: datetime) -> list[Visit]:
    """The visits that stand in the way of `engineers` from `start` up to `end`."""
    busy = Attendance.objects.filter(engineer__in=engineers, cancelled=False, start__lt=end, end__gt=start)
    rows = Visit.objects.filter(pk__in=busy.values("visit"), state=Visit.State.BOOKED)
    return list(rows.select_related("site").order_by("pk"))


def knowingly(gone: list[Visit], displace: bool | Collection[UUID]) -> None:
    """Raises Clash where a visit would be displaced that the person who books has not named."""
    if isinstance(displace, bool) or {one.pk for one in gone} <= set(displace):
        return
    unseen = [f"visit {one.number} to {one.site}" for one in gone if one.pk not in set(displace)]
    raise Clash(gone, f"This would displace {' and '.join(unseen)} too: tick what may be displaced.")


def _displace(gone: list[Visit], visit: Visit, people: list[User], *, by: Actor, now: datetime) -> None:
    """Call off the visits that an emergency displaces. Raises Refused where others came into the way meanwhile."""
    if not gone:
        return
    if {one.pk for one in displaced_by(people, visit.start, visit.end)} != {one.pk for one in gone}:
        raise Refused("Something else was booked or cancelled meanwhile: look again at what would be displaced.")
    for one in Visit.objects.select_for_update(of=("self",)).filter(pk__in=[v.pk for v in gone]).order_by("pk"):
        back = booking_work.still_booked(one)
        call_off(one, reason=f"Displaced by emergency visit {visit.number}.", back=back, by=by, now=now)
        give_back(back, by=by, now=now)


def _put_on(visit: Visit, work: list[Remedial], wanted: Wanted) -> None:
    """The lines. Raises Refused where one of the other things is on a visit to come already."""
    lines = [VisitLine(visit=visit, remedial=remedial) for remedial in work]
    lines += [VisitLine(visit=visit, kind=LineKind.INSPECTION, unit=unit) for unit in wanted.units]
    lines += [VisitLine(visit=visit, kind=LineKind.LOOK_AGAIN, observation=seen) for seen in wanted.looks]
    lines += [VisitLine(visit=visit, kind=LineKind.CALL_OUT, observation=seen) for seen in wanted.call_outs]
    VisitLine.objects.bulk_create(lines)


def see_site(site: Site, people: list[User], now: datetime) -> None:
    """Subcontractors among `people` see the site from now on."""
    for engineer in people:
        if engineer.subcontractor:
            grant_access(site, engineer, now=now)
