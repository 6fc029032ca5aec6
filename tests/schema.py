"""`python -m tests.schema` (`make schema`): writes `jobsite/running/sql/schema.sql` anew, from every migration in turn."""

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager

import django
import psycopg
from django.conf import settings
from django.db import connection

from jobsite.running.programs import program, where
from jobsite.running.schema import FILE, HEAD
from tests.readme import TOP

SCRATCH = "tests_every_migration"
# Rows that `migrate` or a running program writes besides, and sequences.
MADE_OTHERWISE = (
    "cache",
    "django_migrations",
    "django_content_type",
    "auth_permission",
    "*_id_seq",
    "post_message_number",
)


def from_every_migration() -> str:
    """What every migration in turn comes to, as `dumped` writes it. Takes a minute.

    Read in and written once more: PostgreSQL then writes some expressions in another way, once and for all.
    """
    text = _made_by("in turn")
    with scratch():
        to, environment = where(SCRATCH)
        with psycopg.connect(to, password=environment.get("PGPASSWORD")) as other:
            other.execute(text)
        return dumped(SCRATCH)


def from_the_file() -> str:
    """What our own `manage.py migrate` makes of an empty database, as `dumped` writes it."""
    return _made_by("ours")


def _made_by(command: str) -> str:
    """In a process of its own, on a database of its own: the tests' has been given more than migrations make."""
    with scratch():
        asked = [sys.executable, "-m", "tests.schema", command, SCRATCH]
        made = subprocess.run(asked, cwd=TOP, stdin=subprocess.DEVNULL, capture_output=True, text=True)
        if made.returncode:
            raise RuntimeError(f"The migrations failed:\n{made.stderr}")
        return dumped(SCRATCH)


@contextmanager
def scratch() -> Iterator[None]:
    """An empty database beside the one in use, as long as the block lasts."""
    with connection._nodb_cursor() as server:
        server.execute(f'DROP DATABASE IF EXISTS "{SCRATCH}" WITH (FORCE)')
        server.execute(f'CREATE DATABASE "{SCRATCH}"')
        try:
            yield
        finally:
            server.execute(f'DROP DATABASE IF EXISTS "{SCRATCH}" WITH (FORCE)')


def dumped(name: str) -> str:
    """The tables of the database `name` and the rows that migrations made, as pg_dump writes them, without what differs
    from one dump to the next.
    """
    to, environment = where(name)
    options = ["--inserts", "--no-owner", "--no-privileges", "--no-comments"]
    options += [f"--exclude-table-data={rows}" for rows in MADE_OTHERWISE]
    command = [program("pg_dump"), *options, "--dbname", to]
    text = subprocess.run(command, env=environment, capture_output=True, text=True, check=True).stdout
    text = re.sub(r"^(\\(un)?restrict .*|-- Dumped .*)\n", "", text, flags=re.MULTILINE)
    text = re.sub(r"^--\n-- ((Data for )?Name: .*|PostgreSQL database dump.*)\n--\n\n?", "", text, flags=re.MULTILINE)
    return re.sub(r"\n{3,}", "\n\n", text).strip() + "\n"


def migrate(command: str, name: str) -> None:
    """Every migration: "in turn" by Django's own command, or by "ours"."""
    from django.core.management import call_command
    from django.core.management.commands.migrate import Command as DjangosOwn

    settings.DATABASES["default"]["NAME"] = name
    django.setup()
    call_command(DjangosOwn() if command == "in turn" else "migrate", verbosity=0)


def write() -> None:
    """The file anew."""
    django.setup()
    from django.db.migrations.loader import MigrationLoader

    loader = MigrationLoader(None)
    plan: list[tuple[str, str]] = []
    for node in sorted(loader.graph.leaf_nodes()):
        plan += [key for key in loader.graph.forwards_plan(node) if key not in plan]
    heads = "".join(f"{HEAD}{app}.{name}\n" for app, name in plan)
    FILE.write_text(f"-- Made by `make schema`: what these migrations come to.\n{heads}\n{from_every_migration()}")


if __name__ == "__main__":
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    if len(sys.argv) > 1:
        migrate(*sys.argv[1:])
    else:
        write()
