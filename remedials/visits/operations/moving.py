"""Moving a visit to another time or other people: it stays the same visit, and what it was stays on record."""

from collections.abc import Iterable
from datetime import datetime

from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.premises.operations import take_access_back
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from jobsite.words import span
from remedials.visits import policy
from remedials.visits.choices import Answered
from remedials.visits.models import Attendance, Visit, VisitMove
from remedials.visits.operations.booking import LONGEST, NOT_YOURS, able, attend, confirm_day, look, see_site
from remedials.visits.operations.booking_work import held, still_booked
from remedials.visits.operations.calling_off import nowhere_else
from remedials.visits.operations.telling import What, tell, tell_customer
from remedials.visits.verbs import Verb
from remedials.works.operations import mark_booked
from remedials.works.operations.ground import person


@operation
def move_visit(
    visit: Visit, *, start: datetime, end: datetime, engineers: Iterable[User], by: Actor, now: datetime, version: int,
    reason: str = "", despite: str = "",
) -> Visit:  # fmt: skip
    """Move a booked visit to another time (instants), other engineers, or both.

    What is booked on it moves along; the first of `engineers` owns it. An outage that was agreed keeps its place within the
    visit. Whoever had confirmed the time is asked anew, so a confirmed visit moves only with a `reason`. Who goes, who no
    longer goes, and a customer who knew the old time are told. The same time and people: nothing happens.
    Raises NotAllowed, ChangedMeanwhile, Refused (Warned, Clash).
    """
    if not policy.may_book(by):
        raise NotAllowed(NOT_YOURS)
    site = held(visit.site)
    work = still_booked(visit)
    # With those who go now: of two moves that swap engineers, each would wait for the hour that the other leaves. Who goes
    # changes only with the version, so a change after this line is refused below.
    people = able(engineers, besides=_going(visit))
    visit = Visit.objects.select_for_update(of=("self",)).get(pk=visit.pk)
    visit.site = site
    was, before = span(visit.start, visit.end), _going(visit)
    if (visit.start, visit.end, [u.pk for u in before]) == (start, end, sorted(u.pk for u in people)):
        return visit
    if visit.version != version:
        raise ChangedMeanwhile("Somebody changed this visit meanwhile: look at it as it stands.", theirs=visit)
    _movable(visit, start, end, reason, now)
    look(
        site,
        work,
        people,
        start=start,
        end=end,
        now=now,
        despite=despite,
        emergency=visit.emergency,
        visit=visit,
        locks=visit.locks,
    )
    _keep(visit, start, end, before, people, reason, by=by, now=now)
    customer_knew, moved_in_time = visit.answered, (visit.start, visit.end) != (start, end)
    _set(visit, start, end, despite, now)
    _attend_anew(visit, people)
    for remedial in work:
        mark_booked(remedial, visit_start=start, owner=people[0], by=by, now=now)
    see_site(site, people, now)
    gone = [user for user in before if user.pk not in {p.pk for p in people}]
    take_access_back(site, {user.pk for user in gone} & nowhere_else(visit))
    tell(visit, What.TAKEN_OFF, users=gone, by=by, now=now)
    stay = {user.pk for user in before}
    tell(visit, What.BOOKED, users=[p for p in people if p.pk not in stay], by=by, now=now)
    tell(visit, What.MOVED, users=[p for p in people if p.pk in stay], by=by, now=now, was=was)
    if moved_in_time:
        visit.answered = customer_knew
        tell_customer(visit, What.MOVED, now=now, was=was)
        visit.answered = Answered.NOT_ASKED
    return visit


def _going(visit: Visit) -> list[User]:
    return list(User.objects.filter(attendances__visit=visit, attendances__cancelled=False).order_by("pk"))


def _movable(visit: Visit, start: datetime, end: datetime, reason: str, now: datetime) -> None:
    if visit.state != Visit.State.BOOKED:
        raise Refused(f"Visit {visit.number} is cancelled: book another.")
    if visit.end <= now:
        raise Refused(f"Visit {visit.number} is over: book another for what is left.")
    if end <= start:
        raise Refused("The visit must end after it begins.", field="end")
    if end - start > LONGEST:
        raise Refused("A visit lasts 14 days at most: book several.", field="end")
    if clock.local_day(start) < clock.local_day(now):
        raise Refused("This visit would begin in the past.", field="start")
    if visit.answered == Answered.CONFIRMED and start != visit.start and not reason.strip():
        raise Refused("The customer has confirmed this time: say why it moves.", field="reason")


def _keep(
    visit: Visit, start: datetime, end: datetime, before: list[User], people: list[User], reason: str, *, by: Actor,
    now: datetime,
) -> None:  # fmt: skip
    """The move as a row and in the ledger."""
    keys = [user.pk for user in before], [user.pk for user in people]
    VisitMove.objects.create(
        id=new_id(), visit=visit, from_start=visit.start, from_end=visit.end, to_start=start, to_end=end,
        from_engineers=keys[0], to_engineers=keys[1], reason=reason.strip(), by=person(by), at=now,
    )  # fmt: skip
    facts = {
        "number": visit.number,
        "from": [visit.start.isoformat(), visit.end.isoformat()],
        "to": [start.isoformat(), end.isoformat()],
        "from_engineers": sorted(str(pk) for pk in keys[0]),
        "to_engineers": sorted(str(pk) for pk in keys[1]),
    }
    record(Verb.MOVED, site=visit.site_id, subject=visit, by=by, now=now, facts=facts, words={"reason": reason.strip()})


def _set(visit: Visit, start: datetime, end: datetime, despite: str, now: datetime) -> None:
    """The visit at its new time; who had an answer about the old one is asked anew."""
    if visit.outage_start and visit.outage_end:
        off = start + (visit.outage_start - visit.start)
        on = min(off + (visit.outage_end - visit.outage_start), end)
        visit.outage_start, visit.outage_end = (off, on) if off < on else (None, None)
    if start != visit.start:
        visit.answered = Answered.NOT_ASKED
        visit.confirm_by = confirm_day(start, now) if visit.confirm_by else None
    visit.start, visit.end, visit.version = start, end, visit.version + 1
    visit.despite = despite.strip() or visit.despite
    fields = ["start", "end", "version", "despite", "answered", "confirm_by", "outage_start", "outage_end"]
    visit.save(update_fields=fields)


def _attend_anew(visit: Visit, people: list[User]) -> None:
    """The attendances at the new time. Those who no longer go stay on record as cancelled, at the old one."""
    keys = [user.pk for user in people]
    visit.attendances.exclude(engineer__in=keys).update(cancelled=True)
    Attendance.objects.filter(visit=visit, engineer__in=keys).delete()
    attend(visit, people)
