"""An archive back into an empty firm: all of it in one transaction, or nothing.

1. The archive is read through (`reading.py`): whoever edited a line is told which.
2. Its files go into the storage, where more files harm nothing.
3. In one transaction each table is filled by COPY; the database checks every row by its own rules, and the supplies of each site.
4. Still in it each table is read back and must come to the fingerprint of the archive; the ledger must hold, to its heads.
5. What waited to be sent is left for a person to decide: the firm that the archive is of may send it, too.
"""

import hashlib
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any
from uuid import UUID

import psycopg
from django.core.files.base import File
from django.core.files.storage import default_storage
from django.core.management.color import no_style
from django.db import DatabaseError, connection, transaction
from psycopg import sql

from jobsite.ledger.files import path_of
from jobsite.ledger.models import StoredFile
from jobsite.ledger.queries import faults
from jobsite.ledger.rules import Head
from jobsite.refused import Refused
from jobsite.running import operations
from jobsite.running.backing_up import secret_told
from remedials.desk.bulk.kinds import Kind
from remedials.desk.bulk.reading import Archive, check_version, look_over, opened
from remedials.desk.bulk.rows import WrongLine, cells, filled_in, lines
from remedials.desk.bulk.writing import FILES, PIECE, TABLES, Manifest

Tell = Callable[[str], None]
NOT_EMPTY = (
    "This installation holds data already ({found}): an archive goes into an empty one only. Start one with a database of its "
    "own, run manage.py migrate, and bring the archive in there."
)
ADDED_LATER = ("quotes_line", "quotes_lineremedial")
"""Tables whose triggers let nothing be added to a quote that was sent: here it comes as it was sent."""
LINE = re.compile(r"^COPY \w+, line (\d+)", re.MULTILINE)
KEY = re.compile(r"^Key \((\w+)\)=\((.*?)\)")


@dataclass
class BroughtIn:
    """What came of it."""

    manifest: Manifest
    fingerprint: str
    in_doubt: int = 0
    other_secret: bool = False


def bring_in(path: Path, *, nothing_sent_since: bool, now: datetime, tell: Tell) -> BroughtIn:
    """Fill an empty firm from the archive at `path`. Raises Refused with the place of what is wrong; nothing was changed then.

    `nothing_sent_since`: what waited to be sent still waits, for the firm it came from sends nothing any more.
    """
    with opened(path) as archive:
        check_version(archive.manifest)  # first: tables that are not there yet cannot be asked whether they are empty
        must_be_empty()
        tell("Reading the whole archive first …")
        look_over(archive)
        tell(f"Bringing in {archive.manifest.rows:,} rows and {archive.manifest.files:,} files …")
        _put_files(archive)
        with transaction.atomic(durable=True):
            must_be_empty(alone=True)
            _fill(archive)
            tell("Comparing with the archive …")
            _compare(archive)
            done = BroughtIn(archive.manifest, archive.fingerprint)
            done.other_secret = archive.manifest.secret != secret_told()
            taken_at = datetime.fromisoformat(archive.manifest.made_at)
            if not nothing_sent_since:
                done.in_doubt = operations.leave_to_decide(taken_at=taken_at, now=now)
            operations.note_restored(taken_at=taken_at, now=now)
    return done


def must_be_empty(*, alone: bool = False) -> None:
    """Raises Refused where anybody entered anything. `alone`: until the end of the transaction nobody else can begin to."""
    from remedials.desk.bulk.kinds import kinds

    found = []
    with connection.cursor() as cursor:
        if alone:
            cursor.execute("LOCK TABLE firm_firm, people_user, ledger_chain IN SHARE ROW EXCLUSIVE MODE")
        for kind in kinds(secrets=True):
            cursor.execute(sql.SQL("SELECT EXISTS (SELECT FROM {})").format(sql.Identifier(kind.table)).as_string())
            if cursor.fetchone()[0]:
                found.append(kind.sheet.lower())
    if found:
        raise Refused(NOT_EMPTY.format(found=f"{', '.join(found[:3])}{' …' if len(found) > 3 else ''}"))


def _put_files(archive: Archive) -> None:
    """Where a file of that content is there already, it stays."""
    for name in archive.zip.namelist():
        if name.startswith(FILES):
            path = path_of(name.removeprefix(FILES))
            if default_storage.exists(path):
                if _fingerprint_of_file(path) == name.removeprefix(FILES):
                    continue
                default_storage.delete(path)
            with archive.zip.open(name) as file:
                default_storage.save(path, File(file, name))


def _fingerprint_of_file(path: str) -> str:
    digest = hashlib.sha256()
    with default_storage.open(path) as file:
        while piece := file.read(PIECE):
            digest.update(piece)
    return digest.hexdigest()


# --- rows -------------------------------------------------------------------------------------------------------------


def _fill(archive: Archive) -> None:
    with _whatever_was_sent():
        for kind in archive.kinds():
            with _place_named(archive, kind):
                _copy(archive, kind)
        with _place_named(archive, None), connection.cursor() as cursor:
            cursor.execute("SET CONSTRAINTS ALL IMMEDIATE")
    models = [kind.model for kind in archive.kinds()]
    with connection.cursor() as cursor:
        for statement in connection.ops.sequence_reset_sql(no_style(), models):
            cursor.execute(statement)


@contextmanager
def _whatever_was_sent() -> Iterator[None]:
    with connection.cursor() as cursor:
        for table in ADDED_LATER:
            cursor.execute(sql.SQL("ALTER TABLE {} DISABLE TRIGGER USER").format(sql.Identifier(table)).as_string())
        yield
        for table in ADDED_LATER:
            cursor.execute(sql.SQL("ALTER TABLE {} ENABLE TRIGGER USER").format(sql.Identifier(table)).as_string())


def _copy(archive: Archive, kind: Kind) -> None:
    secret = filled_in(kind)
    columns = [field.column for field in kind.fields] + list(secret)
    statement = sql.SQL("COPY {} ({}) FROM STDIN").format(
        sql.Identifier(kind.table), sql.SQL(", ").join([sql.Identifier(str(name)) for name in columns])
    )
    with connection.cursor() as cursor, cursor.copy(statement) as copy:
        for number, line in enumerate(archive.lines(kind), start=1):
            try:
                row = cells(kind, line)
            except WrongLine as wrong:
                raise Refused(f"{TABLES}{kind.table}.jsonl, line {number}: {wrong}.") from None
            copy.write_row([*row, *(make() for make in secret.values())])


@contextmanager
def _place_named(archive: Archive, kind: Kind | None) -> Iterator[None]:
    """What the database refuses is told by its line."""
    try:
        yield
    except (DatabaseError, psycopg.Error) as error:
        cause: Any = error if isinstance(error, psycopg.Error) else error.__cause__
        raise Refused(_place(archive, kind, cause)) from error


def _place(archive: Archive, kind: Kind | None, error: psycopg.Error) -> str:
    said = error.diag
    why = f"the database refuses it: {said.message_primary or error}"
    if kind and (found := LINE.search(said.context or "")):
        return f"{TABLES}{kind.table}.jsonl, line {found[1]}: {why}."
    named = next((one for one in archive.kinds() if one.table == said.table_name), kind)
    if named is None:
        return f"The rows do not fit together: {said.message_primary or error}."
    number = _line_of(archive, named, said.message_detail or "")
    return f"{TABLES}{named.table}.jsonl{f', line {number}' if number else ''}: {why}."


def _line_of(archive: Archive, kind: Kind, detail: str) -> int | None:
    """The first line with the key of which the database says that it fits nothing."""
    if found := KEY.match(detail):
        for number, line in enumerate(archive.lines(kind), start=1):
            row = dict(zip((field.column for field in kind.fields), cells(kind, line), strict=True))
            if str(row.get(found[1])) == found[2]:
                return number
    return None


# --- what was brought in ----------------------------------------------------------------------------------------------


def _compare(archive: Archive) -> None:
    """Each table, read back, must be what the archive holds, byte for byte; the ledger must hold, and each file be named."""
    manifest = archive.manifest
    for kind in archive.kinds():
        digest = hashlib.sha256()
        for line in lines(kind):
            digest.update(f"{line}\n".encode())
        if digest.hexdigest() != manifest.tables[kind.table].sha256:
            raise Refused(f"{TABLES}{kind.table}.jsonl: its rows are other ones once they are here.")
    kept = [Head(UUID(chain), number, told) for chain, number, told in manifest.heads]
    if wrong := next(faults(kept), None):
        raise Refused(f"The ledger in the archive does not hold: {wrong}")
    held = {name.removeprefix(FILES) for name in archive.zip.namelist() if name.startswith(FILES)} | set(
        manifest.missing
    )
    for name in StoredFile.objects.values_list("pk", flat=True).iterator():
        if name not in held:
            raise Refused(f"{FILES}{name} is missing: a row names it.")
