"""The tables of an empty database, laid down at once.

To go through every migration from the start takes a minute, nearly all of it Django's own account of what each of them changes.
`sql/schema.sql` is what they come to, as pg_dump writes it; `make schema` makes it anew, and a test holds that it is the same.
Migrations that are later than the file run after it as they do on any database, so that it may lag behind.
"""

import re
from pathlib import Path

from django.db import transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from django.db.migrations.recorder import MigrationRecorder

FILE = Path(__file__).parent / "sql" / "schema.sql"
HEAD = "-- migration: "


def lay_down(connection: BaseDatabaseWrapper) -> bool:
    """Make the tables of the file in the database of `connection`, and record its migrations; False where there are tables.

    All of it in one transaction. The settings of the session are afterwards what they were when it began.
    """
    if connection.introspection.table_names():
        return False
    text = FILE.read_text()
    with transaction.atomic(using=connection.alias):
        with connection.cursor() as cursor:
            cursor.execute(text)
            for name in _set_by(text):
                cursor.execute(f"RESET {name}")
        recorder = MigrationRecorder(connection)
        for app, name in migrations_of(text):
            recorder.record_applied(app, name)
    return True


def _set_by(text: str) -> set[str]:
    """The settings of the session with which a schema file begins, for itself; Django's own, the time zone, is not among them."""
    head = text.partition("\nCREATE ")[0]
    return {"search_path", *re.findall(r"^SET (\w+) =", head, re.MULTILINE)}


def migrations_of(text: str) -> list[tuple[str, str]]:
    """The migrations, as (app, name), that a schema file says it comes to, in the order in which they ran."""
    heads = (line.removeprefix(HEAD) for line in text.splitlines() if line.startswith(HEAD))
    return [(app, name) for app, _, name in (head.partition(".") for head in heads)]
