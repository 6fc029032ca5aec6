"""When the clockwork last ran and what it could not do, in words for the pages and for the health address."""

import re
from datetime import datetime, timedelta

from django.http import HttpRequest

from jobsite.firm.models import FIRST_START
from jobsite.firm.queries import beats
from jobsite.people.rights import Right
from jobsite.words import many, when
from remedials.due.models import Trouble
from remedials.due.queries.held import held
from remedials.visits.operations.checking_in import overdue_banner

STALE_AFTER = timedelta(minutes=30)
AHEAD = timedelta(minutes=10)
"""A heartbeat further ahead than two computers' clocks are apart is of a clock that was set back since."""
SWEEP = "sweep"
SENDING = "sending"
DIGESTS = "digests"  # beats when the digests of a day were worked out
ALONE = "alone"  # these beat with each sweep that finds somebody who works alone and is not out,
TROUBLE = "trouble"  # ... something that it could not read or write,
HELD = "held"  # ... messages that wait too long or failed
NAMED = 2
ALL_OF_IT = "all of it"  # what a part of the sweep left out that failed as a whole
KEYS = re.compile(r" \([a-z-]+:[0-9a-f-]{36}\)")


def fresh(beat: datetime | None, now: datetime) -> bool:
    """Whether a part that last ran to its end at `beat` runs."""
    return beat is not None and -AHEAD <= now - beat <= STALE_AFTER


def clockwork_banner(request: HttpRequest) -> str:
    """A sentence for every office page when the sweep has not run to its end for 30 minutes; else "".

    A program first started less than 30 minutes ago has not had its first sweep yet, and needs no alarm.
    One statement, shared with all the sentences of the same request.
    """
    if not _for_office(request):
        return ""
    beat = _beats(request).get(SWEEP)
    if _runs(request, SWEEP):
        return ""
    if beat and beat > _now(request):
        return f"The computer's clock was set back: it is {when(_now(request))}, but the reminders ran on {when(beat)}."
    how = f"have stopped: they last ran on {when(beat)}" if beat else "have not run yet"
    return f"The reminders {how}. Nothing is lost, but nobody is being told: look at the worker and beat."


def sending_banner(request: HttpRequest) -> str:
    """A sentence for every office page when messages are written but none is sent: the last sending that ran to its end is
    more than 30 minutes ago; else "". Where the sweep has stopped too, that is said instead.
    """
    if not _for_office(request) or not _runs(request, SWEEP) or _runs(request, SENDING):
        return ""
    beat = _beats(request).get(SENDING)
    last = f"since {when(beat)}" if beat and beat <= _now(request) else "so far"
    return f"Messages are written but not sent: sending has not run to its end {last}. Look at the worker and the mail server."


def trouble_banner(request: HttpRequest) -> str:
    """What the last sweep could not read or write, for every office page; else "".

    No statement of its own while the last sweep found nothing of the kind.
    """
    return _left_out() if _for_office(request) and _found_last(request, TROUBLE) else ""


def held_banner(request: HttpRequest) -> str:
    """That messages wait too long or failed, as the last sweep found, for every office page; else "".

    No statement of its own while the last sweep found none.
    """
    return held(now=_now(request)).words() if _for_office(request) and _found_last(request, HELD) else ""


def _left_out() -> str:
    """What was left out of the reminders, the first few by name; their keys are for the log and the terminal."""
    rows = list(Trouble.objects.order_by("first_at", "part", "what").values_list("what", "part"))
    if not rows:
        return ""
    names = list(
        dict.fromkeys(KEYS.sub("", f"everything about {part}" if what == ALL_OF_IT else what) for what, part in rows)
    )
    more = f"; and {len(names) - NAMED:,} more" if len(names) > NAMED else ""
    things, them = many(len(rows), "thing"), "it" if len(rows) == 1 else "them"
    return (
        f"The reminders left out {things} that could not be read or written, and nobody is told of {them}: "
        f"{'; '.join(names[:NAMED])}{more}."
    )


def alone_banner(request: HttpRequest) -> str:
    """Who works alone and is not out, for every office page, from the first sweep that finds it; else "".

    No statement of its own while the last sweep found nobody: what it found is read with its heartbeat.
    """
    if not request.user.may(Right.BOOK):  # type: ignore[union-attr]
        return ""
    return overdue_banner(request) if _found_last(request, ALONE) else ""


def last_ran(request: HttpRequest) -> str:
    """When the reminders last ran, in words. One statement, shared with `clockwork_banner` of the same request."""
    beat = _beats(request).get(SWEEP)
    if not beat:
        return "reminders have not run yet"
    minutes = int((_now(request) - beat).total_seconds() // 60)
    if minutes >= 60 or beat > _now(request) + AHEAD:
        return f"reminders last ran on {when(beat)}"
    return "reminders last ran just now" if minutes < 1 else f"reminders last ran {minutes} min ago"


def state_of_clockwork(now: datetime) -> dict[str, str]:
    """For the health address: whether the sweep and sending run, and whether messages get through. Two statements."""
    known = beats(SWEEP, SENDING)
    found = held(now=now)
    messages = "waiting too long" if found.waiting else "failing" if found else "moving"
    return {
        "clockwork": "running" if fresh(known.get(SWEEP), now) else "stopped",
        "sending": "running" if fresh(known.get(SENDING), now) else "stopped",
        "messages": messages,
    }


def _for_office(request: HttpRequest) -> bool:
    return bool(request.user.may(Right.PLAN_WORK))  # type: ignore[union-attr]


def _now(request: HttpRequest) -> datetime:
    return request.now  # type: ignore[attr-defined,no-any-return]


def _runs(request: HttpRequest, name: str) -> bool:
    known = _beats(request)
    return fresh(known.get(name) or known.get(FIRST_START), _now(request))


def _found_last(request: HttpRequest, name: str) -> bool:
    """Whether the last sweep that ran to its end found what beats as `name`."""
    known = _beats(request)
    return name in known and known[name] == known.get(SWEEP)


def _beats(request: HttpRequest) -> dict[str, datetime]:
    if not hasattr(request, "beats"):
        request.beats = beats(SWEEP, SENDING, FIRST_START, ALONE, TROUBLE, HELD)  # type: ignore[attr-defined]
    return request.beats  # type: ignore[attr-defined,no-any-return]
