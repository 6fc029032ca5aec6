"""One archive of everything that the firm has: the database as of one instant, and each file that it names.

A tar file in a `sealed.Writer`: `about.json` (what is in it), `database/NNN` (pg_dump's custom format in pieces), `files/HASH`,
`end.json` (what could not be read). Database, counts, heads of the ledger and list of files are of one snapshot; files never
change, so those may be read while people go on working.
"""

import hashlib
import io
import json
import os
import subprocess
import tarfile
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from datetime import datetime
from pathlib import Path
from typing import IO, Any, cast

from django.core.files.storage import default_storage
from django.db import connection, transaction
from django.db.migrations.recorder import MigrationRecorder
from django.utils.crypto import salted_hmac
from psycopg import sql

from jobsite.ledger.files import path_of
from jobsite.ledger.models import StoredFile
from jobsite.ledger.queries import heads
from jobsite.running.programs import program, server_major, where
from jobsite.running.sealed import Writer

ABOUT, END, DATABASE, FILES = "about.json", "end.json", "database/", "files/"
PIECE = 4 << 20
# A session that was ended since would be alive again; what the cache holds is worked out anew.
WITHOUT_ROWS = ("cache", "django_session", "usersessions_usersession")


class CannotBackUp(RuntimeError):
    """No archive was made; the text says why."""


@dataclass
class About:
    """What an archive says of itself, before anything else in it."""

    made_at: str  # ISO 8601, UTC
    postgres: int  # major version
    migrations: list[str]  # "app.name", sorted
    tables: dict[str, int]  # rows by table, of those that are kept
    heads: list[tuple[str, int, str]]  # of the ledger: chain, number, hash
    files: int
    bytes: int
    secret: str  # tells whether SECRET_KEY is the same, and nothing of it


@dataclass
class Made:
    """What came of it."""

    about: About
    size: int = 0
    missing: list[str] = field(default_factory=list)  # files that the storage lost or altered, by hash


def back_up(path: Path, *, key: str, now: datetime) -> Made:
    """Write an archive to `path`, encrypted where `key` is given; there is none before it is whole. Raises CannotBackUp."""
    half = path.with_name(f"{path.name}.half")
    path.parent.mkdir(parents=True, exist_ok=True)
    handle = os.open(half, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600)
    try:
        with os.fdopen(handle, "wb") as file:
            writer = Writer(file, key)
            made = _write(writer, now=now)
            writer.finish()
            file.flush()
            os.fsync(file.fileno())
        half.rename(path)
    except BaseException:
        half.unlink(missing_ok=True)
        raise
    made.size = path.stat().st_size
    return made


def _write(writer: Writer, *, now: datetime) -> Made:
    to: Any = writer
    with _snapshot() as name, tarfile.open(mode="w|", fileobj=to, format=tarfile.PAX_FORMAT, bufsize=1 << 18) as tar:
        about = _about(now)
        _put(tar, ABOUT, json.dumps(asdict(about)).encode(), now)
        for number, piece in enumerate(_dumped(name)):
            _put(tar, f"{DATABASE}{number:08}", piece, now)
        missing = [row.hash for row in StoredFile.objects.order_by("pk").iterator() if not _put_file(tar, row, now)]
        _put(tar, END, json.dumps({"missing": missing}).encode(), now)
    return Made(about, missing=missing)


@contextmanager
def _snapshot() -> Iterator[str]:
    """All that is read in the block is of one instant, also by another process that is told the name."""
    connection.close()
    with transaction.atomic(durable=True), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
        cursor.execute("SELECT pg_export_snapshot()")
        yield cursor.fetchone()[0]


def _about(now: datetime) -> About:
    rows = StoredFile.objects.values_list("size", flat=True)
    return About(
        made_at=now.isoformat(),
        postgres=server_major(),
        migrations=applied(),
        tables=counted(),
        heads=[(str(head.chain), head.number, head.hash) for head in heads()],
        files=rows.count(),
        bytes=sum(rows.iterator()),
        secret=secret_told(),
    )


def applied() -> list[str]:
    """The migrations that made the tables as they are."""
    return sorted(f"{app}.{name}" for app, name in MigrationRecorder(connection).applied_migrations())


def counted() -> dict[str, int]:
    """How many rows each table holds, but for those whose rows are not kept."""
    with connection.cursor() as cursor:
        cursor.execute("SELECT tablename FROM pg_tables WHERE schemaname = 'public' ORDER BY tablename")
        names = [name for (name,) in cursor.fetchall() if name not in WITHOUT_ROWS]
        found = {}
        for name in names:
            cursor.execute(sql.SQL("SELECT count(*) FROM {}").format(sql.Identifier(name)))
            found[name] = cursor.fetchone()[0]
    return found


def secret_told() -> str:
    """The same for the same SECRET_KEY: what was sealed with another (alarm codes) does not open."""
    return salted_hmac("jobsite.running.backing_up", "", algorithm="sha256").hexdigest()[:16]


def _dumped(snapshot: str) -> Iterator[bytes]:
    """The database as pg_dump gives it, in pieces."""
    to, environment = where()
    options = ["--format=custom", "--compress=3", "--no-owner", "--no-privileges", f"--snapshot={snapshot}"]
    without = [f"--exclude-table-data={name}" for name in WITHOUT_ROWS]
    command = [program("pg_dump"), *options, *without, "--dbname", to]
    with tempfile.TemporaryFile() as said:
        dump = subprocess.Popen(command, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=said, env=environment)
        stream = cast(IO[bytes], dump.stdout)
        try:
            while piece := stream.read(PIECE):
                yield piece
            if dump.wait():
                said.seek(0)
                raise CannotBackUp(f"pg_dump failed: {said.read().decode(errors='replace').strip()[-1000:]}")
        finally:
            dump.kill()
            dump.wait()
            stream.close()


def _put_file(tar: tarfile.TarFile, row: StoredFile, now: datetime) -> bool:
    """Whether the file of `row` was there as it was stored, and so is in the archive."""
    try:
        with default_storage.open(path_of(row.hash)) as file:
            data: bytes = file.read()
    except OSError:
        return False
    if hashlib.sha256(data).hexdigest() != row.hash:
        return False
    _put(tar, f"{FILES}{row.hash}", data, now)
    return True


def _put(tar: tarfile.TarFile, name: str, data: bytes, now: datetime) -> None:
    member = tarfile.TarInfo(name)
    member.size, member.mtime, member.mode = len(data), int(now.timestamp()), 0o600
    tar.addfile(member, io.BytesIO(data))


def read_about(data: bytes) -> About:
    """What stands in `about.json`. Raises ValueError, KeyError or TypeError where it is none."""
    found: dict[str, Any] = json.loads(data)
    about = About(**found)
    about.heads = [(str(chain), int(number), str(told)) for chain, number, told in about.heads]
    return about


def opened(path: Path) -> IO[bytes]:
    """The archive at `path` for reading."""
    return open(path, "rb", buffering=1 << 20)
