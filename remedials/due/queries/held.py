"""What doesn't get through: messages that wait too long or failed, for the banner and the health address."""

from dataclasses import dataclass
from datetime import datetime, timedelta

from django.db.models import Count, Q

from jobsite.messages.models import Message
from jobsite.words import many

TOO_LONG = timedelta(hours=1)
TOO_LONG_FOR_DANGER = timedelta(minutes=15)
LATELY = timedelta(days=1)
MANY_FAILED = 5


@dataclass(frozen=True)
class Held:
    """How many messages wait too long, how many failed in the last day, and of each how many about danger."""

    waiting: int
    waiting_danger: int
    failed: int
    failed_danger: int

    def __bool__(self) -> bool:
        """Whether somebody should look: any that waits too long, many that failed, or one about danger."""
        return bool(self.waiting or self.failed_danger or self.failed >= MANY_FAILED)

    def words(self) -> str:
        """A sentence for the office; "" where all goes well."""
        said = []
        if self.waiting:
            said.append(
                f"{many(self.waiting, 'message')} {_have(self.waiting)} waited too long to go out{_danger(self.waiting_danger)}"
            )
        if self.failed_danger or self.failed >= MANY_FAILED:
            said.append(
                f"{many(self.failed, 'message')} could not be sent since yesterday{_danger(self.failed_danger)}"
            )
        return f"{'; '.join(said)}. Look at the messages." if said else ""


def _have(count: int) -> str:
    return "has" if count == 1 else "have"


def _danger(count: int) -> str:
    return f", {count:,} of them about danger" if count else ""


def held(*, now: datetime) -> Held:
    """What doesn't get through at `now`. One statement.

    A message waits too long from an hour after it was written, one about danger from 15 minutes, but for what waits for a
    working hour and was never tried.
    """
    due = Q(next_try_at__lte=now - TOO_LONG) | Q(attempts__gt=0)
    waits = Q(state=Message.State.WAITING) & due & Q(written_at__lte=now - TOO_LONG)
    waits |= Q(state=Message.State.WAITING, danger=True, written_at__lte=now - TOO_LONG_FOR_DANGER)
    failed = Q(state=Message.State.FAILED, settled_at__gt=now - LATELY, settled_at__lte=now)
    counts = Message.objects.filter(waits | failed).aggregate(
        waiting=Count("pk", filter=waits),
        waiting_danger=Count("pk", filter=waits & Q(danger=True)),
        failed=Count("pk", filter=failed),
        failed_danger=Count("pk", filter=failed & Q(danger=True)),
    )
    return Held(**counts)
