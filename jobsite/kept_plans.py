"""Statements that take the database longer to plan than to answer are planned once for each connection.

The due list is a view of thirty parts: planning a statement on it takes longer than reading a page of it. A connection keeps
its plans until it ends or a transaction of it is rolled back. The settings make it plan them without regard to their values
(`plan_cache_mode`): left to itself the database plans the first five times anew, and some of them for ever.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import date
from typing import Any
from uuid import UUID

from django.db import connection
from psycopg import Cursor, errors, sql
from psycopg.pq import TransactionStatus

KEPT = 24  # plans for each connection; one of the due list holds some two megabytes of the database's memory
VARY = (date, UUID)


class KeptPlanCursor(Cursor[Any]):
    """Sends days, moments and keys apart from the statement, so that it is the same one with others; all else belongs to it,
    as the conditions by which an index of some of a table's rows is found.
    """

    def execute(self, query: Any, params: Any = None, **more: Any) -> Any:
        """As Django asks: a text, with parameters by their places or none."""
        if params is None:
            return super().execute(query, **more)
        text = query.replace("%%", "%%%%") % tuple(map(self._in_place, params))
        varying = [value for value in params if isinstance(value, VARY)]
        try:
            return super().execute(text, varying, **more)
        except errors.FeatureNotSupported:
            # Its plan is of a view that was made anew since, with columns of other types: it is planned again.
            if self.connection.info.transaction_status != TransactionStatus.IDLE:
                raise
            self.connection.execute("DEALLOCATE ALL", prepare=False)
            return super().execute(text, varying, **more)

    def _in_place(self, value: Any) -> str:
        return "%s" if isinstance(value, VARY) else sql.Literal(value).as_string(self.connection).replace("%", "%%")


@contextmanager
def plan_kept() -> Iterator[None]:
    """Within, a statement is planned when it first runs on its connection, for whatever days and keys, and not again.

    For statements of few shapes whose best plan is the same for all days and keys: a day that bounds what is read is given
    with the other end of the range too, else a third of the rows is expected. What is read is the same as without.
    """
    with connection.cursor():  # connects, or connects anew where the other side has gone
        raw = connection.connection
    former = raw.cursor_factory, raw.prepare_threshold
    raw.cursor_factory, raw.prepare_threshold, raw.prepared_max = KeptPlanCursor, 0, KEPT
    try:
        yield
    finally:
        raw.cursor_factory, raw.prepare_threshold = former
