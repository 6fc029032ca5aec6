"""Django's cache in a table, with a counter that loses nothing between two who count at once; and Redis with that behind it.

Its own `incr` reads, adds and writes without a lock, and forgets how long the entry was to be kept. Redis counts by itself.
And where its table is full it throws away a third of everything by the names of the keys: somebody with many addresses could
have it forget the wrong passwords that were counted meanwhile. Ours is as large as what was counted and has not ended.
"""

import base64
import logging
import pickle
from collections.abc import Callable
from typing import Any

from django.core.cache.backends.db import DatabaseCache
from django.core.cache.backends.redis import RedisCache
from django.db import connection, connections, transaction
from django.utils import timezone
from redis.exceptions import RedisError

log = logging.getLogger(__name__)
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


class RedisOrTable(RedisCache):
    """Redis; while it does not answer, the table: people sign in as before, and wrong passwords and codes are counted on.

    `has_key` asks Redis alone: by it /ready/ tells whether it is there.
    """

    def __init__(self, server: str, params: dict[str, Any]) -> None:
        super().__init__(server, params)
        self._table = CountingCache("cache", {**params, "OPTIONS": {"MAX_ENTRIES": 20_000}})

    def _or_table(self, name: str, *args: Any, **more: Any) -> Any:
        asked: Callable[..., Any] = getattr(super(), name)
        try:
            return asked(*args, **more)
        except (RedisError, OSError):
            log.warning("The cache does not answer: %s is done in the table.", name)
            return getattr(self._table, name)(*args, **more)

    def get(self, *args: Any, **more: Any) -> Any:
        """As RedisCache has it."""
        return self._or_table("get", *args, **more)

    def set(self, *args: Any, **more: Any) -> None:
        """As RedisCache has it."""
        self._or_table("set", *args, **more)

    def add(self, *args: Any, **more: Any) -> bool:
        """As RedisCache has it."""
        return bool(self._or_table("add", *args, **more))

    def incr(self, *args: Any, **more: Any) -> int:
        """As RedisCache has it: ValueError where nothing is counted yet."""
        return int(self._or_table("incr", *args, **more))

    def delete(self, *args: Any, **more: Any) -> bool:
        """As RedisCache has it."""
        return bool(self._or_table("delete", *args, **more))

    def delete_many(self, *args: Any, **more: Any) -> None:
        """As RedisCache has it."""
        self._or_table("delete_many", *args, **more)
