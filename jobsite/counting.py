"""Django's cache in a table, with a counter that loses nothing between two who count at once.

Its own `incr` reads, adds and writes without a lock, and forgets how long the entry was to be kept. Redis counts by itself.
And where its table is full it throws away a third of everything by the names of the keys: somebody with many addresses could
have it forget the wrong passwords that were counted meanwhile. Ours is as large as what was counted and has not ended.
"""

import base64
import pickle
from typing import Any

from django.core.cache.backends.db import DatabaseCache
from django.db import connection, connections, transaction
from django.utils import timezone

LOOK = "SELECT value FROM cache WHERE cache_key = %s AND expires > %s FOR UPDATE"
KEEP = "UPDATE cache SET value = %s WHERE cache_key = %s"
ENDED = "DELETE FROM cache WHERE expires < %s"


class CountingCache(DatabaseCache):
    """For the table `cache`."""

    def incr(self, key: str, delta: int = 1, version: Any = None) -> int:
        """One more of `key`, which goes on ending when it was to. Raises ValueError where there is none, as Django's does."""
        key = self.make_and_validate_key(key, version=version)
        with transaction.atomic(), connection.cursor() as cursor:
            cursor.execute(LOOK, [key, timezone.now()])
            row = cursor.fetchone()
            if row is None:
                raise ValueError(f"Nothing is counted under {key}.")
            count = int(pickle.loads(base64.b64decode(row[0]))) + delta  # noqa: S301  only this program writes there
            kept = base64.b64encode(pickle.dumps(count, self.pickle_protocol)).decode("ascii")
            cursor.execute(KEEP, [kept, key])
        return count

    def _cull(self, db: str, cursor: Any, now: Any, num: int) -> None:
        """Where there are more entries than usual, those that have ended go, and no others."""
        cursor.execute(ENDED, [connections[db].ops.adapt_datetimefield_value(now)])
