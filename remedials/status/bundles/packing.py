"""An archive that anybody can check: the same content makes the same bytes, and its manifest names every file."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from datetime import UTC
from io import BytesIO
from pathlib import Path
from typing import Any
from uuid import UUID
from zipfile import ZIP_DEFLATED, ZIP_STORED, ZipFile, ZipInfo

from jobsite.ledger.models import Entry, Words
from jobsite.ledger.rules import canonical

ZIP = "application/zip"
METHOD = Path(__file__).resolve().parent / "method"
MANIFEST = "manifest.json"
EARLIEST = (1980, 1, 1, 0, 0, 0)  # the first moment that a ZIP can hold: times of ours would make other bytes each time
PACKED = (".jpg", ".pdf", ".png", ".zip", ".xlsx")  # compressed already
READ_ME = """\
{title}
{under}

What this is: {what}

record.pdf   read this first (where it is missing the record was too long to be set: read record.txt)
record.txt   the same as plain text
files.txt    what each file in the folder files/ is
METHOD.md    how you check that nothing of it was altered, without an account and without us
check.py     does that, with Python's own library: python -I check.py

It holds personal data: names of people who inspected, worked, were told or refused. Quotes that were sent may be in files/ with
their prices, also to somebody who was the customer before. Give it only to whoever may have it, and keep it no longer than you
must.

Electrical work is dangerous. What is written here is a record. It is no instruction to work and no statement that anything is
safe or dead today: work is for competent people, by the firm's own procedure for safe isolation and the rules of the place.
"""


def packed(files: Mapping[str, bytes], heads: Mapping[UUID, tuple[int, str]], **says: Any) -> tuple[bytes, str]:
    """The archive of `files`, with the published method and the manifest beside them; and the manifest's SHA-256.

    `heads`: the last number and hash of each chain in `ledger.jsonl`. `says` goes into the manifest: what, whose, as of when.
    """
    content = dict(files) | {path.name: path.read_bytes() for path in sorted(METHOD.iterdir()) if path.is_file()}
    named = {
        name: {"sha256": hashlib.sha256(data).hexdigest(), "size": len(data)} for name, data in sorted(content.items())
    }
    ends = {str(chain): [number, head] for chain, (number, head) in heads.items()}
    manifest = json.dumps(
        {**says, "files": named, "heads": ends}, indent=1, sort_keys=True, ensure_ascii=False
    ).encode()
    out = BytesIO()
    with ZipFile(out, "w") as archive:
        for name, data in [(MANIFEST, manifest), *sorted(content.items())]:
            info = ZipInfo(name, EARLIEST)
            info.compress_type = ZIP_STORED if name.endswith(PACKED) else ZIP_DEFLATED
            info.create_system, info.external_attr = 3, 0o644 << 16  # the same on every system
            archive.writestr(info, data, compresslevel=9)
    return out.getvalue(), hashlib.sha256(manifest).hexdigest()


def ledger_lines(entries: Iterable[Entry], *, told: Iterable[UUID]) -> bytes:
    """Entries as the published method reads them, one a line; those whose keys are not among `told` are sealed."""
    open_ones = frozenset(told)
    return b"".join(canonical(_line(entry, entry.pk in open_ones)) + b"\n" for entry in entries)


def _line(entry: Entry, told: bool) -> dict[str, Any]:
    line = {
        "chain": str(entry.chain),
        "number": entry.number,
        "previous": bytes(entry.previous).hex(),
        "hash": bytes(entry.hash).hex(),
    }
    if not told:
        return line
    return line | {
        "operation": str(entry.operation),
        "at": entry.at.astimezone(UTC).isoformat(timespec="microseconds"),
        "actor_kind": entry.actor_kind,
        "actor": str(entry.actor),
        "verb": entry.verb,
        "subject_kind": entry.subject_kind,
        "subject": str(entry.subject),
        "facts": entry.facts,
    }


def words_lines(words: Iterable[tuple[Entry, Words]]) -> bytes:
    """Words with the salts that prove them, one a line, each with the place of its entry."""
    return b"".join(
        canonical(
            {
                "chain": str(entry.chain), "number": entry.number, "name": row.name, "text": row.text,
                "salt": bytes(row.salt).hex(),
            }
        )
        + b"\n"
        for entry, row in words
    )  # fmt: skip
