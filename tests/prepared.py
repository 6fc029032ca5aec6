"""A database in which every migration has run, kept on the server: each process of each run of tests copies it.

Its name says which migrations those are: another set of them, or a changed one, is another database.
"""

import hashlib
import os
import subprocess
import sys
from pathlib import Path

import django
from django.apps import apps
from django.conf import settings
from django.db import connection

from tests.readme import TOP

BEGINS = "tests_prepared_"
KEPT = 3  # so many sets of migrations, for whoever goes to and fro between branches
LOCK = 20_260_125  # any number: whoever looks for the database, or makes it, holds it


def template() -> str:
    """The name of the prepared database, which is made where it is not there yet."""
    name = f"{BEGINS}{fingerprint()}"
    with connection._nodb_cursor() as server:
        server.execute("SELECT pg_advisory_lock(%s)", [LOCK])
        server.execute("SELECT datname FROM pg_database WHERE datname LIKE %s ORDER BY oid DESC", [f"{BEGINS}%"])
        there = [row[0] for row in server.fetchall()]
        if name not in there:
            for outdated in there[KEPT - 1 :]:
                server.execute(f'DROP DATABASE "{outdated}" WITH (FORCE)')
            _make(server, name)
    return name


def fingerprint() -> str:
    """Of all that decides what the migrations make: their text and SQL, those of the libraries, Django's version."""
    told = hashlib.sha256(django.__version__.encode())
    for app in sorted(apps.get_app_configs(), key=lambda app: app.label):
        folder = Path(app.path)
        for path in sorted([*folder.glob("migrations/*.py"), *folder.glob("sql/*.sql")]):
            told.update(f"{app.label} {path.relative_to(folder)} {path.stat().st_size}\n".encode())
            told.update(path.read_bytes())
    return told.hexdigest()[:16]


def _make(server, name: str) -> None:
    """Under another name until it is whole: a run that was stopped half-way leaves nothing that looks finished."""
    half = "tests_half_prepared"
    server.execute(f'DROP DATABASE IF EXISTS "{half}" WITH (FORCE)')
    server.execute(f'CREATE DATABASE "{half}"')
    command = [sys.executable, "-m", "tests.prepared", half]
    made = subprocess.run(command, cwd=TOP, stdin=subprocess.DEVNULL, capture_output=True, text=True)
    if made.returncode:
        raise RuntimeError(f"The migrations failed:\n{made.stderr}")
    server.execute(f'ALTER DATABASE "{half}" ALLOW_CONNECTIONS false')  # a database in use cannot be copied
    server.execute(f'ALTER DATABASE "{half}" RENAME TO "{name}"')


def migrate(name: str) -> None:
    """What a process of its own does in the new database."""
    from django.core.management import call_command

    settings.DATABASES["default"]["NAME"] = name
    django.setup()
    call_command("migrate", verbosity=0)


if __name__ == "__main__":
    os.environ["DJANGO_SETTINGS_MODULE"] = "tests.settings"
    migrate(sys.argv[1])
