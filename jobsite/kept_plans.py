"""Statements that take the database longer to plan than to answer are planned once for each connection.

The due list is a view of thirty parts: planning a statement on it takes longer than reading a page of it.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from typing import Any
from uuid import UUID

from django.db import connection
from psycopg import Cursor, sql
from psycopg.pq import TransactionStatus

KEPT = 24  # plans for each connection; one of the due list holds some two megabytes of the database's memory
USABLE = (TransactionStatus.IDLE, TransactionStatus.INTRANS)
VARY = (date, UUID)


class KeptPlanCursor(Cursor[Any]):
    """Sends days and keys apart from the statement, so that it is the same one with others; all else belongs to it, as the
    conditions by which an index of some of a table's rows is found.
    """

    def execute(self, query: Any, params: Any = None, **more: Any) -> Any:
        """As `psycopg.Cursor.execute`."""
        if params is None:
            return super().execute(query, **more)
        text = query.replace("%%", "%%%%") % tuple(map(self._in_place, params))
        return super().execute(text, [value for value in params if isinstance(value, VARY)], **more)

    def _in_place(self, value: Any) -> str:
        return "%s" if isinstance(value, VARY) else sql.Literal(value).as_string(self.connection).replace("%", "%%")


@contextmanager
def plan_kept() -> Iterator[None]:
    """Within, a statement is planned when it first runs on its connection, for whatever days and keys, and not again.

    For statements of few shapes whose best plan is the same for all days and keys: a day that bounds what is read is given
    with the other end of the range too, else a third of the rows is expected. What is read is the same as without.
    """
    connection.ensure_connection()
    raw = connection.connection
    if raw.cursor_factory is KeptPlanCursor:  # within another one
        yield
        return
    former = raw.cursor_factory, raw.prepare_threshold
    raw.execute("SET plan_cache_mode TO force_generic_plan")  # left to itself the database plans anew, some for ever
    raw.cursor_factory, raw.prepare_threshold, raw.prepared_max = KeptPlanCursor, 0, KEPT
    try:
        yield
    finally:
        raw.cursor_factory, raw.prepare_threshold = former
        if raw.info.transaction_status in USABLE:  # else rolling back undoes it
            raw.execute("SET plan_cache_mode TO auto")
