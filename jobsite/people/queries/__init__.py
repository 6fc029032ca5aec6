"""What the pages of people and instruments show, as ready strings."""

from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import F, Max, Q, QuerySet
from django.urls import reverse

from jobsite.addresses import address
from jobsite.people.models import Competence, Instrument, User
from jobsite.words import day


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


def with_wrong(rows: QuerySet[Instrument]) -> QuerySet[Any]:
    """`rows` with `wrong_on`: the day on which each was found wrong, None once a check after it is recorded.

    No statement of its own.
    """
    unanswered = Q(checked_on__isnull=True) | Q(faults__found_on__gte=F("checked_on"))
    return rows.annotate(wrong_on=Max("faults__found_on", filter=unanswered))


def instruments_in_use() -> QuerySet[Any]:
    """The instruments to choose from, by name, with `wrong_on`. No statement of its own."""
    return with_wrong(Instrument.objects.filter(archived_at__isnull=True)).order_by("name", "serial_number")


def instrument_choice(row: Any) -> str:
    """An instrument of `with_wrong` as it stands in a choice: "Loop tester, T-9 (found wrong on 3 Feb 2026)"."""
    return f"{row} (found wrong on {day(row.wrong_on)})" if row.wrong_on else str(row)


def wrong_words(row: Any) -> str:
    """What stands beside a verdict on what an instrument of `with_wrong` showed; "" where nothing was found wrong."""
    wrong_on = getattr(row, "wrong_on", None)
    return f"Instrument found wrong on {day(wrong_on)}: this proves nothing." if wrong_on else ""


def instruments(*, today: date) -> list[dict[str, Any]]:
    """All instruments by name, those out of use at the end. One statement."""
    rows = with_wrong(Instrument.objects.all()).order_by("archived_at", "name", "serial_number")
    ordered = sorted(rows, key=lambda row: row.archived_at is not None)
    return [_instrument(row, today) for row in ordered]


def _instrument(row: Any, today: date) -> dict[str, Any]:
    in_check = row.in_check_on(today) and not row.wrong_on
    state = "in check" if in_check else "out of its check"
    if row.wrong_on:
        state = f"found wrong on {day(row.wrong_on)}, not checked since"
    if row.archived_at:
        state = "out of use"
    return {
        "name": row.name,
        "serial_number": row.serial_number,
        "checked_on": day(row.checked_on) or "never",
        "check_due": day(row.check_due),
        "state": state,
        "late": not row.archived_at and not in_check,
        "css": "gone" if row.archived_at else "",
        "check": "" if row.archived_at else reverse("people:instrument_check", args=[row.pk]),
        "wrong": address("works:found_wrong", row.pk),
        "archive": "" if row.archived_at else reverse("people:instrument_archive", args=[row.pk]),
    }
