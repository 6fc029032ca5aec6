"""Telling those whom a booking, a move or a cancellation concerns: once each for what it has come to."""

from collections.abc import Iterable
from datetime import date, datetime
from enum import StrEnum
from uuid import UUID

from django.conf import settings
from django.urls import reverse

from jobsite.firm.queries import the_firm
from jobsite.ledger.actor import Actor
from jobsite.messages.models import Message
from jobsite.messages.operations import write_messages
from jobsite.people.models import User
from jobsite.words import span
from remedials.visits.choices import Answered
from remedials.visits.models import Visit

REASON = "visit-told"
ASKED = "visit-asked"  # the e-mail that asks whether the time suits


class What(StrEnum):
    """What has come of a visit for the one who is told."""

    BOOKED = "booked"
    MOVED = "moved"
    TAKEN_OFF = "taken off"
    CANCELLED = "cancelled"
    CANNOT = "cannot"


SUBJECTS = {
    What.BOOKED: "You are booked: {when}, {site}",
    What.MOVED: "Moved: visit {number} is now {when}, {site}",
    What.TAKEN_OFF: "You are no longer booked on visit {number}, {site}",
    What.CANCELLED: "Cancelled: visit {number}, {when}, {site}",
    What.CANNOT: "The time does not suit: visit {number}, {when}, {site}",
}
ENDS = frozenset({What.TAKEN_OFF, What.CANCELLED})


def tell(
    visit: Visit, what: What, *, users: Iterable[User], by: Actor, now: datetime, was: str = "", occasion: str = ""
) -> int:
    """Inside an operation: a message for each of `users` but `by`, for this version of `visit`. Returns how many.

    What still waits to be sent about an earlier version is dropped: only what it has come to is told. Who was not told yet
    that they go is not told that they do not. `was`: when it was before, in words. `occasion`: what it is told of besides
    the version of the visit, where that stays.
    """
    people = [user for user in users if user.pk != by.actor_id and user.is_active]
    unheard = _drop_unsent(visit, [user.pk for user in people], now=now)
    silent: set[UUID] = unheard if what in ENDS else set()
    rows = [_message(visit, what, user, was, now) for user in people if user.pk not in silent]
    for row in rows if occasion else ():
        row.occasion += f":{occasion}"
    return write_messages(rows)


def _drop_unsent(visit: Visit, keys: list[UUID], *, now: datetime) -> set[UUID]:
    """Drop what waits for `keys` about earlier versions; who of them has had no message about the visit yet."""
    rows = Message.objects.filter(reason_kind=REASON, reason_ref=visit.pk, to_id__in=keys)
    waiting = rows.filter(state=Message.State.WAITING)
    dropped = set(waiting.values_list("to_id", flat=True))
    waiting.update(state=Message.State.DROPPED, settled_at=now, error="The visit is different by now.")
    heard = set(rows.exclude(state=Message.State.DROPPED).values_list("to_id", flat=True))
    return dropped - heard


def _message(visit: Visit, what: What, user: User, was: str, now: datetime) -> Message:
    when = span(visit.start, visit.end)
    subject = SUBJECTS[what].format(when=when, site=visit.site.name, number=visit.number)
    return _row(visit, user.pk, Message.To.STAFF, user.email, subject, _body(visit, what, was), now)


def _body(visit: Visit, what: What, was: str) -> str:
    place = f"{visit.site.name}, {visit.site.one_line}"
    lines = [f"Visit {visit.number}, {span(visit.start, visit.end)}", place]
    lines += [f"It was {was}."] if was and what == What.MOVED else []
    lines += [f"Why: {visit.cancelled_reason}"] if what == What.CANCELLED else []
    lines += [f"Goes off: {visit.outage}"] if visit.outage and what not in ENDS else []
    address = f"{settings.SITE_ADDRESS}{reverse('visits:visit', args=[visit.pk])}"
    return "\n".join([*lines, "", address, ""])


def _row(visit: Visit, to: UUID, kind: str, address: str, subject: str, body: str, now: datetime) -> Message:
    return Message(
        occasion=f"visit:{visit.pk}:{visit.version}:{to}", to_kind=kind, to_id=to, address=address, subject=subject,
        body=body, site=visit.site_id, reason_kind=REASON, reason_ref=visit.pk, written_at=now, next_try_at=now,
        why="Whoever a visit concerns hears when it is booked, changed or cancelled.",
    )  # fmt: skip


def tell_customer(visit: Visit, what: What, *, now: datetime, was: str = "") -> int:
    """Inside an operation: the customer hears that a time they were asked about, or confirmed, no longer is.

    Whoever was never asked about it has nothing to unlearn, and hears nothing. Returns how many messages were written.
    """
    party = visit.site.customer
    told = visit.answered in {Answered.ASKED, Answered.CONFIRMED}
    if not told or not party.email or (visit.answered == Answered.ASKED and _question_unsent(visit, now)):
        return 0
    _drop_unsent(visit, [party.pk], now=now)
    firm = the_firm()
    times = f"Our visit to {visit.site.name} is now planned for {span(visit.start, visit.end)}; it was {was}."
    if what == What.CANCELLED:
        times = f"Our visit to {visit.site.name} on {span(visit.start, visit.end)} will not take place."
    body = (
        f"Dear {party.name},\n\n{times} We are in touch about the time. If it does not suit, please reply or ring "
        f"{firm.phone}.\n\n{firm.name}\n"
    )
    subject = f"Our visit to {visit.site.name}: {'cancelled' if what == What.CANCELLED else 'moved'}"
    return write_messages([_row(visit, party.pk, Message.To.CUSTOMER, party.email, subject, body, now)])


def customer_hears(visit: Visit) -> bool:
    """Whether `tell_customer` would write to the customer of `visit` if its time changed now. One statement at most."""
    if visit.answered not in {Answered.ASKED, Answered.CONFIRMED} or not visit.site.customer.email:
        return False
    asked = visit.confirmations.values("pk")
    unsent = Message.objects.filter(reason_kind=ASKED, reason_ref__in=asked, state=Message.State.WAITING)
    return visit.answered == Answered.CONFIRMED or not unsent.exists()


def _question_unsent(visit: Visit, now: datetime) -> bool:
    """Whether the question about the former time never went out; then it does not go out any more."""
    asked = visit.confirmations.values("pk")
    rows = Message.objects.filter(reason_kind=ASKED, reason_ref__in=asked, state=Message.State.WAITING)
    return rows.update(state=Message.State.DROPPED, settled_at=now) > 0


def still_stands(message: Message, today: date) -> bool:
    """Whether what `message` says of a visit is still what it has come to, and its day is not over: asked before it is sent.

    After days without mail nobody is told to go to a visit of last week.
    """
    _, key, version, *_ = message.occasion.split(":")
    return Visit.objects.filter(pk=key, version=int(version), end__date__gte=today).exists()
