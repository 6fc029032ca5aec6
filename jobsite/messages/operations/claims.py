"""Whose turn it is to send a message, and how that ended. Nothing here talks to a mail server.

A claim is taken in one transaction by one sender. `begin` notes, before the mail server could take the mail, that it may
have it from now on. A claim that was left before `begin` is surely not sent and waits again; one that was left after it is
UNKNOWN, and only a person sends it again.
"""

import itertools
from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction
from django.db.models import F, OuterRef, Q, QuerySet, Subquery
from django.db.models.functions import Greatest

from jobsite.ids import new_id
from jobsite.ledger.actor import CLOCK, Actor
from jobsite.ledger.models import Chain
from jobsite.ledger.operations import operation, record
from jobsite.messages.carrier import Carried
from jobsite.messages.models import Message
from jobsite.messages.verbs import Verb

# Waits between attempts. RFC 5321 (4.5.4.1) asks to go on for four or five days: together these are nearly five.
BACKOFF = tuple(timedelta(minutes=m) for m in (1, 5, 30, 120, 360, 720, 1440, 1440, 1440, 1440))
CLAIM_HOLDS = timedelta(minutes=10)  # well over the sender's time limit: an older claim was abandoned
AT_ONCE = 20  # claimed together: so many wait for each other where a server is slow
ABANDONED = "The sender stopped before it knew the outcome."
NOT_BEGUN = "The sender stopped before it was handed over."

STATE = Message.State
VERBS = {
    STATE.SENT: Verb.SENT,
    STATE.FAILED: Verb.FAILED,
    STATE.UNKNOWN: Verb.UNKNOWN,
    STATE.DROPPED: Verb.DROPPED,
}


def claim(*, now: datetime) -> Message | None:
    """Take the next message to send, so that nobody else does; None when there is none."""
    return next(iter(claim_some(now=now, most=1)), None)


@transaction.atomic
def claim_some(*, now: datetime, most: int = AT_ONCE) -> list[Message]:
    """Take the next messages to send, dangers first, so that nobody else does.

    What was tried before is taken alone: a message at which senders break down leaves no others behind.
    """
    waiting = Message.objects.filter(state=STATE.WAITING, next_try_at__lte=now)
    rows = list(waiting.order_by("-danger", "next_try_at").select_for_update(skip_locked=True)[:most])
    taken = list(itertools.takewhile(lambda row: row.attempts == 0, rows)) or rows[:1]
    token = new_id()
    changed = {"state": STATE.SENDING, "claim": token, "claimed_at": now, "handed_at": None}
    if taken:
        keys = [row.pk for row in taken]
        Message.objects.filter(pk__in=keys).update(**changed, attempts=F("attempts") + 1)
    for row in taken:
        row.attempts += 1
        for name, value in changed.items():
            setattr(row, name, value)
    return taken


def begin(message: Message, *, now: datetime) -> bool:
    """Note that the mail server may have `message` from now on. False where the claim is no longer ours: don't send."""
    return _ours(message).filter(state=STATE.SENDING).update(handed_at=now) == 1


def give_back(messages: list[Message]) -> None:
    """Let others take `messages`, at which nothing was done: it counts as no attempt."""
    keys = [message.pk for message in messages]
    held = Message.objects.filter(pk__in=keys, claim__in={message.claim for message in messages}, state=STATE.SENDING)
    held.filter(handed_at=None).update(
        state=STATE.WAITING, claim=None, claimed_at=None, attempts=Greatest(F("attempts") - 1, 0)
    )


def wait_for_server(message: Message, *, error: str) -> None:
    """Nobody could be reached: the message keeps its place, and it counts as no attempt."""
    _ours(message).filter(state=STATE.SENDING).update(
        state=STATE.WAITING, claim=None, claimed_at=None, handed_at=None, error=error,
        attempts=Greatest(F("attempts") - 1, 0),
    )  # fmt: skip


def try_later(message: Message, *, error: str, now: datetime) -> None:
    """Put a message that was surely not taken back in the queue; after the last attempt it has failed."""
    if message.attempts > len(BACKOFF):
        settle(message, state=STATE.FAILED, error=error, now=now)
        return
    _ours(message).filter(state=STATE.SENDING).update(
        state=STATE.WAITING, claim=None, handed_at=None, error=error,
        next_try_at=now + BACKOFF[message.attempts - 1],
    )  # fmt: skip


def settle(message: Message, *, state: STATE, now: datetime, error: str = "", by: Actor = CLOCK) -> None:
    """Note how sending ended. Only a message that is being sent under this claim is settled."""
    settle_carried(message, Carried(state, error), now=now, by=by)


@operation
def settle_carried(message: Message, carried: Carried, *, now: datetime, by: Actor = CLOCK) -> None:
    """Note how sending ended, as the mail server said it.

    What was given up as UNKNOWN while its sender was only late is put right by that sender's word.
    """
    state = carried.state
    if state not in VERBS:
        raise ValueError(f"{state} is no outcome")
    held = Q(state=STATE.SENDING) if state == STATE.UNKNOWN else Q(state__in=[STATE.SENDING, STATE.UNKNOWN])
    changed = _ours(message).filter(held).update(
        state=state, error=carried.error, settled_at=now, address_refused=carried.address_refused
    )  # fmt: skip
    if changed:
        site = _where_it_stands(message)
        record(VERBS[state], site=site, subject=message, by=by, now=now, facts={"to": str(message.to_id)})


def _where_it_stands(message: Message) -> UUID | None:
    """The site of `message`, read again: it may have gone over to another while it was sent, and its chain is closed.

    One that was being written just then was left behind at the former: it goes over now.
    """
    chains = Chain.objects.filter(pk=OuterRef("site")).values("closed_into")
    rows = Message.objects.filter(pk=message.pk).annotate(into=Subquery(chains))
    site, into = rows.values_list("site", "into").get()
    while into:
        site, into = into, Chain.objects.filter(pk=into).values_list("closed_into", flat=True).first()
        Message.objects.filter(pk=message.pk).update(site=site)
    return site


def settle_abandoned(*, now: datetime) -> int:
    """See to claims that nobody finished, also those of a clock that was far ahead. Returns how many there were.

    What was not handed over waits again; what may have been is UNKNOWN, for a person to decide.
    """
    old = Q(claimed_at__lt=now - CLAIM_HOLDS) | Q(claimed_at__gt=now + CLAIM_HOLDS)
    abandoned = list(Message.objects.filter(old, state=STATE.SENDING)[:500])
    for message in abandoned:
        give_up(message, now=now)
    return len(abandoned)


def give_up(message: Message, *, now: datetime) -> None:
    """End a claim that nobody finished: what was surely not handed over waits again, for nothing but its turn."""
    if message.handed_at is not None:
        settle(message, state=STATE.UNKNOWN, error=ABANDONED, now=now)
    elif message.attempts > len(BACKOFF):
        settle(message, state=STATE.FAILED, error=NOT_BEGUN, now=now)
    else:
        held = _ours(message).filter(state=STATE.SENDING, handed_at=None)
        held.update(state=STATE.WAITING, claim=None, error=NOT_BEGUN)


def _ours(message: Message) -> QuerySet[Message]:
    return Message.objects.filter(pk=message.pk, claim=_token(message))


def _token(message: Message) -> UUID:
    if message.claim is None:
        raise ValueError("a message that is being sent has a claim")
    return message.claim
