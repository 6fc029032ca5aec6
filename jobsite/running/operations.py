"""What the service notes of itself. Like heartbeats these are the machine's own notes and leave no entry, but for messages."""

import re
from datetime import datetime, timedelta
from hashlib import sha256

from django.db.models import F
from django.db.models.functions import Greatest

from jobsite.firm.operations import beat
from jobsite.ledger.actor import CLOCK
from jobsite.ledger.operations import operation, record
from jobsite.messages.models import Message
from jobsite.messages.verbs import Verb
from jobsite.running.models import SlowStatement
from jobsite.words import when

BACKED_UP = "backup"
BACKED_UP_IN_PART = "backup with files missing"
RESTORED = "restored"
LONGEST_STATEMENT = 4000
FORGOTTEN_AFTER = timedelta(days=30)
VALUE = re.compile(r"'(?:[^']|'')*'")
LIST = re.compile(r"\(\s*%s(?:\s*,\s*%s)+\s*\)")


def note_backed_up(*, whole: bool, now: datetime) -> None:
    """Note that an archive was written; one without files that the storage has lost is not `whole`."""
    beat(BACKED_UP if whole else BACKED_UP_IN_PART, now=now)


def note_restored(*, taken_at: datetime, now: datetime) -> None:
    """Note that this database came from an archive, which is its last backup."""
    beat(RESTORED, now=now)
    beat(BACKED_UP, now=taken_at)


@operation
def leave_to_decide(*, taken_at: datetime, now: datetime) -> int:
    """Messages that waited when a backup was taken may have gone out after it: only a person sends them again.

    Returns how many there were. Run on a restored database, before anything is sent from it.
    """
    waiting = Message.objects.filter(state__in=[Message.State.WAITING, Message.State.SENDING])
    found = list(waiting.order_by("site", "pk").values_list("pk", "site", "to_id"))
    waiting.update(
        state=Message.State.UNKNOWN,
        settled_at=now,
        error=f"It waited when the backup of {when(taken_at)} was taken, from which this was restored: it may have gone out since.",
    )
    for message in Message.objects.filter(pk__in=[pk for pk, _, _ in found]).order_by("site", "pk"):
        record(Verb.UNKNOWN, site=message.site, subject=message, by=CLOCK, now=now, facts={"to": str(message.to_id)})
    return len(found)


def note_slow_statement(sql: str, *, place: str, milliseconds: float, now: datetime) -> None:
    """Note that `sql` took so long at `place`, once more. No values: those that a statement was given are not asked for,
    those written into it are left out. What was not slow for 30 days is forgotten.
    """
    words = without_values(sql)
    digest = sha256(words.encode()).hexdigest()
    made, new = SlowStatement.objects.get_or_create(
        place=place,
        digest=digest,
        defaults={
            "words": words,
            "times": 1,
            "total_ms": milliseconds,
            "worst_ms": milliseconds,
            "first_at": now,
            "last_at": now,
        },
    )
    if new:
        SlowStatement.objects.filter(last_at__lt=now - FORGOTTEN_AFTER).delete()
        return
    SlowStatement.objects.filter(pk=made.pk).update(
        times=F("times") + 1,
        total_ms=F("total_ms") + milliseconds,
        worst_ms=Greatest(F("worst_ms"), milliseconds),
        last_at=now,
    )


def without_values(sql: str) -> str:
    """`sql` on one line, with "…" for what stands in quotes and for a list of values however long."""
    return LIST.sub("(%s, …)", VALUE.sub("'…'", " ".join(sql.split())))[:LONGEST_STATEMENT]
