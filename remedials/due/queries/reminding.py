"""What reminders and digests read of the due list."""

from datetime import date, timedelta
from textwrap import shorten
from uuid import UUID

from django.conf import settings
from django.db.models import Exists, OuterRef, Q

from inspections.models import Observation
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.words import late, near_day
from remedials.due.models import DueRow
from remedials.due.queries.rows import NO_DATE, ORDER, address_of, group_of, rows_due


def still_due(kind: str, ref: UUID) -> bool:
    """Whether the obligation (kind, ref) still stands, whatever its date."""
    return DueRow.objects.filter(kind=kind, ref=ref).exists()


def why_not_archive(site: Site) -> str:
    """Why `site` may not leave the lists: the worst that is dangerous, uncoded, quoted or booked there, or a key that is out.

    With the site it would drop out of the due list, and nobody would be reminded of it again. One statement.
    """
    held = Q(quote__isnull=False) | Q(visit__isnull=False) | Q(kind__in=("uncoded", "key"))
    kept = DueRow.objects.filter(Q(rank__gte=2) | held, site=site)
    worst = kept.order_by("-rank", "due", "ref").first()
    if worst is None:
        return ""
    word = worst.code or ("quote" if worst.quote else "visit" if worst.visit else worst.kind)
    what = f"{word}: {shorten(worst.subject, 80, placeholder=' …')}"
    return f"This is still open here ({what}). It would drop out of the due list with the site: see it ended first."


def lines_for_digest(user: User, *, today: date) -> dict[str, list[str]]:
    """What the digest of `user` on `today` lists: danger apart, then what is late and due this week.

    The office and managers are told of everything without an owner too. The same rows as the page. One statement.
    """
    mine = Q(owner=user)
    if user.may(Right.PLAN_WORK):
        mine |= Q(owner__isnull=True) | Q(loose=True) | Q(owner__is_active=False)
    soon = Q(due__lte=today + timedelta(days=6)) | Q(loose=True) | Q(code="C1", made_safe=False)
    rows = rows_due(user, today=today).filter(mine, soon).select_related("site", "owner").order_by(*ORDER)
    found: dict[str, list[str]] = {
        "Danger present, not made safe": [],
        "Loose ends": [],
        "Late": [],
        "Today": [],
        "This week": [],
    }
    for row in rows[:400]:
        danger = row.code == "C1" and not row.made_safe
        heading = "Danger present, not made safe" if danger else "Loose ends" if row.loose else group_of(row.due, today)
        heading = "This week" if heading == "Later" else heading
        found.setdefault(heading, []).append(_digest_line(row, today))
    return {heading: lines for heading, lines in found.items() if lines}


def _digest_line(row: DueRow, today: date) -> str:
    by = "no date" if row.due == NO_DATE else late(row.due, today) or f"by {near_day(row.due, today)}"
    code = f"{row.code} " if row.code else ""
    return f"- {code}{row.next_step}: {row.subject} ({row.site.name}), {by}\n  {settings.SITE_ADDRESS}{address_of(row)}"


def active_staff() -> list[User]:
    """People of the firm who still work here."""
    return list(User.objects.filter(is_active=True).order_by("name", "pk"))


def danger_now(*, today: date) -> list[DueRow]:
    """Every C1 that is not made safe. One statement."""
    rows = DueRow.objects.filter(code="C1", made_safe=False, observation__isnull=False, shows_from__lte=today)
    return list(rows.select_related("site", "owner").order_by("observation", "due", "kind"))


def alarms(*, today: date) -> list[DueRow]:
    """Every report of a defect that may be dangerous now and that nobody competent has coded yet. One statement."""
    alarming = Observation.objects.uncoded().filter(pk=OuterRef("observation"), may_be_dangerous=True)
    rows = DueRow.objects.filter(Exists(alarming), kind="uncoded", shows_from__lte=today)
    return list(rows.select_related("site", "owner").order_by("due", "ref"))
