"""What a clock that was ahead left behind, put right once it goes right again: nothing waits for a time that was wrong.

A message written or tried while the clock was a year ahead would wait for a year, its claim would stand for a year, and the
digest of a day that has not come would count as written when that day comes.
"""

from datetime import datetime, timedelta

from django.db.models import F, Q, TextField, Value
from django.db.models.functions import Cast, Concat

from jobsite.messages.models import Message
from jobsite.messages.operations import CLAIM_HOLDS, give_up
from remedials.due.operations import digests
from remedials.due.operations.customers import INSPECTION
from remedials.due.operations.danger import ALARM, DANGER
from remedials.quotes.operations import mailing

AHEAD = CLAIM_HOLDS
"""Two computers' clocks are closer than this."""
A_DAY = timedelta(days=1)
SAID_ANEW = (DANGER, ALARM, digests.REASON, INSPECTION, mailing.LAPSES)


def put_clock_right(*, now: datetime) -> int:
    """What waits for a time named while the clock was ahead is tried now, and a claim of then is given up. Returns how many
    messages that were.

    What the sweep writes anew is dropped instead: it says what was to be so by then.
    """
    claimed = list(Message.objects.filter(state=Message.State.SENDING, claimed_at__gt=now + AHEAD)[:500])
    for message in claimed:
        give_up(message, now=now)
    waiting = Message.objects.filter(state=Message.State.WAITING)
    dropped = waiting.filter(written_at__gt=now + A_DAY, reason_kind__in=SAID_ANEW).update(
        state=Message.State.DROPPED, settled_at=now, error="It was written while the clock was ahead."
    )
    ahead = Q(written_at__gt=now + AHEAD) | Q(claimed_at__gt=now + AHEAD)
    moved = waiting.filter(ahead, next_try_at__gt=now).update(next_try_at=now, claimed_at=None)
    return len(claimed) + dropped + moved


def free_occasions_ahead(*, now: datetime) -> int:
    """A message to staff of a day that has not come was not said on that day: its occasion is free for the day itself.

    What customers were written stays as it is: they hear nothing twice. Returns how many there were.
    """
    early = Message.objects.filter(to_kind=Message.To.STAFF, written_at__gt=now + A_DAY)
    early = early.exclude(occasion__endswith=EARLY)
    return early.update(
        occasion=Concat(F("occasion"), Value(" "), Cast("number", TextField()), Value(EARLY), output_field=TextField())
    )


EARLY = " written while the clock was ahead"
