"""`manage.py check_migrations`: whether the migrations may run beside a running service."""

from argparse import ArgumentParser
from collections.abc import Iterator
from pathlib import Path

from django.apps import apps
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.db.migrations import Migration
from django.db.migrations.loader import MigrationLoader

from jobsite.running.rules import faults_of

# Those that were there when the first service was started: they run on empty tables only.
FROM_THE_START = Path(__file__).resolve().parents[2] / "migrations_from_the_start.txt"
REASON = "safe_because"
ROOTS = {"jobsite", "inspections", "remedials"}


class Command(BaseCommand):
    help = (
        f"Look over the SQL of every migration that came after the first service was started. One that must do what is refused "
        f"here says why in its attribute {REASON}."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--start", action="store_true", help="take those that are there now as there from the start"
        )

    def handle(self, *args: object, start: bool, **options: object) -> None:
        loader = MigrationLoader(connection, replace_migrations=False)
        ours = {key: one for key, one in loader.disk_migrations.items() if _is_ours(key[0])}
        if start:
            FROM_THE_START.write_text("".join(f"{app}.{name}\n" for app, name in sorted(ours)))
            return
        before = set(FROM_THE_START.read_text().split())
        later = {key: one for key, one in ours.items() if ".".join(key) not in before}
        found = [fault for key in sorted(later) for fault in faults(loader, later[key])]
        for fault in found:
            self.stderr.write(fault)
        if found:
            raise CommandError(f"Not safe beside a running service: {len(found)} of the above.")
        self.stdout.write(f"{len(later)} migrations looked over, {len(before)} from the start.")


def _is_ours(app: str) -> bool:
    return apps.get_app_config(app).name.partition(".")[0] in ROOTS


def faults(loader: MigrationLoader, migration: Migration) -> Iterator[str]:
    """What is wrong with one migration, unless it says why it is safe."""
    if getattr(migration, REASON, ""):
        return
    for fault in faults_of(statements_of(loader, migration)):
        yield f"{migration.app_label}.{migration.name}: {fault}"


def statements_of(loader: MigrationLoader, migration: Migration) -> list[str]:
    """The SQL of `migration`, as `sqlmigrate` prints it, a statement each without its remarks."""
    plan = [(loader.graph.nodes[migration.app_label, migration.name], False)]
    written = "\n".join(line for line in loader.collect_sql(plan) if not line.startswith("--"))
    return [" ".join(one.split()) for one in written.split(";") if one.strip()]
