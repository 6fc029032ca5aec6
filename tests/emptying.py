"""Emptying the database after a test that really committed.

Django's own `flush` truncates every table, each of which gets new files, and then writes content types and permissions again:
far more than most of these tests do. Here only what holds rows is deleted, and what the migrations made of those two stays.
"""

from functools import cache

from django.db import connection, transaction
from django.test import TransactionTestCase

CACHE = "cache"  # no model's table; what is counted there would hold the next test back
STAYS = {"django_content_type", "auth_permission"}  # the same for every test


def empty_quickly(case: TransactionTestCase) -> None:
    """What `TransactionTestCase` does after each test, where the database's user may set triggers aside."""
    tables = _tables()
    with transaction.atomic(), connection.cursor() as cursor:
        # Neither foreign keys nor the triggers by which the ledger refuses to forget.
        cursor.execute("SET LOCAL session_replication_role = replica")
        cursor.execute(f"LOCK TABLE {', '.join(tables)} IN SHARE ROW EXCLUSIVE MODE")  # waits for whoever still writes
        cursor.execute(" UNION ALL ".join(f"SELECT '{one}' WHERE EXISTS (SELECT FROM {one})" for one in tables))
        if filled := cursor.fetchall():
            cursor.execute("; ".join(f"DELETE FROM {one}" for (one,) in filled))


@cache
def _tables() -> list[str]:
    names = connection.introspection.django_table_names(only_existing=True, include_views=False)
    return sorted(connection.ops.quote_name(name) for name in {*names, CACHE} - STAYS)


def may_set_triggers_aside() -> bool:
    with connection.cursor() as cursor:
        cursor.execute("SELECT has_parameter_privilege('session_replication_role', 'SET')")
        return cursor.fetchone()[0]
