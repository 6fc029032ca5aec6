"""What calendar addresses show, and the addresses themselves as pages list them. Never a token, nor its hash."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any
from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.db.models import Max, Prefetch, Q, QuerySet

from jobsite import clock
from jobsite.addresses import address
from jobsite.ids import new_id
from jobsite.ledger.models import Entry as Told
from jobsite.people.links import token_hash
from jobsite.people.models import User
from jobsite.people.rights import ROLES_WITH, Right
from jobsite.words import many, span, when
from remedials.visits.choices import Answered, LineKind
from remedials.visits.feeds import Entry, calendar
from remedials.visits.models import Attendance, Feed, Visit, VisitLine, VisitMove
from remedials.visits.queries.visits import begins

BACK, AHEAD = timedelta(days=60), timedelta(days=180)
SHORT = 120


def find_feed(token: str) -> Feed | None:
    """The address that `token` opens; None for a wrong or withdrawn one.

    Nor does one of somebody who goes on no visits now, or one of everybody's whose maker books none now.
    """
    rows = Feed.objects.filter(token_hash=token_hash(token), withdrawn_at=None).select_related("user", "made_by")
    if (found := rows.first()) is None:
        return None
    may_read = found.user.may(Right.DO_WORK) if found.user else found.made_by.may(Right.BOOK)
    return found if may_read else None


def feed_file(feed: Feed, *, now: datetime) -> bytes:
    """The calendar of `feed`: 60 days back, 180 ahead. Five statements. The same facts, the same bytes until a visit is over."""
    visits = list(_visits(feed.user, now))
    changed = _changed(visits)
    entries = [_entry(visit, feed.user, changed, now) for visit in visits]
    return calendar(f"Visits of {feed.user}" if feed.user else "All visits", entries)


def _visits(user: User | None, now: datetime) -> "QuerySet[Visit, Any]":
    today = clock.local_day(now)
    rows = Visit.objects.filter(start__lt=begins(today + AHEAD), end__gt=begins(today - BACK)).select_related("site")
    if user is not None:
        mine, was_mine = Q(attendances__engineer=user), Q(moves__from_engineers__contains=[user.pk])
        rows = rows.filter(pk__in=Visit.objects.filter(mine | was_mine).values("pk"))
    lines = VisitLine.objects.filter(active=True).select_related("remedial", "unit", "observation")
    return rows.order_by("start", "pk").prefetch_related(
        Prefetch("attendances", Attendance.objects.select_related("engineer").order_by("engineer__name", "pk")),
        Prefetch("lines", lines.order_by("remedial__number", "pk")),
        Prefetch("moves", VisitMove.objects.order_by("-at", "-pk")),
    )


def _changed(visits: list[Visit]) -> dict[UUID, datetime]:
    """When what is told of each visit, and of the work on it, was changed last by the record. One statement."""
    about = {visit.pk: {visit.pk, *(line.remedial_id for line in visit.lines.all())} for visit in visits}
    keys = {key for keys in about.values() for key in keys if key}
    last = dict(Told.objects.filter(subject__in=keys).values_list("subject").annotate(Max("at")))
    return {
        visit.pk: max([visit.booked_at, *(last[key] for key in about[visit.pk] if key in last)]) for visit in visits
    }


def _entry(visit: Visit, user: User | None, changed: dict[UUID, datetime], now: datetime) -> Entry:
    start, end, off = _when(visit, user)
    crew = ", ".join(a.engineer.name for a in visit.attendances.all() if not a.cancelled)
    site = visit.site
    known = None
    if site.latitude is not None and site.longitude is not None:
        known = float(site.latitude), float(site.longitude)
    return Entry(
        uid=f"{visit.pk}@{urlsplit(settings.SITE_ADDRESS).hostname}",
        sequence=visit.version,
        changed=changed[visit.pk],
        start=start,
        end=end,
        summary=f"{site.name} ({crew})" if user is None and crew else site.name,
        location=site.one_line,
        url=f"{settings.SITE_ADDRESS.rstrip('/')}{address('visits:visit', visit.pk)}",
        description="" if off else "\n".join(_told(visit)),
        cancelled=off,
        # Nobody is to answer for what is over.
        tentative=end > now and visit.confirm_by is not None and visit.answered != Answered.CONFIRMED,
        place=known,
    )


def _when(visit: Visit, user: User | None) -> tuple[datetime, datetime, bool]:
    """From when until when it stands in the calendar of `user`, and whether it is off there.

    Whoever was taken off a visit is told the time that was theirs, not the new one.
    """
    cancelled = visit.state == Visit.State.CANCELLED
    if user is None:
        return visit.start, visit.end, cancelled
    own = next((a for a in visit.attendances.all() if a.engineer_id == user.pk), None)
    if own is not None and not own.cancelled:
        return visit.start, visit.end, cancelled
    left = next((move for move in visit.moves.all() if user.pk in move.from_engineers), None)
    if left is not None and user.pk not in left.to_engineers:
        return left.from_start, left.from_end, True
    return (own.start, own.end, True) if own else (visit.start, visit.end, True)


def _told(visit: Visit) -> Iterable[str]:
    for line in visit.lines.all():
        yield _line(line)
    if visit.access:
        yield _stopped(f"Access: {visit.access}")
    if visit.outage:
        yield _stopped(f"Goes off: {visit.outage}")
    if visit.outage_start and visit.outage_end:
        yield _stopped(f"Off: {span(visit.outage_start, visit.outage_end)}")


def _line(line: VisitLine) -> str:
    if line.remedial:
        off = {True: " Power must go off.", None: " Not known yet whether power must go off.", False: ""}
        return f"Remedial {line.remedial.number}: {_stopped(_short(line.remedial.work))}{off[line.remedial.power_off]}"
    if line.unit:
        return _stopped(f"Inspection: {line.unit.name}")
    what = "Call-out" if line.kind == LineKind.CALL_OUT else "Look again"
    return _stopped(f"{what}: observation {line.observation.number}" if line.observation else what)


def _stopped(text: str) -> str:
    """`text` with a stop, unless it ends with one of its own."""
    text = text.rstrip()
    return text if text.endswith((".", "…", "!", "?")) else f"{text}."


def _short(text: str) -> str:
    first = text.split("\n", 1)[0]
    return first if len(first) <= SHORT else f"{first[: SHORT - 1].rstrip()}…"


def feeds_page() -> dict[str, Any]:
    """Everybody who goes on visits, and everybody's together, with the address that each has. Two statements."""
    roles = [role.value for role in ROLES_WITH[Right.DO_WORK]]
    people = User.objects.filter(is_active=True, roles__overlap=roles).order_by("name", "pk")
    feeds = {feed.user_id: feed for feed in Feed.objects.filter(withdrawn_at=None)}
    everybody = {"name": "Everybody's visits", "make": address("visits:calendar_make_all"), "id": str(new_id())}
    rows = [everybody | _used(feeds.get(None))]
    for user in people:
        row = {"name": user.name, "make": address("visits:calendar_make", user.pk), "id": str(new_id())}
        rows.append(row | _used(feeds.get(user.pk)))
    return {"rows": rows}


def own_feed(user: User) -> dict[str, Any]:
    """A person's own calendar address. One statement."""
    row = {"name": user.name, "make": address("visits:my_calendar_make"), "id": str(new_id())}
    used = _used(Feed.objects.filter(user=user, withdrawn_at=None).first())
    return row | used | ({"withdraw": address("visits:my_calendar_withdraw")} if used["made"] else {})


def _used(feed: Feed | None) -> dict[str, str]:
    if feed is None:
        return {"made": "", "used": "", "withdraw": ""}
    used = f"{many(feed.uses, 'time')}, last {when(feed.last_used_at)}" if feed.last_used_at else "not read yet"
    return {"made": when(feed.made_at), "used": used, "withdraw": address("visits:calendar_withdraw", feed.pk)}
