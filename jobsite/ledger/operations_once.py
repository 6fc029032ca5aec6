"""What is sent twice is done once: the record of answers by person and idempotency key.

One transaction holds the lock on the key, what is done and its record: both are there or neither, whatever crashes.
"""

import hashlib
import json
from collections.abc import Collection, Mapping
from datetime import datetime, timedelta
from uuid import UUID

from django.db import connection

from jobsite.ledger.models import DoneOnce

KEPT = timedelta(days=30)


def taken(person: UUID, key: str) -> bool:
    """Whether this transaction got hold of the person's key; not while another one that has it still runs.

    To be called in a transaction, whose end lets go of it. One statement.
    """
    name = hashlib.sha256(f"once:{person}:{key}".encode()).digest()[:8]
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_xact_lock(%s)", [int.from_bytes(name, "big", signed=True)])
        return bool(cursor.fetchone()[0])


def done_before(person: UUID, key: str) -> DoneOnce | None:
    """What the person did with this key, None for nothing. One statement."""
    return DoneOnce.objects.filter(person=person, key=key).first()


def keep_answer(
    person: UUID, key: str, *, fingerprint: bytes, status: int, headers: Mapping[str, str], body: bytes, now: datetime
) -> DoneOnce:
    """Keep what was answered, in the transaction that did it."""
    return DoneOnce.objects.create(
        person=person, key=key, fingerprint=fingerprint, status=status, headers=dict(headers), body=body, at=now
    )


def empty_answers(holding: Collection[str]) -> int:
    """Take away what was answered where one of these texts stands in it, such as a name or a row's key; how many they were.

    That it was done stays: the same request again does nothing more, and is answered with an empty object. One statement.
    """
    needles = {form.encode() for text in holding for form in (text, json.dumps(text)[1:-1], _in_json(text))}
    with connection.cursor() as cursor:
        cursor.execute(
            "UPDATE ledger_doneonce SET body = %s WHERE length(body) > 0"
            " AND EXISTS (SELECT 1 FROM unnest(%s::bytea[]) AS needle WHERE position(needle IN body) > 0)",
            [b"{}", sorted(needles)],
        )
        return int(cursor.rowcount)


def _in_json(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)[1:-1]


def forget_old_answers(*, now: datetime) -> int:
    """Drop the answers that are older than 30 days; how many they were."""
    return DoneOnce.objects.filter(at__lt=now - KEPT).delete()[0]
