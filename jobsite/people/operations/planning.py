"""What planning needs to know of people: what they can do, their hours of the week, days away, where they start from."""

from collections.abc import Iterable
from datetime import date, datetime, time
from uuid import UUID

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone, locked, made_before
from jobsite.people.models import Leave, Shift, Skill, User, WorkingWeek
from jobsite.people.operations.ground import must_keep_people, save_new
from jobsite.people.rights import Right
from jobsite.people.verbs import Verb
from jobsite.refused import NotAllowed, Refused
from jobsite.sorting import sort_key

Hours = tuple[int, time, time]  # weekday (0 is Monday), from, until


def _iso(on: date | None) -> str | None:
    return on.isoformat() if on else None


def _person(by: Actor) -> User | None:
    return by if isinstance(by, User) else None


def _somebody(by: Actor) -> User:
    """`by` as a person: what people answer for is not done by the clock: TypeError, a mistake of ours."""
    if not isinstance(by, User):
        raise TypeError(f"a person does this, not the {by.actor_kind}")
    return by


@operation
def record_skill(
    user: User, *, id: UUID, name: str, since: date, by: Actor, now: datetime, until: date | None = None,
    evidence: str = "",
) -> Skill:  # fmt: skip
    """Record that `user` can do the work called `name`, from `since` until its last day or for good.

    The same form again: its row. Raises NotAllowed, Refused.
    """
    must_keep_people(by)
    alone(id)
    if made := made_before(Skill, id, user_id=user.pk):
        return made
    if not (name := " ".join(name.split())):
        raise Refused("Name the skill as remedials name it.", field="name")
    if until and until < since:
        raise Refused("It cannot end before it begins.", field="until")
    row = Skill(
        id=id, user=user, name=name, sort=sort_key(name), since=since, until=until, evidence=evidence.strip(),
        recorded_by=_person(by),
    )  # fmt: skip
    save_new(row)
    facts = {"person": str(user.pk), "since": _iso(since), "until": _iso(until)}
    words = {"skill": name, "evidence": row.evidence}
    record(Verb.SKILL, site=None, subject=row, by=by, now=now, facts=facts, words=words)
    return row


@operation
def end_skill(skill: Skill, *, until: date, by: Actor, now: datetime) -> Skill:
    """Set the last day on which a skill holds; a day that is not ahead ends it. Raises NotAllowed, Refused."""
    must_keep_people(by)
    skill = locked(skill)
    if until < skill.since:
        raise Refused("It cannot end before it begins.", field="until")
    ended = until <= clock.local_day(now)
    if (skill.until, skill.ended) != (until, ended):
        skill.until, skill.ended = until, ended
        skill.save(update_fields=["until", "ended"])
        record(Verb.SKILL_ENDED, site=None, subject=skill, by=by, now=now, facts={"until": _iso(until)})
    return skill


@operation
def set_working_week(
    user: User, *, id: UUID, holds_from: date, shifts: Iterable[Hours], by: Actor, now: datetime
) -> WorkingWeek:
    """Set the hours of the week of `user` from the day `holds_from`; a weekday that is missing is not worked.

    Set again for the same day, it takes the place of what was set; the same hours again: nothing more happens.
    Raises NotAllowed, Refused: also where `id` is the week of another person or day.
    """
    must_keep_people(by)
    alone(id)
    user = User.objects.select_for_update(of=("self",), no_key=True).get(pk=user.pk)
    hours = sorted(shifts)
    if any(end <= start for _, start, end in hours):
        raise Refused("Each day must end after it begins.")
    made_before(WorkingWeek, id, user_id=user.pk, holds_from=holds_from)
    week = WorkingWeek.objects.filter(user=user, holds_from=holds_from).first()
    if week and sorted(week.shifts.values_list("weekday", "start", "end")) == hours:
        return week
    if week is None:
        week = WorkingWeek(id=id, user=user, holds_from=holds_from, recorded_by=_somebody(by), version=0)
    week.version += 1
    week.save()
    week.shifts.all().delete()
    Shift.objects.bulk_create(Shift(week=week, weekday=n, start=start, end=end) for n, start, end in hours)
    facts = {"person": str(user.pk), "holds_from": _iso(holds_from)}
    facts |= {"hours": [[n, f"{start:%H:%M}", f"{end:%H:%M}"] for n, start, end in hours]}  # type: ignore[dict-item]
    record(Verb.WEEK, site=None, subject=week, by=by, now=now, facts=facts)
    return week


@operation
def record_leave(user: User, *, id: UUID, first: date, last: date, what: str, by: Actor, now: datetime) -> Leave:
    """Note that `user` is away from `first` to `last`, both included. The same form again: its row.

    What is booked then stays booked until somebody moves it. Raises NotAllowed, Refused.
    """
    _must_keep_leave(by)
    alone(id)
    if made := made_before(Leave, id, user_id=user.pk):
        return made
    if last < first:
        raise Refused("The last day lies before the first.", field="last")
    if last < clock.local_day(now):
        raise Refused("These days are past.", field="last")
    row = Leave.objects.create(id=id, user=user, first=first, last=last, what=what, recorded_by=_somebody(by))
    facts = {"person": str(user.pk), "first": _iso(first), "last": _iso(last)}
    record(Verb.AWAY, site=None, subject=row, by=by, now=now, facts=facts)
    return row


@operation
def withdraw_leave(leave: Leave, *, by: Actor, now: datetime) -> Leave:
    """They are there after all. Withdrawn already: nothing more happens. Raises NotAllowed."""
    _must_keep_leave(by)
    leave = locked(leave)
    if leave.withdrawn_at is None:
        leave.withdrawn_at = now
        leave.save(update_fields=["withdrawn_at"])
        record(Verb.NOT_AWAY, site=None, subject=leave, by=by, now=now)
    return leave


def _must_keep_leave(by: Actor) -> None:
    if not (by.may(Right.KEEP_PEOPLE) or by.may(Right.BOOK)):
        raise NotAllowed("Only the office and managers keep who is away.")
