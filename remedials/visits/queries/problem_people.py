"""Who can be sent: the hours of each engineer day by day, and the visits that stand."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, timedelta
from uuid import UUID

from jobsite.people.models import Leave, Skill, User
from jobsite.people.queries.hours import away, can_on, hours_on, skills_of
from jobsite.people.rights import Role
from remedials.visits.models import Attendance, DiaryTerms, Visit
from remedials.visits.planner.problem import Fixed, Shift
from remedials.visits.queries.problem_work import looks_at
from remedials.visits.rules.checks import Check
from remedials.visits.rules.times import MINUTES_A_DAY, midnight, span_of


def engineers(keys: Iterable[UUID] | None = None) -> list[User]:
    """The engineers who work here now, by name; of `keys` only where given. One statement."""
    rows = User.objects.filter(is_active=True, roles__contains=[Role.ENGINEER.value])
    return list((rows if keys is None else rows.filter(pk__in=list(keys))).order_by("name", "pk"))


def shifts(
    users: Sequence[User], first: date, days: int, *, terms: DiaryTerms, closed: Mapping[date, str], homes: set[str]
) -> list[Shift]:
    """The shifts of those of `users` whose home is known, by person and day. Four statements.

    `closed`: the bank holidays that the firm keeps.
    """
    last = first + timedelta(days=days - 1)
    hours = hours_on(users, first, last, usual=(terms.day_start, terms.day_end))
    leaves = away(users, first, last) if looks_at(terms, Check.LEAVE) else []
    skills = skills_of(users)
    found = []
    for user in users:
        if home_of(user) not in homes:
            continue
        for number in range(days):
            on = first + timedelta(days=number)
            there = hours.get((user.pk, on))
            if there and on not in closed and not _away(user, on, leaves) and _insured(user, on, terms):
                begin, until = there
                start, end = span_of(begin, until, first)
                found.append(_shift(user, number, start, end, skills.get(user.pk, []), on))
    return found


def home_of(user: User) -> str:
    """The key of the place where the day of `user` begins and ends."""
    return f"home:{user.pk}"


def site_of(key: object) -> str:
    """The key of a site as a place."""
    return f"site:{key}"


def _shift(user: User, number: int, start: int, end: int, skills: Iterable[Skill], on: date) -> Shift:
    return Shift(
        key=f"{user.pk}:{number}",
        engineer=str(user.pk),
        day=number,
        start=start,
        end=end,
        home=home_of(user),
        skills=can_on(skills, on),
        apprentice=user.apprentice,
    )


def _away(user: User, on: date, leaves: Iterable[Leave]) -> bool:
    return any(one.user_id == user.pk and one.first <= on <= one.last for one in leaves)


def _insured(user: User, on: date, terms: DiaryTerms) -> bool:
    """Whether a subcontractor's insurance is known to hold on that day; the firm's own people need none."""
    if not user.subcontractor or not looks_at(terms, Check.INSURANCE):
        return True
    return user.insured_until is not None and user.insured_until >= on


def standing(users: Sequence[User], first: date, days: int) -> list[Visit]:
    """The booked visits of these days: those of `users`, and all others, for their outages. Two statements."""
    begin, until = midnight(first), midnight(first + timedelta(days=days))
    rows = Visit.objects.filter(state=Visit.State.BOOKED, start__lt=until, end__gt=begin).select_related("site")
    visits = list(rows.order_by("start", "pk"))
    people: dict[UUID, list[str]] = {}
    there = Attendance.objects.filter(visit__in=visits, cancelled=False, engineer__in=users).order_by("engineer")
    for key, engineer in there.values_list("visit", "engineer"):
        people.setdefault(key, []).append(str(engineer))
    for visit in visits:
        visit.planned_people = tuple(people.get(visit.pk, ()))  # type: ignore[attr-defined]
    return visits


def fixed(visits: Iterable[Visit], first: date, shifts: Iterable[Shift], places: set[str]) -> list[Fixed]:
    """The visits that stand, of those engineers who are planned; one of several days by its part of each shift."""
    found = []
    for visit in visits:
        people: tuple[str, ...] = visit.planned_people  # type: ignore[attr-defined]
        start, end = span_of(visit.start, visit.end, first)
        place = site_of(visit.site_id)
        place = place if place in places else ""
        if people and start // MINUTES_A_DAY == (end - 1) // MINUTES_A_DAY:
            found.append(Fixed(str(visit.pk), people, start, end, place))
        elif people:
            parts = {
                (s.engineer, s.day): (max(start, s.start), min(end, s.end)) for s in shifts if s.engineer in people
            }
            found += [
                Fixed(f"{visit.pk}:{person}:{on}", (person,), low, high, place)
                for (person, on), (low, high) in parts.items()
                if low < high
            ]
    return found
