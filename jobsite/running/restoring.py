"""The firm's data back from one archive, into a database that takes the place of the present one only when all of it is right.

1. The whole archive is read once: the key is right, nothing is missing or altered, each file is what its name says.
2. It is restored into a new database beside the present one, its files into the storage, where more files harm nothing.
3. There every count, every chain of the ledger and every file is checked; migrations that came later are run.
4. What waited to be sent is left for a person to decide: it may have been sent after the archive was made.
5. The new database takes the name of the former in one transaction; a former with data is kept under another name.

Whatever fails before the last step changes nothing but files that nothing names.
"""

import hashlib
import json
import subprocess
import tarfile
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from typing import IO, Any, cast
from uuid import UUID

import psycopg
from django.core.files.storage import default_storage
from django.core.management import call_command
from django.db import connection
from django.db.migrations.loader import MigrationLoader
from psycopg import sql

from jobsite.ledger.files import keep_content, path_of
from jobsite.ledger.models import StoredFile
from jobsite.ledger.queries import faults
from jobsite.ledger.rules import Head
from jobsite.running import operations
from jobsite.running.backing_up import (
    ABOUT,
    DATABASE,
    END,
    FILES,
    About,
    applied,
    counted,
    opened,
    read_about,
    secret_told,
)
from jobsite.running.programs import program, where
from jobsite.running.sealed import ALTERED, NotWhole, Reader

# Rows that a new installation has before anybody entered anything.
FROM_THE_START = {"django_migrations", "django_content_type", "auth_permission", "firm_heartbeat", "cache"}
TRIES = 50  # at taking the name, each a tenth of a second
Tell = Callable[[str], None]


class CannotRestore(RuntimeError):
    """Nothing was changed; the text says why."""


@dataclass
class Restored:
    """What came of it."""

    about: About
    missing: list[str]  # files that were missing already when the archive was made
    kept_as: str = ""  # the former database, where it held data
    in_doubt: int = 0  # messages left for a person to decide
    other_secret: bool = False
    migrated: list[str] = field(default_factory=list)


def look_over(path: Path, *, key: str) -> tuple[About, list[str]]:
    """What the archive holds and which files were missing when it was made, once all of it was read.

    Raises NotWhole for a wrong key, and for an archive that is cut, damaged or altered.
    """
    about, end, files, dumped = None, None, 0, 0
    for name, file in _members(path, key):
        data = file.read()
        if name == ABOUT:
            about = read_about(data)
        elif name == END:
            end = json.loads(data)["missing"]
        elif name.startswith(FILES):
            files += 1
            if hashlib.sha256(data).hexdigest() != name.removeprefix(FILES):
                raise NotWhole(f"{ALTERED}: the file {name.removeprefix(FILES)[:12]} in it is another.")
        elif name.startswith(DATABASE):
            dumped += len(data)
    if about is None or end is None or not dumped or files + len(end) != about.files:
        raise NotWhole(f"{ALTERED}: it does not hold what it says that it holds.")
    return about, end


def restore(path: Path, *, key: str, over: bool, nothing_sent_since: bool, now: datetime, tell: Tell) -> Restored:
    """Put the archive in place of the database in use. Raises NotWhole or CannotRestore, and then nothing was changed.

    `over`: also where that database holds data; it is kept under another name.
    `nothing_sent_since`: what waited to be sent still waits, for the service was stopped before the archive was made.
    """
    target = connection.settings_dict["NAME"]
    with _server(target) as server:
        there = _is_there(server, target)
        filled = filled_tables() if there else []
        if filled and not over:
            raise CannotRestore(
                f"The database {target} holds data already ({', '.join(filled[:3])}…). With --over it is kept under another "
                f"name and the archive takes its place."
            )
        tell("Reading the whole archive first …")
        about, missing = look_over(path, key=key)
        _check_versions(about, server.info.server_version // 10_000)
        scratch = _make_scratch(server, target)
        try:
            tell(f"Restoring {sum(about.tables.values()):,} rows and {about.files:,} files …")
            with _database(scratch):
                _fill(path, key, scratch)
                tell("Checking counts, the ledger and every file …")
                _check(about, missing)
                result = Restored(about, missing, other_secret=secret_told() != about.secret)
                result.migrated = _migrate()
                taken_at = datetime.fromisoformat(about.made_at)
                if not nothing_sent_since:
                    result.in_doubt = operations.leave_to_decide(taken_at=taken_at, now=now)
                operations.note_restored(taken_at=taken_at, now=now)
            connection.close()
            result.kept_as = _take_place(server, scratch, target, there=there, keep=bool(filled), now=now)
        except BaseException:
            _drop(server, scratch)
            raise
    return result


def filled_tables() -> list[str]:
    """Tables of the database in use that hold what somebody entered."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public' ORDER BY tablename")
        names = [name for (name,) in cursor.fetchall() if name not in FROM_THE_START]
        found = []
        for name in names:
            cursor.execute(sql.SQL("SELECT EXISTS (SELECT FROM {})").format(sql.Identifier(name)))
            if cursor.fetchone()[0]:
                found.append(name)
    return found


# --- the archive ------------------------------------------------------------------------------------------------------


def _members(path: Path, key: str) -> Iterator[tuple[str, IO[bytes]]]:
    """Each file in the archive, in order; at the end it is known that nothing was cut or altered."""
    try:
        with opened(path) as file:
            reader: Any = Reader(file, key)
            with tarfile.open(mode="r|", fileobj=reader, bufsize=1 << 18) as tar:
                for member in tar:
                    content = tar.extractfile(member)
                    if content is None:
                        raise NotWhole(f"{ALTERED}: {member.name} in it is no file.")
                    yield member.name, content
            reader.drain()
    except OSError as error:
        raise NotWhole(f"{path} cannot be read: {error.strerror or error}.") from None
    except (tarfile.TarError, ValueError, KeyError, TypeError, EOFError) as error:
        raise NotWhole(f"{ALTERED}: {error}.") from None


def _check_versions(about: About, postgres: int) -> None:
    known = {f"{app}.{name}" for app, name in MigrationLoader(None, ignore_no_migrations=True).disk_migrations}
    if unknown := sorted(set(about.migrations) - known):
        raise CannotRestore(
            f"This archive was made by another version of the program, which knows {unknown[0]}: install that version or a "
            f"later one first."
        )
    if about.postgres > postgres:
        raise CannotRestore(f"This archive is of PostgreSQL {about.postgres}, and this server is older.")


def _fill(path: Path, key: str, scratch: str) -> None:
    with _pg_restore(scratch) as feed:
        for name, file in _members(path, key):
            if name.startswith(DATABASE):
                feed(file.read())
            elif name.startswith(FILES):
                _put_file(name.removeprefix(FILES), file.read())


def _put_file(content_hash: str, data: bytes) -> None:
    """Where a file of that name is there already it must be the same."""
    path = path_of(content_hash)
    if default_storage.exists(path):
        with default_storage.open(path) as there:
            if hashlib.sha256(there.read()).hexdigest() == content_hash:
                return
        default_storage.delete(path)
    keep_content(path, data)


@contextmanager
def _pg_restore(scratch: str) -> Iterator[Callable[[bytes], None]]:
    to, environment = where(scratch)
    options = ["--exit-on-error", "--single-transaction", "--no-owner", "--no-privileges"]
    command = [program("pg_restore"), *options, "--dbname", to]
    with tempfile.TemporaryFile() as said:
        done = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=said, stderr=said, env=environment)
        stream = cast(IO[bytes], done.stdin)

        def told() -> str:
            said.seek(0)
            return said.read().decode(errors="replace").strip()[-1000:]

        def feed(piece: bytes) -> None:
            try:
                stream.write(piece)
            except BrokenPipeError:
                done.wait()
                raise CannotRestore(f"pg_restore failed: {told()}") from None

        try:
            yield feed
            stream.close()
            if done.wait():
                raise CannotRestore(f"pg_restore failed: {told()}")
        finally:
            done.kill()
            done.wait()


# --- what was restored ------------------------------------------------------------------------------------------------


def _check(about: About, missing: list[str]) -> None:
    if applied() != about.migrations or (now := counted()) != about.tables:
        other = [name for name, rows in about.tables.items() if now.get(name) != rows] if applied() else []
        raise CannotRestore(f"Not all rows were restored: {', '.join(other) or 'other migrations'}.")
    kept = [Head(UUID(chain), number, told) for chain, number, told in about.heads]
    if wrong := list(faults(kept)):
        raise CannotRestore(f"The ledger in the archive does not hold: {wrong[0]} ({len(wrong)} faults)")
    lost = [row for row in StoredFile.objects.exclude(pk__in=missing).iterator() if not _same(row)]
    if lost:
        raise CannotRestore(f"{len(lost)} files are not what the database says, such as {lost[0].hash[:12]}.")


def _same(row: StoredFile) -> bool:
    try:
        with default_storage.open(path_of(row.hash)) as file:
            return hashlib.sha256(file.read()).hexdigest() == row.hash
    except OSError:
        return False


def _migrate() -> list[str]:
    before = set(applied())
    call_command("migrate", verbosity=0, interactive=False)
    return sorted(set(applied()) - before)


# --- databases --------------------------------------------------------------------------------------------------------


@contextmanager
def _server(target: str) -> Iterator[psycopg.Connection[Any]]:
    """A connection to another database of the server; one restore at a time."""
    to, environment = where("template1" if target == "postgres" else "postgres")
    password = environment.get("PGPASSWORD", "")
    with psycopg.connect(to, password=password or None, autocommit=True) as server:
        if not server.execute("SELECT pg_try_advisory_lock(hashtext('jobsite restore'))").fetchone()[0]:  # type: ignore[index]
            raise CannotRestore("Another restore is at work on this server.")
        yield server


def _is_there(server: psycopg.Connection[Any], name: str) -> bool:
    return server.execute("SELECT FROM pg_database WHERE datname = %s", [name]).fetchone() is not None


def _make_scratch(server: psycopg.Connection[Any], target: str) -> str:
    scratch = f"{target[:50]}_restoring"
    _drop(server, scratch)  # of one that was broken off
    try:
        server.execute(sql.SQL("CREATE DATABASE {} TEMPLATE template0").format(sql.Identifier(scratch)))
    except psycopg.errors.InsufficientPrivilege:
        raise CannotRestore(
            "The user of the database may make no new one, which restoring needs: ALTER ROLE … CREATEDB."
        ) from None
    return scratch


def _drop(server: psycopg.Connection[Any], name: str) -> None:
    connection.close()
    server.execute(sql.SQL("DROP DATABASE IF EXISTS {} WITH (FORCE)").format(sql.Identifier(name)))


@contextmanager
def _database(name: str) -> Iterator[None]:
    """This process' connection is to the database `name` as long as the block lasts."""
    connection.close()
    before = connection.settings_dict["NAME"]
    connection.settings_dict["NAME"] = name
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = before


def _take_place(
    server: psycopg.Connection[Any], scratch: str, target: str, *, there: bool, keep: bool, now: datetime
) -> str:
    """Give the restored database the name of the one in use; returns the name of the former where it is kept."""
    aside = f"{target[:40]}_before_{now:%Y%m%d%H%M%S}"
    rename = sql.SQL("ALTER DATABASE {} RENAME TO {}")
    for attempt in range(TRIES):
        server.execute(
            "SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = ANY(%s) AND pid <> pg_backend_pid()",
            [[target, scratch]],
        )
        try:
            with server.transaction():
                if there:
                    server.execute(rename.format(sql.Identifier(target), sql.Identifier(aside)))
                server.execute(rename.format(sql.Identifier(scratch), sql.Identifier(target)))
            break
        except psycopg.errors.ObjectInUse:  # somebody came between
            if attempt == TRIES - 1:
                raise CannotRestore("The database is in use: stop web, worker and beat, then restore again.") from None
            time.sleep(0.1)
    if there and not keep:
        _drop(server, aside)
    return aside if there and keep else ""
