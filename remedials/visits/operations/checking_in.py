"""Working alone: in, out by when, out; and the alarm when nobody came out."""

from datetime import datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.db.models import F, Q
from django.http import HttpRequest
from django.urls import reverse

from inspections.operations.ground import held_site
from jobsite import clock
from jobsite.ledger import made
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked, made_before
from jobsite.messages.models import Message
from jobsite.messages.operations import write_messages
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.refused import NotAllowed, Refused
from jobsite.words import london, span, when
from remedials.visits.models import CheckIn, Visit
from remedials.visits.queries.terms import diary_terms
from remedials.visits.rules.times import there_for
from remedials.visits.verbs import Verb
from remedials.works.operations.ground import needed

LONGEST = timedelta(hours=16)
NOT_YOURS = "Only who is booked on this visit checks in on it."
REASON = "check-in"
LATE = made.LATE
BEHIND = timedelta(minutes=5)
"""What waits on the same phone behind a time that is past when it reaches us may take so long to come. Our own choice."""


@operation
def check_in(
    visit: Visit, *, id: UUID, out_by: datetime, by: User, now: datetime, made_at: datetime | None = None
) -> CheckIn:
    """`by` is at the visit's site, alone, and will be out by `out_by` (an instant) or somebody will ask after them.

    `made_at`: when they said so (`now`, unless it comes later, from a phone without signal). What comes late is kept
    whatever became of the visit meanwhile: as past where the same person did something later, else as standing. The same
    form again: its row. Raises NotAllowed for who is not booked there, and Refused where they are still checked in
    elsewhere, the visit was cancelled or is on another day, or `out_by` makes no sense.
    """
    site, at = held_site(visit.site), made_at or now
    late = now - at > LATE
    _must_be_there(visit, by, at, late)
    by_now = User.objects.select_for_update(of=("self",), no_key=True).get(pk=by.pk)
    if before := made_before(CheckIn, id, visit_id=visit.pk):
        return before
    over = _did_later(by_now, at) if late else None
    elsewhere = CheckIn.objects.filter(user=by_now, out_at=None).select_related("site", "visit").first()
    if elsewhere and not over:
        if not late:
            raise Refused(f"You are still checked in at {elsewhere.site.name}: check out there first.")
        if elsewhere.visit_id == visit.pk:
            return stay_longer(elsewhere, out_by=out_by, by=by, now=now, made_at=at)
        _went_on(elsewhere, at, by=by, now=now)
    _sensible(out_by, at)
    row = CheckIn.objects.create(
        id=id, site=site, visit=visit, user=by_now, in_at=at, out_by=out_by, said_at=at, heard_at=now if late else None,
        out_at=over,
    )  # fmt: skip
    facts = {"out_by": out_by.isoformat()} | ({"over_at": over.isoformat()} if over else {})
    record(Verb.CHECKED_IN, site=site.pk, subject=row, by=by, now=now, facts=facts)
    return row


def _must_be_there(visit: Visit, by: User, at: datetime, late: bool) -> None:
    """Raises NotAllowed, Refused. What comes late was said in the place: whoever was booked there then, whatever the day."""
    going = visit.attendances.filter(engineer=by)
    if not (going if late else going.filter(cancelled=False)).exists() or not by.may(Right.DO_WORK):
        raise NotAllowed(NOT_YOURS)
    if not late and not there_for(visit.start, visit.end, at):
        raise Refused(f"This visit is {span(visit.start, visit.end)}: check in when you are there.")


def _did_later(person: User, at: datetime) -> datetime | None:
    """The first time after `at` at which they went in somewhere, said how long, or came out: what was said `at` was over
    by then. That the office found them safe is not their own word.
    """
    rows = CheckIn.objects.filter(user=person)
    found = [*rows.filter(in_at__gt=at).values_list("in_at", flat=True)]
    later = [*rows.filter(said_at__gt=at).values_list("said_at", flat=True)]
    later += rows.filter(out_at__gt=at, found_safe="").values_list("out_at", flat=True)
    found += [instant for instant in later if instant]
    return min(found) if found else None


def _went_on(row: CheckIn, at: datetime, *, by: User, now: datetime) -> None:
    """They were in another place by `at`, by their own word: so they are out of this one."""
    row.out_at = max(at, row.in_at)
    row.save(update_fields=["out_at"])
    record(Verb.CHECKED_OUT, site=row.site_id, subject=row, by=by, now=now, facts={"went_on": True})
    _all_is_well(row, f"was in another place, alone, by {when(at)}", now)


@operation
def stay_longer(row: CheckIn, *, out_by: datetime, by: User, now: datetime, made_at: datetime | None = None) -> CheckIn:
    """All is well, and it takes until `out_by`; said `made_at` (`now`, unless it comes later).

    What was said earlier than what stands, or before they came out, changes nothing and is kept in the record. Raises
    NotAllowed, and Refused for who is out already.
    """
    row, at = _mine(row, by), made_at or now
    late = now - at > LATE
    if row.out_at and not late:
        raise Refused("You have checked out already.")
    if row.out_at or _overtaken(row, at):
        record(Verb.OVERTAKEN, site=row.site_id, subject=row, by=by, now=now, facts={"out_by": out_by.isoformat()})
        return row
    if row.out_by != out_by:
        _sensible(out_by, at)
        row.out_by, row.said_at, row.heard_at = out_by, at, now if late else None
        row.save(update_fields=["out_by", "said_at", "heard_at"])
        record(Verb.STAYS, site=row.site_id, subject=row, by=by, now=now, facts={"out_by": out_by.isoformat()})
        _all_is_well(row, f"said at {when(at)} that it takes until {when(out_by)}", now)
    return row


@operation
def check_out(row: CheckIn, *, by: User, now: datetime, made_at: datetime | None = None) -> CheckIn:
    """`by` is out and well, since `made_at` (`now`, unless it comes later). Out already: nothing more happens.

    What was said before they went in, or before they last said how long it takes, ends nothing: they are in there since.
    Raises NotAllowed.
    """
    row, at = _mine(row, by), made_at or now
    if row.out_at is None and _overtaken(row, at):
        record(Verb.OVERTAKEN, site=row.site_id, subject=row, by=by, now=now)
    elif row.out_at is None:
        row.out_at = max(at, row.in_at)
        row.save(update_fields=["out_at"])
        record(Verb.CHECKED_OUT, site=row.site_id, subject=row, by=by, now=now)
        _all_is_well(row, f"is out and well since {when(row.out_at)}", now)
    return row


def _overtaken(row: CheckIn, at: datetime) -> bool:
    """Whether what was said `at` is older than what stands; two clocks read a moment apart are no order."""
    return at < max(row.in_at, row.said_at or row.in_at) - LATE


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
    """Who has not come out by the time they said and the firm's grace after it, the longest first. Two statements.

    A time that was past already when it reached us counts a few minutes later: what they said next waits behind it on the
    same phone, and an alarm for somebody who came out long ago would teach the office not to heed one.
    """
    grace = timedelta(minutes=diary_terms(clock.local_day(now)).check_out_minutes)
    in_time = Q(heard_at=None) | Q(heard_at__lte=F("out_by")) | Q(heard_at__lte=now - BEHIND)
    rows = CheckIn.objects.filter(in_time, out_at=None, out_by__lte=now - grace)
    return list(rows.select_related("user", "site", "visit").order_by("out_by", "pk"))


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
    late = f" That reached us only at {when(row.heard_at)}: their phone had no signal before." if row.heard_at else ""
    body = (
        f"{row.user.name} checked in at {row.site.name} ({row.site.one_line}) at {when(row.in_at)}, alone, and said to be "
        f"out by {when(row.out_by)}. Nobody has heard since.{late}{phone}\n\n"
        "Ring them. If they do not answer, send somebody, or call the emergency services.\n"
        f"Then say how they are: {settings.SITE_ADDRESS}{reverse('visits:visit', args=[row.visit_id])}\n"
    )
    return Message(
        occasion=_occasion(row, to.pk), to_kind=Message.To.STAFF, to_id=to.pk, address=to.email, danger=True,
        subject=f"Not out: {row.user.name} at {row.site.name}", body=body, site=row.site_id, reason_kind=REASON,
        reason_ref=row.pk, written_at=now, next_try_at=now,
        why="Somebody works alone and is not out by the time they said: at once, to everybody who books visits.",
    )  # fmt: skip


def _occasion(row: CheckIn, to: UUID) -> str:
    return f"check-in:{row.pk}:{row.out_by.timestamp():.0f}:{to}"


def alarm_stands(message: Message) -> bool:
    """Whether whoever the alarm is about is still not out by the time that it names: asked before it is sent."""
    row = CheckIn.objects.filter(pk__in=[message.reason_ref], out_at=None).first()
    # A person may have sent it anew to another address: that stands behind the occasion.
    return row is not None and message.occasion.startswith(_occasion(row, message.to_id))


def _all_is_well(row: CheckIn, words: str, now: datetime) -> None:
    """Tell everybody to whom an alarm about this went out, or may have, that it is over, and why."""
    settled = (Message.State.SENT, Message.State.SENDING, Message.State.UNKNOWN)
    told = Message.objects.filter(reason_kind=REASON, reason_ref=row.pk, state__in=settled)
    people = {message.to_id: message for message in told.order_by("written_at")}
    if not people:
        return
    until = "out" if row.out_at else f"{row.out_by.timestamp():.0f}"
    write_messages(
        Message(
            occasion=f"check-in-well:{row.pk}:{until}:{to}", to_kind=Message.To.STAFF, to_id=to, address=alarm.address,
            subject=f"All is well: {row.user.name} at {row.site.name}", site=row.site_id, written_at=now, next_try_at=now,
            why="Whoever an alarm reached hears that it is over.",
            body=f"{row.user.name} {words}. This reached us at {when(now)}. The alarm about {row.site.name} is over.\n",
        )
        for to, alarm in people.items()
    )  # fmt: skip


def overdue_banner(request: HttpRequest) -> str:
    """The sentence above every office page while somebody is overdue; "" for engineers and when nobody is."""
    if not request.user.may(Right.BOOK):  # type: ignore[union-attr]
        return ""
    late = overdue(request.now)  # type: ignore[attr-defined]
    said = [f"{row.user.name} at {row.site.name}, out by {london(row.out_by):%H:%M}{_heard(row)}" for row in late]
    return f"Working alone and not out: {'; '.join(said)}. Ring them now." if said else ""


def _heard(row: CheckIn) -> str:
    """That the office could not know earlier."""
    return f" (heard of only at {london(row.heard_at):%H:%M})" if row.heard_at else ""
