"""What the pages show of skills, hours of the week and days away, as ready strings."""

from datetime import date, time

from django.conf import settings
from django.utils.module_loading import import_string

from jobsite.addresses import address
from jobsite.people.models import Leave, Shift, Skill, User
from jobsite.sorting import sort_key
from jobsite.words import day, joined

WEEKDAYS = ("Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun")


def known_skills() -> list[str]:
    """The names of skills that somebody has or that work asks for (setting SKILLS_ASKED_FOR), each once. Two statements."""
    had = list(Skill.objects.order_by("sort").distinct("sort").values_list("name", flat=True))
    asked = [skill for name in settings.SKILLS_ASKED_FOR for skill in import_string(name)()]
    by_sort = {sort_key(skill): skill for skill in (*asked, *had)}
    return [by_sort[sort] for sort in sorted(by_sort)]


def skills(user: User, *, today: date) -> list[dict[str, str]]:
    """What `user` can do, by name, the latest first. One statement."""
    rows = user.skills.order_by("sort", "-since")
    return [
        {
            "name": row.name,
            "dates": f"since {day(row.since)}" + (f" until {day(row.until)}" if row.until else ""),
            "state": "has ended" if row.until and row.until < today else ("not yet" if row.since > today else ""),
            "evidence": row.evidence,
            "end": address("people:skill_end", row.pk),
        }
        for row in rows
    ]


def weeks(user: User) -> list[dict[str, str]]:
    """The hours of the week of `user`, the latest first. Two statements."""
    rows = user.working_weeks.prefetch_related("shifts").order_by("-holds_from")
    return [{"from": day(row.holds_from), "hours": _hours(list(row.shifts.all()))} for row in rows]


def _hours(shifts: list[Shift]) -> str:
    by_time: dict[tuple[time, time], list[str]] = {}
    for shift in sorted(shifts, key=lambda shift: shift.weekday):
        by_time.setdefault((shift.start, shift.end), []).append(WEEKDAYS[shift.weekday])
    said = [f"{', '.join(names)} {start:%H:%M}–{end:%H:%M}" for (start, end), names in by_time.items()]
    return joined(*said, by="; ") or "no day is worked"


def week_now(user: User, today: date) -> dict[str, time]:
    """The hours that hold on `today` for the form's fields; those of the week before it where none does. Two statements."""
    row = user.working_weeks.filter(holds_from__lte=today).order_by("-holds_from").first()
    found = row.shifts.all() if row else []
    return {f"{part}_{s.weekday}": getattr(s, part) for s in found for part in ("start", "end")}


def days_away(*, today: date, user: User | None = None) -> list[dict[str, str]]:
    """Who is away from `today` on, in order; of `user` alone where named. One statement."""
    rows = Leave.objects.filter(withdrawn_at=None, last__gte=today).select_related("user")
    rows = rows.filter(user=user) if user else rows.filter(user__is_active=True)
    return [
        {
            "who": row.user.name,
            "dates": day(row.first) if row.first == row.last else f"{day(row.first)} to {day(row.last)}",
            "what": row.get_what_display(),
            "now": "now" if row.first <= today else "",
            "withdraw": address("people:leave_withdraw", row.pk),
        }
        for row in rows.order_by("first", "user__name", "pk")
    ]
