"""When the clockwork last ran, in words for the pages."""

from datetime import datetime, timedelta

from django.http import HttpRequest

from jobsite.firm.queries import last_beat
from jobsite.people.rights import Right
from jobsite.words import when

STALE_AFTER = timedelta(minutes=30)
SWEEP = "sweep"


def clockwork_banner(request: HttpRequest) -> str:
    """A sentence for every office page when the sweep has not run to its end for 30 minutes; else "".

    One statement, shared with `last_ran` of the same request.
    """
    if not request.user.may(Right.PLAN_WORK):  # type: ignore[union-attr]
        return ""
    beat = _beat(request)
    now = request.now  # type: ignore[attr-defined]
    if beat and now - beat <= STALE_AFTER:
        return ""
    last = f"They last ran on {when(beat)}." if beat else "They have not run yet."
    return f"The reminders have stopped. {last} Nothing is lost, but nobody is being told: look at the worker and beat."


def last_ran(request: HttpRequest) -> str:
    """When the reminders last ran, in words. One statement, shared with `clockwork_banner` of the same request."""
    beat = _beat(request)
    if not beat:
        return "reminders have not run yet"
    minutes = int((request.now - beat).total_seconds() // 60)  # type: ignore[attr-defined]
    if minutes >= 60:
        return f"reminders last ran on {when(beat)}"
    return "reminders last ran just now" if minutes < 1 else f"reminders last ran {minutes} min ago"


def _beat(request: HttpRequest) -> datetime | None:
    if not hasattr(request, "swept_at"):
        request.swept_at = last_beat(SWEEP)  # type: ignore[attr-defined]
    return request.swept_at  # type: ignore[attr-defined]
