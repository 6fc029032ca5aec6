"""What the pages of people and instruments show, as ready strings."""

from datetime import date
from typing import Any
from uuid import UUID

from django.urls import reverse

from jobsite.people.models import Competence, User
from jobsite.people.queries.instruments import (
    instrument_choice,
    instruments,
    instruments_in_use,
    last_good_words,
    with_wrong,
    wrong_words,
)
from jobsite.words import day

__all__ = [
    "competences",
    "instrument_choice",
    "instruments",
    "instruments_in_use",
    "last_good_words",
    "people",
    "qualified_names",
    "with_wrong",
    "wrong_words",
]


def people(*, today: date) -> list[dict[str, Any]]:
    """Everybody by name, those who left at the end. Two statements."""
    qualified: dict[UUID, Competence] = {c.user_id: c for c in Competence.objects.on(today).order_by("until")}
    rows = sorted(User.objects.all(), key=lambda user: (not user.is_active, user.name.casefold()))
    return [_person(user, qualified.get(user.pk)) for user in rows]


def qualified_names(*, today: date) -> list[str]:
    """The names of those who work here and are on record as qualified on `today`. One statement."""
    there = Competence.objects.on(today).filter(user__is_active=True)
    return list(there.order_by("user__name").values_list("user__name", flat=True).distinct())


def _person(user: User, competence: Competence | None) -> dict[str, Any]:
    until = f" until {day(competence.until)}" if competence and competence.until else ""
    return {
        "name": user.name,
        "href": reverse("people:person", args=[user.pk]),
        "email": user.email,
        "phone": user.phone,
        "roles": ", ".join(user.roles) + (" (subcontractor)" if user.subcontractor else ""),
        "qualified": f"qualified person{until}" if competence else "",
        "state": _state(user),
        "css": "" if user.is_active else "gone",
    }


def _state(user: User) -> str:
    if not user.is_active:
        return "has left"
    return "" if user.has_usable_password() else "has not set a password yet"


def competences(user: User, *, today: date) -> list[dict[str, Any]]:
    """What the firm records `user` to be competent for, the latest first. One statement."""
    rows = user.competences.select_related("recorded_by").order_by("-since")
    return [_competence(row, today) for row in rows]


def _competence(row: Competence, today: date) -> dict[str, Any]:
    over = row.until is not None and row.until < today
    return {
        "kind": row.get_kind_display(),
        "dates": f"since {day(row.since)}" + (f" until {day(row.until)}" if row.until else ""),
        "evidence": row.evidence,
        "by": f"recorded by {row.recorded_by}" if row.recorded_by else "",
        "state": "has ended" if over else ("not yet" if row.since > today else ""),
        "end": reverse("people:competence_end", args=[row.pk]),
    }
