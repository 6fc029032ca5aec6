"""One archive for programs: a ZIP with a table a file, one row a line, the files by their content, and a manifest.

`manifest.json` (what is in it: counts, columns, fingerprints, heads of the ledger), `READ-ME.txt`, `tables/NAME.jsonl`,
`lines/NAME.txt` (the start of each line's fingerprint, so that an edited line is named), `files/HASH`. Rows, heads and list of files
are of one snapshot, while people go on working; memory does not grow with the firm.
"""

import hashlib
import json
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass, field
from datetime import datetime
from pathlib import Path
from typing import IO, Any
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from django.core.files.storage import default_storage
from django.db import connection, transaction

from jobsite.ledger.files import path_of
from jobsite.ledger.models import StoredFile
from jobsite.ledger.queries import heads
from jobsite.refused import Refused
from jobsite.running.backing_up import applied, secret_told
from remedials.desk.bulk.kinds import EXCUSED, SECRET_COLUMNS, SECRET_ROWS, Kind, kinds, unknown
from remedials.desk.bulk.rows import lines

FORMAT = 1
MANIFEST, READ_ME, TABLES, LINES, FILES = "manifest.json", "READ-ME.txt", "tables/", "lines/", "files/"
SHORT = 16
"""Hexadecimal digits of a line's fingerprint that are kept: 64 bits, to find the line that was edited."""
PIECE = 1 << 20
PACKED = ("image/jpeg", "image/png", "application/pdf", "application/zip")
WORDS = """\
Everything that {firm} had on record at {made_at}, for programs to read.

manifest.json        what is here: how many rows and files, the columns of each table, SHA-256 of each table, heads of the ledger
tables/NAME.jsonl    a table: one row a line, as JSON in UTF-8; numbers with decimal places are text, bytes hexadecimal
lines/NAME.txt       the first {short} digits of the SHA-256 of each line of that table, one a line
files/HASH           the files: photographs, reports, documents; each is called by the SHA-256 of its content

It goes back into an empty installation by: manage.py bring_in ARCHIVE
{secrets}
It holds personal data. Keep it as you would keep the firm's own records, no longer than you must, and give it to nobody else.
"""
WITH_SECRETS = """
It holds what people sign in with (hashes of passwords, sealed seeds) and what opens private links: treat it as a key.
"""
WITHOUT_SECRETS = """
Left out: passwords, second factors, tokens of links and programs, alarm codes. Once it is brought in, people set new passwords.
"""


@dataclass
class Table:
    """What the manifest says of one table."""

    what: str
    columns: dict[str, str]
    rows: int = 0
    sha256: str = ""
    lines_sha256: str = ""


@dataclass
class Manifest:
    """What an archive says of itself."""

    format: int
    firm: str
    made_at: str  # ISO 8601, UTC
    secrets: bool
    secret: str  # tells whether SECRET_KEY is the same, and nothing of it
    migrations: list[str]  # "app.name", sorted: the version of the tables
    heads: list[tuple[str, int, str]]  # of the ledger: chain, number, hash
    tables: dict[str, Table] = field(default_factory=dict)
    files: int = 0
    bytes: int = 0
    missing: list[str] = field(default_factory=list)  # files that the storage had lost or altered, by hash
    left_out: dict[str, str] = field(default_factory=dict)  # what is not here, with the reason

    @property
    def rows(self) -> int:
        return sum(table.rows for table in self.tables.values())


@dataclass
class Written:
    """What came of it: the manifest, and its SHA-256, by which the whole archive is known."""

    manifest: Manifest
    fingerprint: str


def write_archive(to: IO[bytes], *, secrets: bool, now: datetime) -> Written:
    """Write all that the firm owns to `to`, as of one instant. Raises Refused where the program knows a kind of row of which
    nobody said whether it is taken out.
    """
    if odd := unknown():
        raise Refused(f"Nobody has said whether these are taken out: {', '.join(odd)}.")
    with snapshot(), ZipFile(to, "w", ZIP_DEFLATED, compresslevel=6) as archive:
        manifest = _begun(secrets=secrets, now=now)
        for kind in kinds(secrets=secrets):
            manifest.tables[kind.table] = _put_table(archive, kind, now)
        for row in StoredFile.objects.order_by("pk").iterator():
            if _put_file(archive, row, now):
                manifest.files += 1
                manifest.bytes += row.size
            else:
                manifest.missing.append(row.hash)
        says = WITH_SECRETS if secrets else WITHOUT_SECRETS
        words = WORDS.format(firm=manifest.firm, made_at=manifest.made_at, short=SHORT, secrets=says)
        archive.writestr(_member(READ_ME, now), words)
        data = json.dumps(asdict(manifest), indent=1, ensure_ascii=False).encode()
        archive.writestr(_member(MANIFEST, now), data)
    return Written(manifest, hashlib.sha256(data).hexdigest())


@contextmanager
def snapshot() -> Iterator[None]:
    """All that is read in the block is of one instant, and nothing is written."""
    with transaction.atomic(durable=True), connection.cursor() as cursor:
        cursor.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
        yield


def _begun(*, secrets: bool, now: datetime) -> Manifest:
    from jobsite.firm.models import Firm

    left_out = dict(EXCUSED) if secrets else EXCUSED | SECRET_ROWS | _secret_columns()
    return Manifest(
        format=FORMAT,
        firm=Firm.objects.values_list("name", flat=True).first() or "",
        made_at=now.isoformat(),
        secrets=secrets,
        secret=secret_told(),
        migrations=applied(),
        heads=[(str(head.chain), head.number, head.hash) for head in heads()],
        left_out=left_out,
    )


def _secret_columns() -> dict[str, str]:
    return {
        f"{label}.{name}": "a secret, which opens something"
        for label, columns in SECRET_COLUMNS.items()
        for name in columns
    }


def _put_table(archive: ZipFile, kind: Kind, now: datetime) -> Table:
    """Write one table and the fingerprints of its lines. Those are held on disk meanwhile: a ZIP takes one file at a time."""
    told = Table(kind.sheet, {field.column: field.get_internal_type() for field in kind.fields})
    whole, short = hashlib.sha256(), hashlib.sha256()
    with tempfile.TemporaryFile() as aside:
        with archive.open(_member(f"{TABLES}{kind.table}.jsonl", now), "w", force_zip64=True) as out:
            for piece in _pieces(kind):
                data = b"".join(piece)
                digests = b"".join(line_fingerprint(line) + b"\n" for line in piece)
                told.rows += len(piece)
                for digest, part, file in ((whole, data, out), (short, digests, aside)):
                    digest.update(part)
                    file.write(part)
        aside.seek(0)
        with archive.open(_member(f"{LINES}{kind.table}.txt", now), "w", force_zip64=True) as out:
            copy_pieces(aside, out)
    told.sha256, told.lines_sha256 = whole.hexdigest(), short.hexdigest()
    return told


def line_fingerprint(line: bytes) -> bytes:
    """The start of the SHA-256 of a line with its end, in hexadecimal digits."""
    return hashlib.sha256(line).hexdigest()[:SHORT].encode()


def _pieces(kind: Kind) -> Iterator[list[bytes]]:
    """The lines of a table with their ends, about a piece of memory at a time."""
    held: list[bytes] = []
    size = 0
    for line in lines(kind):
        held.append(f"{line}\n".encode())
        size += len(held[-1])
        if size >= PIECE:
            yield held
            held, size = [], 0
    if held:
        yield held


def copy_pieces(source: IO[bytes], target: Any) -> "hashlib._Hash":
    """Copy `source` to `target` a piece at a time; the SHA-256 of what went over."""
    digest = hashlib.sha256()
    while piece := source.read(PIECE):
        digest.update(piece)
        target.write(piece)
    return digest


def _put_file(archive: ZipFile, row: StoredFile, now: datetime) -> bool:
    """Whether the file of `row` was there as it was stored, and so is in the archive. Read twice: a ZIP takes nothing back."""
    try:
        with default_storage.open(path_of(row.hash)) as file:
            digest = hashlib.sha256()
            while piece := file.read(PIECE):
                digest.update(piece)
            if digest.hexdigest() != row.hash:
                return False
            file.seek(0)
            member = _member(f"{FILES}{row.hash}", now)
            member.compress_type = ZIP_STORED if row.media_type in PACKED else ZIP_DEFLATED
            with archive.open(member, "w", force_zip64=True) as out:
                copy_pieces(file, out)
    except OSError:
        return False
    return True


def _member(name: str, now: datetime) -> ZipInfo:
    info = ZipInfo(name, now.timetuple()[:6])
    info.compress_type = ZIP_DEFLATED
    info.create_system, info.external_attr = 3, 0o600 << 16
    return info


def save_archive(path: Path, *, secrets: bool, now: datetime) -> Written:
    """Write an archive to `path`; there is none before it is whole, and only its owner reads it. Raises Refused, OSError."""
    half = path.with_name(f"{path.name}.half")
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        half.unlink(missing_ok=True)
        half.touch(mode=0o600)
        with half.open("r+b") as file:
            written = write_archive(file, secrets=secrets, now=now)
        half.rename(path)
    except BaseException:
        half.unlink(missing_ok=True)
        raise
    return written
