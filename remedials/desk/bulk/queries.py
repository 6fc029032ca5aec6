"""What the page of taking everything out shows, as dicts of ready strings."""

from datetime import datetime, timedelta
from typing import Any

from django.urls import reverse

from jobsite.firm.models import Progress
from jobsite.people.models import User
from jobsite.words import many, when
from remedials.desk.bulk.operations import KEPT
from remedials.desk.models import TakeOut
from remedials.status.bundles.queries import size_words

MOST = 50
IMPATIENT = timedelta(seconds=15)
"""After so long without a worker, the page offers to do it itself."""
STATE = Progress.State


def take_outs(by: User, *, now: datetime) -> dict[str, Any]:
    """What was taken out, the latest first, and how far the one has come that is being made. One statement."""
    found = TakeOut.objects.visible_to(by).select_related("progress", "asked_by").order_by("-asked_at", "-pk")[:MOST]
    rows = [_row(take_out, now) for take_out in found]
    return {"rows": rows, "waiting": next((row for row in rows if row["waiting"]), None)}


def _row(take_out: TakeOut, now: datetime) -> dict[str, Any]:
    progress = take_out.progress
    waiting = take_out.made_at is None and progress.state in (STATE.WAITING, STATE.RUNNING)
    here = take_out.made_at is not None and take_out.gone_at is None
    return {
        "what": take_out.get_kind_display().capitalize(),
        "asked": f"{when(take_out.asked_at)}, {take_out.asked_by.name}",
        "state": _state(take_out),
        "fingerprint": take_out.fingerprint,
        "of": "manifest.json" if take_out.kind == TakeOut.Kind.ARCHIVE else "the file",
        "take": reverse("bulk:file", args=[take_out.pk]) if here else "",
        "drop": reverse("bulk:drop", args=[take_out.pk]) if here else "",
        "here": reverse("bulk:here", args=[take_out.pk]),
        "waiting": waiting,
        "sentence": progress.sentence or "Waiting for the worker.",
        "slow": waiting and progress.state == STATE.WAITING and now - progress.changed_at > IMPATIENT,
    }


def _state(take_out: TakeOut) -> str:
    if take_out.gone_at:
        return f"removed from here {when(take_out.gone_at)}"
    if take_out.made_at:
        size = f"{many(take_out.rows, 'row')}, {size_words(take_out.size)}"
        return f"{size}; here until {when(take_out.made_at + KEPT)}"
    failed = take_out.progress.state == STATE.FAILED
    return take_out.progress.sentence if failed else take_out.progress.get_state_display()
