"""What managers read of how the service runs."""

from collections.abc import Mapping
from datetime import datetime, timedelta
from typing import Any

from django.conf import settings

from jobsite.firm.models import Heartbeat
from jobsite.running.models import SlowStatement
from jobsite.running.operations import BACKED_UP, BACKED_UP_IN_PART, RESTORED
from jobsite.words import many, when

MOST = 50
BACKUP_IS_OLD = timedelta(hours=26)  # a nightly one, and two hours' grace
PARTS = {"sweep": "Reminders last written", "sending": "Messages last sent", BACKED_UP: "Last backup"}


def service_page(now: datetime) -> dict[str, Any]:
    """For the managers' page: when each part last ran, and the statements that cost most. Two statements."""
    names = [*PARTS, BACKED_UP_IN_PART, RESTORED]
    known = dict(Heartbeat.objects.filter(pk__in=names).values_list("name", "at"))
    rows = SlowStatement.objects.order_by("-total_ms", "pk")[:MOST]
    parts = [(said, when(known.get(name)) or "not yet") for name, said in PARTS.items()]
    if BACKED_UP_IN_PART in known:
        parts.append(("Last backup with files missing", when(known[BACKED_UP_IN_PART])))
    if RESTORED in known:
        parts.append(("Restored from a backup", when(known[RESTORED])))
    return {
        "parts": parts,
        "caution": backup_caution(known, now),
        "limit": settings.SLOW_STATEMENT_MS,
        "rows": [_row(row) for row in rows],
    }


def backup_caution(known: Mapping[str, datetime], now: datetime) -> str:
    """What is to be said of the last backup by the heartbeats `known`, or "" where it is whole and fresh."""
    last, in_part = known.get(BACKED_UP), known.get(BACKED_UP_IN_PART)
    if in_part and (last is None or in_part > last):
        return (
            f"The backup of {when(in_part)} lacks files that the storage has lost or altered: manage.py backup names them. "
            "Look for them in earlier archives, and throw none of those away."
        )
    if last is None:
        return "No backup was ever made with this program: manage.py backup, every night, kept on another machine."
    days = (now - last).days
    if now - last > BACKUP_IS_OLD:
        return f"The last backup is {many(days, 'day')} old." if days > 1 else "The last backup is more than a day old."
    return ""


def _row(row: SlowStatement) -> dict[str, str]:
    return {
        "place": row.place,
        "words": row.words,
        "times": f"{row.times:,}",
        "mean": f"{row.total_ms / row.times:,.0f} ms",
        "worst": f"{row.worst_ms:,.0f} ms",
        "last": when(row.last_at),
    }
