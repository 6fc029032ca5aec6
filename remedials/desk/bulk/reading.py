"""Reads an archive through before anything of it is believed: all is there, nothing was edited, or the place is named."""

import hashlib
import json
import zlib
from collections.abc import Generator, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import IO, Any
from zipfile import BadZipFile, ZipFile

from django.db.migrations.loader import MigrationLoader

from jobsite.refused import Refused
from jobsite.running.backing_up import applied
from remedials.desk.bulk.kinds import Kind, kinds
from remedials.desk.bulk.writing import FILES, FORMAT, LINES, MANIFEST, PIECE, TABLES, Manifest, Table, line_fingerprint

LONGEST = 64 << 20
"""Bytes of a line: what is longer is no row of ours, and would only fill memory."""
NO_ARCHIVE = "This is no archive of manage.py take_out"


@dataclass
class Archive:
    """An archive that was opened, and what it says of itself."""

    zip: ZipFile
    manifest: Manifest
    fingerprint: str

    def lines(self, kind: Kind) -> Iterator[bytes]:
        """Each line of a table, with its end."""
        yield from _lines(self.zip, f"{TABLES}{kind.table}.jsonl")

    def kinds(self) -> list[Kind]:
        """The kinds of row that it holds."""
        return list(kinds(secrets=self.manifest.secrets))


@contextmanager
def opened(path: Path) -> Iterator[Archive]:
    """The archive at `path`. Raises Refused for one that cannot be read, is none of ours, or is of another version."""
    try:
        with ZipFile(path) as archive:
            yield _archive(archive)
    except FileNotFoundError:
        raise Refused(f"There is no file {path}.") from None
    except OSError as error:
        raise Refused(f"{path} cannot be read: {error.strerror or error}.") from None
    except (BadZipFile, zlib.error, EOFError) as error:
        raise Refused(f"{NO_ARCHIVE}, or it is cut or damaged: {error}.") from None


def _archive(archive: ZipFile) -> Archive:
    try:
        data = archive.read(MANIFEST)
        found: dict[str, Any] = json.loads(data)
    except (KeyError, ValueError):
        raise Refused(f"{NO_ARCHIVE}: it has no {MANIFEST} that can be read.") from None
    if found.get("format") != FORMAT:
        raise Refused(_other_format(found.get("format")))
    try:
        manifest = Manifest(**found)
        manifest.tables = {name: Table(**table) for name, table in found["tables"].items()}
        manifest.heads = [(str(chain), int(number), str(told)) for chain, number, told in manifest.heads]
        datetime.fromisoformat(manifest.made_at)
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise Refused(f"{MANIFEST} is not as it was written: {error}.") from None
    return Archive(archive, manifest, hashlib.sha256(data).hexdigest())


def _other_format(found: object) -> str:
    if isinstance(found, int) and found > FORMAT:
        return f"This archive is of format {found}, and this program reads {FORMAT}: install a later version of the program."
    return f"{MANIFEST} does not say that the archive is of format {FORMAT}, which this program reads."


def check_version(manifest: Manifest) -> None:
    """Raises Refused for an archive of another version of the tables, with what to do."""
    ours, theirs = applied(), manifest.migrations
    if later := sorted(set(theirs) - {f"{app}.{name}" for app, name in MigrationLoader(None).disk_migrations}):
        raise Refused(
            f"This archive was made by a later version of the program, which knows {later[0]}: install that version first."
        )
    if earlier := sorted(set(ours) - set(theirs)):
        raise Refused(
            f"This archive was made by an earlier version of the program, before {earlier[0]}: bring it into an installation "
            f"of that version, and install this one over it, which brings the rows up to date."
        )
    if sorted(theirs) != ours:
        raise Refused("The tables of this database are not up to date: run manage.py migrate first.")


def look_over(archive: Archive) -> None:
    """Read all of the archive once. Raises Refused with the place of what was edited, is missing, or is there besides."""
    manifest, held = archive.manifest, archive.kinds()
    _same_tables(manifest, held)
    for kind in held:
        _look_over_table(archive, kind, manifest.tables[kind.table])
    names = [name.removeprefix(FILES) for name in archive.zip.namelist() if name.startswith(FILES)]
    if len(names) != manifest.files or len(set(names)) != len(names):
        raise Refused(f"{MANIFEST} says that there are {manifest.files} files, and there are {len(set(names))}.")
    for name in names:
        with _member(archive.zip, f"{FILES}{name}") as file:
            digest = hashlib.sha256()
            while piece := file.read(PIECE):
                digest.update(piece)
        if digest.hexdigest() != name:
            raise Refused(f"{FILES}{name}: this is another file than the one that was taken out.")


def _same_tables(manifest: Manifest, held: list[Kind]) -> None:
    ours = {kind.table: [field.column for field in kind.fields] for kind in held}
    theirs = {name: list(table.columns) for name, table in manifest.tables.items()}
    for name in sorted(set(ours) | set(theirs)):
        if ours.get(name) != theirs.get(name):
            raise Refused(f"{MANIFEST}: the table {name} is not one of this program, or has other columns.")


def _look_over_table(archive: Archive, kind: Kind, told: Table) -> None:
    """Line by line beside the fingerprints, which are proved by the manifest."""
    place, beside = f"{TABLES}{kind.table}.jsonl", f"{LINES}{kind.table}.txt"
    _prove(archive.zip, beside, told.lines_sha256)
    whole, number = hashlib.sha256(), 0
    with closing(_lines(archive.zip, beside)) as kept, closing(_lines(archive.zip, place)) as found:
        for number, line in enumerate(found, start=1):
            if next(kept, None) != line_fingerprint(line) + b"\n":
                raise Refused(f"{place}, line {number}: it was {'edited' if number <= told.rows else 'added'}.")
            whole.update(line)
    if number < told.rows:
        raise Refused(
            f"{place}, line {number + 1}: it is missing, and so are all after it ({told.rows} were taken out)."
        )
    if whole.hexdigest() != told.sha256:
        raise Refused(f"{place}: its fingerprint is not the one in {MANIFEST}.")


def _prove(archive: ZipFile, place: str, sha256: str) -> None:
    """Raises Refused where `place` does not come to the fingerprint that the manifest has of it."""
    digest = hashlib.sha256()
    for line in _lines(archive, place):
        digest.update(line)
    if digest.hexdigest() != sha256:
        raise Refused(f"{place}: it was edited; its fingerprint is not the one in {MANIFEST}.")


def _lines(archive: ZipFile, name: str) -> Generator[bytes, None, None]:
    number = 0
    with _member(archive, name) as file:
        try:
            while line := file.readline(LONGEST):
                number += 1
                if len(line) == LONGEST:
                    raise Refused(f"{name}, line {number}: it is too long to be a row.")
                yield line
        except (BadZipFile, zlib.error, EOFError):
            raise Refused(f"{name}: it is damaged after line {number}.") from None


@contextmanager
def _member(archive: ZipFile, name: str) -> Iterator[IO[bytes]]:
    try:
        file = archive.open(name)
    except KeyError:
        raise Refused(f"{name} is missing.") from None
    except BadZipFile:
        raise Refused(f"{name}: it is damaged.") from None
    with file:
        try:
            yield file
        except (BadZipFile, zlib.error, EOFError):
            raise Refused(f"{name}: it is damaged.") from None
