"""One document is made at a time in the whole service: each takes hundreds of megabytes while it is set."""

import time
from collections.abc import Iterator
from contextlib import contextmanager

from django.db import connection

from jobsite.refused import Refused

KEY = 7_041_001
"""Of the advisory lock: any number that nobody else uses."""
STEP = 0.1
TRIES = 100
"""So often it is asked for, ten seconds in all: a document of sixty items takes three."""
BUSY = "Other documents are being made just now. Open this again in a minute."


class Busy(Refused):
    """Others were making documents all the while."""


@contextmanager
def one_maker() -> Iterator[None]:
    """Wait until nobody else makes a document, at most ten seconds; raises Busy then.

    A lock of the database session, not of a transaction: no row is locked meanwhile, and a process that dies lets go.
    """
    for attempt in range(TRIES):
        if _got_it():
            break
        if attempt + 1 < TRIES:
            time.sleep(STEP)
    else:
        raise Busy(BUSY)
    try:
        yield
    finally:
        with connection.cursor() as cursor:
            cursor.execute("SELECT pg_advisory_unlock(%s)", [KEY])


def _got_it() -> bool:
    with connection.cursor() as cursor:
        cursor.execute("SELECT pg_try_advisory_lock(%s)", [KEY])
        row = cursor.fetchone()
    return bool(row and row[0])
