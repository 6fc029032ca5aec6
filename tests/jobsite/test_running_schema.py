"""The tables of an empty database, laid down at once: they are what every migration in turn makes."""

import difflib

import pytest
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader

from jobsite.running import schema
from tests.schema import from_every_migration, from_the_file

pytestmark = pytest.mark.django_db


def test_it_comes_to_what_every_migration_in_turn_makes() -> None:
    """Migrations that are later than the file run after it."""
    laid, turn = from_the_file(), from_every_migration()
    apart = list(difflib.unified_diff(turn.splitlines(), laid.splitlines(), "in turn", "laid down", lineterm="", n=0))
    assert "\n".join(apart) == ""
    call_command("migrate", check=True, verbosity=0)


def test_every_migration_that_it_names_is_there() -> None:
    there = set(MigrationLoader(None).graph.nodes)
    assert set(schema.migrations_of(schema.FILE.read_text())) <= there


def test_a_database_with_tables_is_left_as_it_is() -> None:
    assert schema.lay_down(connection) is False


def test_the_session_keeps_its_settings() -> None:
    """The file sets an empty search path, in which no table of ours would be found; and Django set a time zone before it."""
    with connection.cursor() as cursor:
        cursor.execute("SET LOCAL TIME ZONE 'Asia/Tokyo'")
        before = [shown(cursor, name) for name in ("search_path", "TimeZone", "row_security")]
        cursor.execute("DROP SCHEMA public CASCADE")
        cursor.execute("CREATE SCHEMA public")
        assert schema.lay_down(connection) is True
        assert [shown(cursor, name) for name in ("search_path", "TimeZone", "row_security")] == before
        cursor.execute("SELECT count(*) FROM premises_site")
        assert cursor.fetchone() == (0,)


def shown(cursor, name: str) -> str:
    cursor.execute(f"SHOW {name}")
    return cursor.fetchone()[0]
