"""Sending what waits: each reason is looked at again, and a message is completed by the room that wrote it."""

from collections.abc import Callable
from datetime import date, datetime, timedelta
from functools import partial

from inspections.models import Observation
from inspections.operations import papers
from inspections.queries.mailing import REASON as PAPER_SENT
from jobsite import clock
from jobsite.firm.operations import beat
from jobsite.messages.models import Message
from jobsite.messages.operations import Complete, Round, send_round
from jobsite.people.models import PrivateLink
from jobsite.premises.operations import sharing
from remedials.due.operations import digests, leaving
from remedials.due.operations.clock_set import put_clock_right
from remedials.due.operations.customers import INSPECTION, inspection_stands
from remedials.due.operations.danger import ALARM, DANGER
from remedials.due.operations.stopping import with_way_to_stop
from remedials.due.queries import SENDING
from remedials.due.queries.settings import hours
from remedials.due.queries.standing import Standing
from remedials.due.rules.moments import next_moment
from remedials.quotes.operations import mailing
from remedials.visits.operations import asking_mail, checking_in, letters, telling, times_mail

BY_THE_DAY: dict[str, Callable[[Message, date], bool]] = {
    telling.REASON: telling.still_stands,
    asking_mail.REASON: lambda message, _: asking_mail.still_asked(message),
    times_mail.REASON: times_mail.still_open,
    sharing.REASON: sharing.still_opens,
}
TO_CUSTOMERS: dict[str, Callable[[Message], bool]] = {
    leaving.REASON: leaving.letter_stands,
    PAPER_SENT: papers.still_stands,
}
# Reasons that the due list is not asked for by kind and key.
NOT_LISTED = frozenset(
    [
        "",
        digests.REASON,
        DANGER,
        ALARM,
        checking_in.REASON,
        mailing.REASON,
        mailing.LAPSES,
        *BY_THE_DAY,
        *TO_CUSTOMERS,
    ]
)


def send(*, now: datetime) -> int:
    """Send what waits, as `send_for_a_while` does it; how many messages were looked at."""
    return send_for_a_while(now=now).looked_at


def send_for_a_while(*, now: datetime) -> Round:
    """Send what waits, until there is no more, the mail server has enough or the time of a task is over.

    1. What a clock that was ahead left waiting is tried now.
    2. Polite words whose next try falls into quiet hours or on a day off wait for the next working hour.
    3. What is due is sent, each message after its reason was looked at again.
    4. The heartbeat of sending is noted: one that was cut off has not run.
    """
    put_clock_right(now=now)
    wait_for_working_hours(now=now)
    today = clock.local_day(now)
    done = send_round(now=now, look=partial(look, today=today), complete=partial(completed, now=now))
    beat(SENDING, now=now)
    return done


def wait_for_working_hours(*, now: datetime) -> int:
    """Move reminders that are due now to the next hour at which the firm writes politely. Returns how many there were."""
    due = Message.objects.filter(state=Message.State.WAITING, reminder=True, next_try_at__lte=now)
    if not due.exists():
        return 0
    today = clock.local_day(now)
    try:
        when = next_moment(now, hours(today, today))
    except ValueError:
        # At these hours nobody could ever be written to. The sweep names them, and danger still goes out.
        when = now + timedelta(days=1)
    return due.update(next_try_at=when) if when > now else 0


def completed(message: Message, *, now: datetime) -> Complete:
    """What goes out for `message`: completed by the room that wrote it; a reminder says how to stop reminders."""
    return with_way_to_stop(message, _completed(message, now=now))


def _completed(message: Message, *, now: datetime) -> Complete:
    if message.filled_by == leaving.FILLED_BY:
        return leaving.complete(message)
    if message.filled_by == letters.FILLED_BY:
        return letters.complete(message)
    if message.filled_by == papers.FILLED_BY:
        return papers.complete(message)
    if message.filled_by == asking_mail.FILLED_BY:
        return asking_mail.complete(message, now=now)
    if message.filled_by == sharing.FILLED_BY:
        return sharing.complete(message, now=now)
    if message.filled_by == times_mail.FILLED_BY:
        return times_mail.complete(message, now=now)
    return mailing.complete(message, now=now)


def _link_withdrawn(message: Message) -> bool:
    """Whether the office withdrew the link that an earlier try put in: another try would bring it back."""
    return bool(message.link) and PrivateLink.objects.filter(pk__in=[message.link], withdrawn_at__isnull=False).exists()


def look(messages: list[Message], *, today: date) -> Callable[[Message], bool]:
    """Read what `messages` rest on; the answer says of each of them whether it may still go out on `today`."""
    return partial(stands, today=today, known=_known(messages))


def _known(messages: list[Message]) -> Standing:
    return Standing.of(messages, of_the_list=NOT_LISTED, danger=DANGER)


def stands(message: Message, *, today: date, known: Standing | None = None) -> bool:
    """Whether `message` may still go out on `today`; where not, its `error` says why not, for the office to read."""
    why_not = why_dropped(message, today=today, known=known)
    if why_not:
        message.error = why_not
    return not why_not


def why_dropped(message: Message, *, today: date, known: Standing | None = None) -> str:
    """Why `message` need not go out any more, in words; "" while its reason stands. `known`: what was just read of it."""
    known = known or _known([message])
    if message.to_kind == Message.To.STAFF and message.to_id not in known.staff:
        return "Whoever it was for no longer works here."
    if message.reminder and (message.to_id in known.want_none or message.site in known.leaving):
        return "The customer wants no reminders, or the firm's part there ends."
    if _link_withdrawn(message) if message.reason_kind in BY_THE_DAY else mailing.link_was_withdrawn(message):
        return "The office withdrew its link."
    return (
        "" if _reason_stands(message, today, known) else GONE.get(message.reason_kind, "Its reason no longer stands.")
    )


def _reason_stands(message: Message, today: date, known: Standing) -> bool:
    """Whether what `message` is about is still so; what has no reason (that all is well) always is."""
    if message.reason_kind == digests.REASON:
        return digests.digest_stands(message, today=today)
    if message.reason_kind == DANGER:
        return message.reason_ref in known.dangers
    if message.reason_kind == ALARM:
        return Observation.objects.uncoded().filter(pk=message.reason_ref, may_be_dangerous=True).exists()
    if message.reason_kind == checking_in.REASON:
        return checking_in.alarm_stands(message)
    if by_the_day := BY_THE_DAY.get(message.reason_kind):
        return by_the_day(message, today)
    if message.reason_kind in (mailing.REASON, mailing.LAPSES):
        return mailing.offer_stands(message, today=today)
    if message.reason_kind == INSPECTION:
        return inspection_stands(message, known)
    if of_customers := TO_CUSTOMERS.get(message.reason_kind):
        return of_customers(message)
    if message.reason_kind and message.reason_ref:
        return (message.reason_kind, message.reason_ref) in known.rows
    return True


GONE = {
    digests.REASON: "A newer digest has what it said.",
    DANGER: "It was made safe, remedied or recoded meanwhile.",
    ALARM: "It was coded, or is no longer reported as dangerous.",
    checking_in.REASON: "They came out, or said that it takes longer.",
    INSPECTION: "The inspection was done, booked or is due on another day.",
    leaving.REASON: "The closing letter was taken back.",
    mailing.REASON: "The quote is no longer with the customer.",
    mailing.LAPSES: "The quote was answered, or is no longer with the customer.",
    PAPER_SENT: "The paper is owed anew by now, or no longer asked for.",
    sharing.REASON: "The private link that it brings was withdrawn, or has ended.",
    telling.REASON: "The visit is different by now, or its day is over.",
}
