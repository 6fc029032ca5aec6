"""Writing messages and sending them: a row first, then one e-mail, never a second one by the machine."""

import smtplib
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import datetime, timedelta
from urllib.parse import urlsplit
from uuid import UUID

from django.conf import settings
from django.core.mail import EmailMessage, get_connection
from django.db import transaction

from jobsite.ledger.actor import CLOCK, Actor
from jobsite.ledger.operations import operation, record
from jobsite.messages.models import Message
from jobsite.messages.verbs import Verb
from jobsite.refused import NotAllowed, Refused

SEE_MESSAGES = "see-messages"  # the right's name as people.rights spells it; that room is above this one
BACKOFF = tuple(timedelta(minutes=m) for m in (1, 5, 30, 120, 360, 720, 1440))
CLAIM_HOLDS = timedelta(minutes=10)  # well over the sender's time limit: an older claim was abandoned
SEND_FOR = 20.0  # seconds; the worker ends a task after 50, and an e-mail that it cut off would become UNKNOWN

STATE = Message.State


@dataclass(frozen=True)
class Complete:
    """What goes out for a message: its words, and files as (name, content, media type). None of it is kept in its row."""

    body: str
    files: tuple[tuple[str, bytes, str], ...] = ()


def as_written(message: Message) -> Complete:
    """The message as it stands in its row."""
    return Complete(message.body)


def write_messages(messages: Iterable[Message]) -> int:
    """Keep `messages` to be sent; one whose occasion was written before is left as it is.

    Called inside the operation whose occasion it is, so that both are kept or neither. Returns how many are new.
    """
    rows = list(messages)
    known = set(Message.objects.filter(occasion__in=[m.occasion for m in rows]).values_list("occasion", flat=True))
    new = [m for m in rows if m.occasion not in known]
    Message.objects.bulk_create(new, ignore_conflicts=True)
    return len(new)


def send_waiting(
    *,
    now: datetime,
    stands: Callable[[Message], bool],
    complete: Callable[[Message], Complete] = as_written,
    limit: int = 200,
    seconds: float = SEND_FOR,
) -> int:
    """Send what is due, dangers first, and return how many were looked at.

    None is begun after `seconds`: the rest waits for the next call. `complete` says what goes out for a message: a secret
    that must not lie in the database is put in there, when the mail server has been reached.

    1. Claim one row in a transaction of its own: another worker passes over it, and a crash from here on leaves a claim.
    2. Ask `stands` whether its reason still holds; if not it is dropped.
    3. Send outside any transaction.
    4. Settle. A crash between 3 and 4 leaves the claim, which `settle_abandoned` turns into UNKNOWN, never into a
       second e-mail.
    """
    looked_at, until = 0, time.monotonic() + seconds
    while looked_at < limit and time.monotonic() < until and (message := claim(now=now)) is not None:
        looked_at += 1
        if not stands(message):
            settle(message, state=STATE.DROPPED, now=now)
            continue
        state, error = deliver(message, complete)
        if state == STATE.WAITING:
            try_later(message, error=error, now=now)
        else:
            settle(message, state=state, error=error, now=now)
    return looked_at


def claim(*, now: datetime) -> Message | None:
    """Take the next message to send, so that nobody else does; None when there is none."""
    with transaction.atomic():
        waiting = Message.objects.filter(state=STATE.WAITING, next_try_at__lte=now)
        message = waiting.order_by("-danger", "next_try_at").select_for_update(skip_locked=True).first()
        if message is None:
            return None
        message.state, message.claimed_at = STATE.SENDING, now
        message.attempts += 1
        message.save(update_fields=["state", "claimed_at", "attempts"])
    return message


def deliver(message: Message, complete: Callable[[Message], Complete] = as_written) -> tuple[STATE, str]:
    """Hand `message` to the mail server: SENT, WAITING (surely not taken, try again), FAILED (refused) or UNKNOWN."""
    connection = get_connection()
    try:
        connection.open()
    except Exception as error:  # noqa: BLE001 - whatever it was, nothing was handed over yet
        return STATE.WAITING, f"The mail server cannot be reached: {error}"
    try:
        whole = complete(message)
    except Exception as error:  # noqa: BLE001 - a file that is lost, a row that is gone: nothing was handed over yet
        connection.close()
        return STATE.WAITING, f"It could not be completed: {error}"
    mail = EmailMessage(
        " ".join(message.subject.split()),  # a line break in a site's name would end the header
        whole.body,
        to=[message.address],
        headers={"Message-ID": message_id(message.pk)},
        attachments=list(whole.files),
        connection=connection,
    )
    try:
        mail.send()
    except smtplib.SMTPRecipientsRefused as error:
        return STATE.FAILED, f"The mail server refused the address: {error}"
    except smtplib.SMTPResponseException as error:
        temporary = 400 <= error.smtp_code < 500
        return (STATE.WAITING if temporary else STATE.FAILED), f"The mail server refused: {error}"
    except Exception as error:  # noqa: BLE001 - it may have been taken before this went wrong
        return STATE.UNKNOWN, f"The connection broke while it was handed over: {error}"
    finally:
        connection.close()
    return STATE.SENT, ""


def message_id(pk: UUID) -> str:
    """The Message-ID of a row: always the same, so that a mail server can recognise a repetition."""
    return f"<{pk}@{urlsplit(settings.SITE_ADDRESS).hostname}>"


@operation
def settle(message: Message, *, state: STATE, now: datetime, error: str = "", by: Actor = CLOCK) -> None:
    """Note how sending ended. Only a message that is being sent is settled."""
    changed = Message.objects.filter(pk=message.pk, state=STATE.SENDING).update(
        state=state, error=error, settled_at=now
    )
    if changed:
        verb = {
            STATE.SENT: Verb.SENT,
            STATE.FAILED: Verb.FAILED,
            STATE.UNKNOWN: Verb.UNKNOWN,
            STATE.DROPPED: Verb.DROPPED,
        }[state]
        # Read again: its site may have gone over to another while it was sent, and that one's chain is closed.
        site = Message.objects.values_list("site", flat=True).get(pk=message.pk)
        record(verb, site=site, subject=message, by=by, now=now, facts={"to": str(message.to_id)})


def try_later(message: Message, *, error: str, now: datetime) -> None:
    """Put a message that was surely not taken back in the queue; after the last attempt it has failed."""
    if message.attempts > len(BACKOFF):
        settle(message, state=STATE.FAILED, error=error, now=now)
        return
    Message.objects.filter(pk=message.pk, state=STATE.SENDING).update(
        state=STATE.WAITING, error=error, next_try_at=now + BACKOFF[message.attempts - 1]
    )


def settle_abandoned(*, now: datetime) -> int:
    """Turn claims that nobody finished into UNKNOWN, for a person to decide. Returns how many there were."""
    abandoned = list(Message.objects.filter(state=STATE.SENDING, claimed_at__lt=now - CLAIM_HOLDS)[:500])
    for message in abandoned:
        settle(message, state=STATE.UNKNOWN, error="The sender stopped before it knew the outcome.", now=now)
    return len(abandoned)


@operation
def send_again(message: Message, *, by: Actor, now: datetime) -> Message:
    """A person decides that a message which failed, or whose outcome is not known, goes out again."""
    if not by.may(SEE_MESSAGES):
        raise NotAllowed("Only the office may send a message again.")
    message = Message.objects.select_for_update().get(pk=message.pk)
    if message.state == STATE.WAITING:
        return message
    if message.state not in (STATE.FAILED, STATE.UNKNOWN):
        raise Refused(f"This message is {message.get_state_display()}; it cannot be sent again.")
    if message.state == STATE.UNKNOWN:
        message.link = None  # the first may have arrived: its link goes on, and this one gets another
    message.state, message.settled_at, message.next_try_at, message.attempts = STATE.WAITING, None, now, 0
    message.save(update_fields=["link", "state", "settled_at", "next_try_at", "attempts"])
    record(Verb.AGAIN, site=message.site, subject=message, by=by, now=now)
    return message


def move_messages(site: UUID, *, into: UUID) -> int:
    """Inside an operation: what was said about `site` is about `into` from now on. Returns how many there were."""
    return Message.objects.filter(site=site).update(site=into)


def drop_waiting(site: UUID, *, to: UUID, now: datetime) -> int:
    """Inside an operation: what waits to be sent to `to` about `site` is no longer needed. Returns how many there were."""
    waiting = Message.objects.filter(site=site, to_id=to, state=STATE.WAITING)
    return waiting.update(state=STATE.DROPPED, settled_at=now)


def note_link(message: Message, link: UUID) -> None:
    """Note which private link goes out with `message`; its token is kept nowhere."""
    message.link = link
    message.save(update_fields=["link"])
