"""When people work: their hours of the week, days away, what they can do."""

from collections import defaultdict
from collections.abc import Iterable
from datetime import UTC, date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from jobsite.clock import LONDON
from jobsite.people.models import Leave, Shift, Skill, User, WorkingWeek

Span = tuple[datetime, datetime]
Usual = tuple[time, time]


def hours_on(users: Iterable[User], first: date, last: date, *, usual: Usual) -> dict[tuple[UUID, date], Span | None]:
    """From when until when each of `users` works on each day from `first` to `last`, both included, as instants in UTC.

    None: it is not worked. By the week that holds on that day; who has none works the `usual` local hours from Monday to
    Friday. Days away and bank holidays are not looked at here. Two statements.
    """
    keys = [user.pk for user in users]
    weeks: dict[UUID, list[WorkingWeek]] = defaultdict(list)
    for week in WorkingWeek.objects.filter(user__in=keys, holds_from__lte=last).order_by("holds_from"):
        weeks[week.user_id].append(week)
    shifts = {
        (shift.week_id, shift.weekday): (shift.start, shift.end)
        for shift in Shift.objects.filter(week__in=[week.pk for found in weeks.values() for week in found])
    }
    days = [first + timedelta(days=n) for n in range((last - first).days + 1)]
    return {(key, on): _span(_local(weeks[key], shifts, on, usual), on) for key in keys for on in days}


def _local(weeks: list[WorkingWeek], shifts: dict[tuple[Any, int], Usual], on: date, usual: Usual) -> Usual | None:
    holding = [week for week in weeks if week.holds_from <= on]
    if not holding:
        return usual if on.weekday() < 5 else None
    return shifts.get((holding[-1].pk, on.weekday()))


def _span(hours: Usual | None, on: date) -> Span | None:
    if hours is None:
        return None
    start, end = (datetime.combine(on, at, tzinfo=LONDON).astimezone(UTC) for at in hours)
    return start, end


def away(users: Iterable[User], first: date, last: date) -> list[Leave]:
    """The days away of `users` that touch those from `first` to `last`, by person and day. One statement."""
    rows = Leave.objects.filter(
        user__in=[user.pk for user in users], withdrawn_at=None, first__lte=last, last__gte=first
    )
    return list(rows.select_related("user").order_by("user__name", "first", "pk"))


def skills_of(users: Iterable[User]) -> dict[UUID, list[Skill]]:
    """All that each of `users` was ever recorded to be able to do, by name and day. One statement."""
    found: dict[UUID, list[Skill]] = defaultdict(list)
    for skill in Skill.objects.filter(user__in=[user.pk for user in users]).order_by("sort", "since"):
        found[skill.user_id].append(skill)
    return found


def can_on(skills: Iterable[Skill], on: date) -> frozenset[str]:
    """The folded names of those of `skills` that hold on the day `on`."""
    return frozenset(s.sort for s in skills if s.since <= on and (s.until is None or s.until >= on))
