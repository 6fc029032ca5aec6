"""Booking a visit and cancelling it. Closing a remedial never touches its visit."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from uuid import UUID

from django.db import IntegrityError, transaction
from django.db.models import Exists, OuterRef

from inspections.operations.ground import held_site
from jobsite import clock
from jobsite.firm.operations import take_number
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.premises.operations import grant_access, take_access_back
from jobsite.refused import NotAllowed, Refused
from jobsite.words import span, when
from remedials.visits import policy
from remedials.visits.models import Attendance, Visit, VisitLine
from remedials.visits.verbs import Verb
from remedials.works.models import Remedial
from remedials.works.operations import mark_booked, mark_unbooked
from remedials.works.operations.ground import person, same_form
from remedials.works.states import WORDS, Stage

LONGEST = timedelta(days=14)
NOT_YOURS = "Only the office may book and cancel visits."


@operation
def book_visit(
    site: Site,
    *,
    id: UUID,
    remedials: Iterable[Remedial],
    engineers: Iterable[User],
    start: datetime,
    end: datetime,
    by: Actor,
    now: datetime,
    access: str = "",
    outage: str = "",
    move: bool = False,
) -> Visit:
    """Book a visit of `engineers` from `start` up to `end` (instants) for approved remedials of one site.

    1. The site, remedials, then the engineers are locked in the order of their keys: two bookings of one person wait
    for each other instead of meeting crosswise in the constraint. 2. A remedial on another visit is taken off it only if
    `move` says so; a visit to come that is left with nothing to do is cancelled. 3. An engineer who is elsewhere at that
    time is refused with a sentence that names where. 4. A subcontractor sees the site from now on.
    Raises NotAllowed, Refused.
    """
    if not policy.may_book(by):
        raise NotAllowed(NOT_YOURS)
    site = held_site(site)
    wanted = {remedial.pk for remedial in remedials}
    rows = Remedial.objects.select_for_update(of=("self",)).filter(pk__in=wanted, site=site)
    work = list(rows.order_by("pk"))
    if made := Visit.objects.filter(pk=id).first():
        return same_form(made, made.site_id == site.pk)
    _sensible_span(start, end, now)
    _must_be_bookable(site, work, len(wanted), move=move)
    left = _visits_left(work, now)
    people = _able(engineers)
    visit = Visit.objects.create(
        id=id, number=take_number("visit"), site=site, start=start, end=end, access=access.strip(),
        outage=outage.strip(), booked_by=person(by), booked_at=now,
    )  # fmt: skip
    VisitLine.objects.filter(remedial__in=work, active=True).update(active=False)
    for empty in left:
        _call_off(empty, reason=f"Its work moved to visit {visit.number}.", back=[], by=by, now=now)
    _attend(visit, people)
    VisitLine.objects.bulk_create(VisitLine(visit=visit, remedial=remedial) for remedial in work)
    facts = {
        "number": visit.number,
        "start": start.isoformat(),
        "end": end.isoformat(),
        "engineers": sorted(str(p.pk) for p in people),
        "remedials": sorted(str(r.pk) for r in work),
    }
    words = {"access": visit.access, "outage": visit.outage}
    record(Verb.BOOKED, site=site.pk, subject=visit, by=by, now=now, facts=facts, words=words)
    for remedial in work:
        mark_booked(remedial, visit_start=start, owner=people[0], by=by, now=now)
    for engineer in people:
        if engineer.subcontractor:
            grant_access(site, engineer, now=now)
    return visit


def _sensible_span(start: datetime, end: datetime, now: datetime) -> None:
    if end <= start:
        raise Refused("The visit must end after it begins.", field="end")
    if end - start > LONGEST:
        raise Refused("A visit lasts 14 days at most: book several.", field="end")
    if clock.local_day(start) < clock.local_day(now):
        raise Refused("This visit would begin in the past.", field="start")


def _must_be_bookable(site: Site, found: list[Remedial], wanted: int, *, move: bool) -> None:
    """Raises Refused where one of those wanted is not of the site, not approved, or on another visit."""
    if site.archived_at:
        raise Refused("This site is archived: bring it back before booking a visit.")
    if not found or len(found) < wanted:
        raise Refused("Choose at least one remedial, all of this site.", field="remedials")
    for remedial in found:
        if remedial.stage == Stage.BOOKED and not move:
            raise Refused(_booked_already(remedial), field="remedials")
        if remedial.stage not in {Stage.APPROVED, Stage.BOOKED}:
            stage = WORDS[Stage(remedial.stage)]
            raise Refused(f"Remedial {remedial.number} cannot be booked: its stage is {stage}.", field="remedials")


def _booked_already(remedial: Remedial) -> str:
    visit = Visit.objects.filter(lines__remedial=remedial, lines__active=True).first()
    where = f" for {when(visit.start)} (visit {visit.number})" if visit else ""
    return f"Remedial {remedial.number} is booked already{where}. Say that it moves to this visit, or leave it out."


def _visits_left(work: list[Remedial], now: datetime) -> list[Visit]:
    """The visits to come, locked, whose work all moves away. One that has begun, or was part done, took place: it stays."""
    moving = [remedial for remedial in work if remedial.stage == Stage.BOOKED]
    others = VisitLine.objects.filter(visit=OuterRef("pk"), active=True).exclude(remedial__in=moving)
    losing = Visit.objects.filter(lines__remedial__in=moving, lines__active=True, start__gt=now)
    keys = list(losing.filter(~Exists(others)).values_list("pk", flat=True))
    return list(Visit.objects.select_for_update(of=("self",)).filter(pk__in=keys).order_by("pk"))


def _able(engineers: Iterable[User]) -> list[User]:
    """The engineers, locked, the first one asked for at the head. Raises Refused where one cannot go."""
    wanted = [engineer.pk for engineer in engineers]
    rows = User.objects.select_for_update(of=("self",), no_key=True).filter(pk__in=wanted)
    found = sorted(rows.order_by("pk"), key=lambda user: wanted.index(user.pk))
    if not found:
        raise Refused("Choose who goes.", field="engineers")
    for engineer in found:
        if not engineer.may(Right.DO_WORK):
            raise Refused(f"{engineer} is no engineer of the firm now.", field="engineers")
    return found


def _attend(visit: Visit, engineers: list[User]) -> None:
    """The attendances. Raises Refused, naming what clashes, where an engineer is at another visit at that time."""
    try:
        with transaction.atomic():
            Attendance.objects.bulk_create(
                Attendance(visit=visit, engineer=engineer, start=visit.start, end=visit.end) for engineer in engineers
            )
    except IntegrityError as error:
        if getattr(getattr(error.__cause__, "diag", None), "constraint_name", "") != "one_place_at_a_time":
            raise
        raise Refused(_clash(visit, engineers), field="engineers") from error


def _clash(visit: Visit, engineers: list[User]) -> str:
    """Who is where at that time."""
    found = Attendance.objects.filter(
        engineer__in=engineers, cancelled=False, start__lt=visit.end, end__gt=visit.start
    ).select_related("engineer", "visit__site")
    said = [
        f"{a.engineer} is at {a.visit.site} then: {span(a.visit.start, a.visit.end)} (visit {a.visit.number})."
        for a in found.order_by("start", "pk")
    ]
    return " ".join(said)


@operation
def cancel_visit(visit: Visit, *, reason: str, by: Actor, now: datetime) -> Visit:
    """Cancel a visit: its engineers are free, and what is still booked on it is approved again and due today.

    What was closed meanwhile stays closed. A subcontractor of no other visit there sees the site no more; the site is
    locked first, so that a booking at the same time leaves theirs. Cancelled already: nothing more happens.
    Raises NotAllowed, Refused.
    """
    if not policy.may_book(by):
        raise NotAllowed(NOT_YOURS)
    held_site(visit.site)
    on_it = Remedial.objects.filter(lines__visit=visit, lines__active=True)
    work = list(on_it.select_for_update(of=("self",)).order_by("pk"))
    # A lock that was waited for brings the remedial as it is now, but not its line: it may have moved to another visit.
    still = set(VisitLine.objects.filter(visit=visit, active=True).values_list("remedial", flat=True))
    visit = Visit.objects.select_for_update(of=("self",)).get(pk=visit.pk)
    if visit.state == Visit.State.CANCELLED:
        return visit
    if not (reason := reason.strip()):
        raise Refused("Say why the visit is cancelled.", field="reason")
    back = [remedial for remedial in work if remedial.stage == Stage.BOOKED and remedial.pk in still]
    _call_off(visit, reason=reason, back=back, by=by, now=now)
    for remedial in back:
        mark_unbooked(remedial, by=by, now=now)
    return visit


def _call_off(visit: Visit, *, reason: str, back: list[Remedial], by: Actor, now: datetime) -> None:
    """Cancel a locked visit inside an operation: its engineers are free; `back` are the remedials to be booked again."""
    visit.state, visit.cancelled_reason, visit.version = Visit.State.CANCELLED, reason, visit.version + 1
    visit.save(update_fields=["state", "cancelled_reason", "version"])
    visit.attendances.update(cancelled=True)
    visit.lines.update(active=False)
    facts = {"number": visit.number, "remedials": sorted(str(r.pk) for r in back)}
    if shut_out := take_access_back(visit.site, _nowhere_else(visit)):
        facts["sight_ended"] = [str(pk) for pk in shut_out]
    record(Verb.CANCELLED, site=visit.site_id, subject=visit, by=by, now=now, facts=facts, words={"reason": reason})


def _nowhere_else(visit: Visit) -> set[UUID]:
    """Those of the cancelled visit who are on no other visit at its site, to come or past."""
    rows = Attendance.objects.filter(visit__site=visit.site_id, cancelled=False)
    return set(visit.attendances.values_list("engineer", flat=True)) - set(rows.values_list("engineer", flat=True))
