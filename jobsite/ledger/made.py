"""When something was done, where it reaches the server later: a phone in a plant room without signal.

A phone says with each thing when it was done (`X-Made`) and what its own clock shows as it sends (`X-Sent`). The
difference of the two is true even where its clock is wrong; taken from our own clock it is the time that counts. What the
phone's clock said is kept beside it in the ledger where the two clocks disagree.
"""

from contextvars import ContextVar
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

APART = timedelta(minutes=2)
"""So far two clocks may be apart, the way to us included, before anybody is told. Our own choice."""
LATE = timedelta(minutes=1)
"""What was done so long before it came is told with its own time. Our own choice."""
OLDEST = timedelta(days=60)
"""What is said to be older is not believed: no phone waits so long. Our own choice."""


@dataclass(frozen=True, slots=True)
class Made:
    """When something was done by our clock, and by the phone's where that is wrong (`phone`, and `off` how much ahead)."""

    at: datetime
    phone: datetime | None = None
    off: timedelta = timedelta(0)


def made_of(made: str, sent: str, *, now: datetime) -> Made:
    """What the phone says with a thing that arrives at `now` (UTC): two instants in ISO 8601 with their offset.

    What cannot be read, lies ahead or is too old to be true counts as done now.
    """
    done, gone = _instant(made), _instant(sent)
    if done is None or gone is None or not timedelta(0) <= gone - done <= OLDEST:
        return Made(now)
    off = gone - now
    return Made(now - (gone - done), done if abs(off) >= APART else None, off if abs(off) >= APART else timedelta(0))


def _instant(text: str) -> datetime | None:
    try:
        found = datetime.fromisoformat(text)
        return found.astimezone(UTC) if found.tzinfo else None
    except (ValueError, OverflowError):
        return None


def not_ahead(at: datetime, *, now: datetime) -> datetime:
    """A time that a form says, where a clock ahead of ours put it there: at most when it was made.

    Only so far as the phone's clock is ahead, or clocks commonly are (APART); a time further on stays, to be refused.
    """
    said = current()
    if said is None or not now < at <= now + max(APART, said.off + LATE):
        return at
    return said.at


_current: ContextVar[Made | None] = ContextVar("made", default=None)
current = _current.get
begin, end = _current.set, _current.reset


def facts_of(made: Made | None, *, now: datetime) -> dict[str, str]:
    """What an entry written at `now` says of when it was done: nothing where that was just now by a clock that is right."""
    if made is None:
        return {}
    found = {"made_at": _iso(made.at)} if now - made.at > LATE else {}
    return found | ({"phone_clock": _iso(made.phone)} if made.phone else {})


def _iso(instant: datetime) -> str:
    return instant.astimezone(UTC).isoformat(timespec="milliseconds")
