"""Working alone: in, out by when, out; and the alarm when nobody came out."""

from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.http import HttpRequest
from django.urls import reverse

from inspections.operations.ground import held_site
from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked, made_before
from jobsite.messages.models import Message
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.refused import NotAllowed, Refused
from jobsite.words import london, span, when
from remedials.visits.models import CheckIn, Visit
from remedials.visits.queries.terms import diary_terms
from remedials.visits.verbs import Verb
from remedials.works.operations.ground import needed

LONGEST = timedelta(hours=16)
NOT_YOURS = "Only who is booked on this visit checks in on it."
REASON = "check-in"


@operation
def check_in(visit: Visit, *, id: UUID, out_by: datetime, by: User, now: datetime) -> CheckIn:
    """`by` is at the visit's site, alone, and will be out by `out_by` (an instant) or somebody will ask after them.

    The same form again: its row. Raises NotAllowed for who is not booked there, and Refused where they are still checked in
    elsewhere, the visit was cancelled or is on another day, or `out_by` makes no sense.
    """
    site = held_site(visit.site)
    if not visit.attendances.filter(engineer=by, cancelled=False).exists() or not by.may(Right.DO_WORK):
        raise NotAllowed(NOT_YOURS)
    if not clock.local_day(visit.start) <= clock.local_day(now) <= clock.local_day(visit.end):
        raise Refused(f"This visit is {span(visit.start, visit.end)}: check in when you are there.")
    by_now = User.objects.select_for_update(of=("self",), no_key=True).get(pk=by.pk)
    if made := made_before(CheckIn, id, visit_id=visit.pk):
        return made
    if elsewhere := CheckIn.objects.filter(user=by_now, out_at=None).select_related("site").first():
        raise Refused(f"You are still checked in at {elsewhere.site.name}: check out there first.")
    _sensible(out_by, now)
    row = CheckIn.objects.create(id=id, site=site, visit=visit, user=by_now, in_at=now, out_by=out_by)
    record(Verb.CHECKED_IN, site=site.pk, subject=row, by=by, now=now, facts={"out_by": out_by.isoformat()})
    return row


@operation
def stay_longer(row: CheckIn, *, out_by: datetime, by: User, now: datetime) -> CheckIn:
    """All is well, and it takes until `out_by`. Raises NotAllowed, and Refused for who is out already."""
    row = _mine(row, by)
    if row.out_at:
        raise Refused("You have checked out already.")
    if row.out_by != out_by:
        _sensible(out_by, now)
        row.out_by = out_by
        row.save(update_fields=["out_by"])
        record(Verb.STAYS, site=row.site_id, subject=row, by=by, now=now, facts={"out_by": out_by.isoformat()})
    return row


@operation
def check_out(row: CheckIn, *, by: User, now: datetime) -> CheckIn:
    """`by` is out and well. Out already: nothing more happens. Raises NotAllowed."""
    row = _mine(row, by)
    if row.out_at is None:
        row.out_at = max(now, row.in_at)
        row.save(update_fields=["out_at"])
        record(Verb.CHECKED_OUT, site=row.site_id, subject=row, by=by, now=now)
    return row


@operation
def found_safe(row: CheckIn, *, how: str, by: Actor, now: datetime) -> CheckIn:
    """Somebody else made sure that all is well, and says how: the alarm ends. Out already: nothing more happens.

    Raises NotAllowed, and Refused without words.
    """
    held_site(row.site)
    row = locked(row)
    if not by.may(Right.BOOK):
        raise NotAllowed("Only the office says how somebody was found safe.")
    if row.out_at is None:
        how = needed(how, "Say how you made sure: who spoke to them, where they are.", field="how")
        row.out_at, row.found_safe = max(now, row.in_at), how
        row.save(update_fields=["out_at", "found_safe"])
        record(Verb.FOUND_SAFE, site=row.site_id, subject=row, by=by, now=now, words={"how": how})
    return row


def _mine(row: CheckIn, by: User) -> CheckIn:
    held_site(row.site)
    row = locked(row)
    if row.user_id != by.pk:
        raise NotAllowed("This check-in is somebody else's.")
    return row


def _sensible(out_by: datetime, now: datetime) -> None:
    if out_by <= now:
        raise Refused("Say a time that is still to come.", field="out_by")
    if out_by > now + LONGEST:
        raise Refused("Say a time within 16 hours; stay longer when you get there.", field="out_by")


def overdue(now: datetime) -> list[CheckIn]:
    """Who has not come out by the time they said and the firm's grace after it, the longest first. Two statements."""
    grace = timedelta(minutes=diary_terms(clock.local_day(now)).check_out_minutes)
    rows = CheckIn.objects.filter(out_at=None, out_by__lte=now - grace).select_related("user", "site", "visit")
    return list(rows.order_by("out_by", "pk"))


def overdue_messages(now: datetime) -> list[Message]:
    """The alarm for each who is overdue, to the managers and the office: once for each time that they said.

    Three statements. The caller writes them (`write_messages`), which leaves out those written before.
    """
    late = overdue(now)
    if not late:
        return []
    staff = [user for user in User.objects.filter(is_active=True).order_by("pk") if user.may(Right.BOOK)]
    return [_alarm(row, to, now) for row in late for to in staff if to.pk != row.user_id]


def _alarm(row: CheckIn, to: User, now: datetime) -> Message:
    phone = f" Their telephone: {row.user.phone}." if row.user.phone else ""
    body = (
        f"{row.user.name} checked in at {row.site.name} ({row.site.one_line}) at {when(row.in_at)}, alone, and said to be "
        f"out by {when(row.out_by)}. Nobody has heard since.{phone}\n\n"
        "Ring them. If they do not answer, send somebody, or call the emergency services.\n"
        f"Then say how they are: {settings.SITE_ADDRESS}{reverse('visits:visit', args=[row.visit_id])}\n"
    )
    return Message(
        occasion=f"check-in:{row.pk}:{row.out_by.timestamp():.0f}:{to.pk}", to_kind=Message.To.STAFF, to_id=to.pk, address=to.email, danger=True,
        subject=f"Not out: {row.user.name} at {row.site.name}", body=body, site=row.site_id, reason_kind=REASON,
        reason_ref=row.pk, written_at=now, next_try_at=now,
    )  # fmt: skip


def alarm_stands(row_key: UUID) -> bool:
    """Whether whoever the alarm is about is still not out: asked before it is sent."""
    return CheckIn.objects.filter(pk=row_key, out_at=None).exists()


def overdue_banner(request: HttpRequest) -> str:
    """The sentence above every office page while somebody is overdue; "" for engineers and when nobody is."""
    if not request.user.may(Right.BOOK):  # type: ignore[union-attr]
        return ""
    late = overdue(request.now)  # type: ignore[attr-defined]
    said = [f"{row.user.name} at {row.site.name}, out by {london(row.out_by):%H:%M}" for row in late]
    return f"Working alone and not out: {'; '.join(said)}. Ring them now." if said else ""
