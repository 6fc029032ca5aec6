"""When the clockwork last ran, in words for the pages."""

from datetime import datetime, timedelta

from django.http import HttpRequest

from jobsite.firm.models import FIRST_START
from jobsite.firm.queries import beats
from jobsite.people.rights import Right
from jobsite.words import when
from remedials.visits.operations.checking_in import overdue_banner

STALE_AFTER = timedelta(minutes=30)
SWEEP = "sweep"
ALONE = "alone"  # beats with each sweep that finds somebody who works alone and is not out


def clockwork_banner(request: HttpRequest) -> str:
    """A sentence for every office page when the sweep has not run to its end for 30 minutes; else "".

    A program first started less than 30 minutes ago has not had its first sweep yet, and needs no alarm.
    One statement, shared with `last_ran` of the same request.
    """
    if not request.user.may(Right.PLAN_WORK):  # type: ignore[union-attr]
        return ""
    known = _beats(request)
    beat = known.get(SWEEP)
    since = beat or known.get(FIRST_START)
    if since and request.now - since <= STALE_AFTER:  # type: ignore[attr-defined]
        return ""
    how = f"have stopped: they last ran on {when(beat)}" if beat else "have not run yet"
    return f"The reminders {how}. Nothing is lost, but nobody is being told: look at the worker and beat."


def alone_banner(request: HttpRequest) -> str:
    """Who works alone and is not out, for every office page, from the first sweep that finds it; else "".

    No statement of its own while the last sweep found nobody: what it found is read with its heartbeat.
    """
    if not request.user.may(Right.BOOK):  # type: ignore[union-attr]
        return ""
    known = _beats(request)
    return overdue_banner(request) if known.get(ALONE) and known.get(ALONE) == known.get(SWEEP) else ""


def last_ran(request: HttpRequest) -> str:
    """When the reminders last ran, in words. One statement, shared with `clockwork_banner` of the same request."""
    beat = _beats(request).get(SWEEP)
    if not beat:
        return "reminders have not run yet"
    minutes = int((request.now - beat).total_seconds() // 60)  # type: ignore[attr-defined]
    if minutes >= 60:
        return f"reminders last ran on {when(beat)}"
    return "reminders last ran just now" if minutes < 1 else f"reminders last ran {minutes} min ago"


def _beats(request: HttpRequest) -> dict[str, datetime]:
    if not hasattr(request, "beats"):
        request.beats = beats(SWEEP, FIRST_START, ALONE)  # type: ignore[attr-defined]
    return request.beats  # type: ignore[attr-defined]
