"""Files by content: what goes in comes out byte for byte, or not at all."""

import hashlib
from datetime import datetime

from django.core.files.base import ContentFile
from django.core.files.storage import default_storage

from jobsite.ledger.models import StoredFile


def path_of(content_hash: str) -> str:
    """Where content with this hash lies in the storage."""
    return f"{content_hash[:2]}/{content_hash[2:4]}/{content_hash}"


def store_file(data: bytes, *, media_type: str, now: datetime, received: bytes | None = None) -> StoredFile:
    """Keep `data`; storing the same bytes again is harmless.

    `received`: the bytes as they arrived, where `data` is a cleaned version of them. The bytes are written before the
    row, so a row never points at nothing; a crash in between leaves a file that the next storing reuses or mends.
    """
    content_hash = hashlib.sha256(data).hexdigest()
    keep_content(path_of(content_hash), data)
    received_hash = hashlib.sha256(received if received is not None else data).hexdigest()
    row = StoredFile(content_hash, len(data), media_type, received_hash, now)
    StoredFile.objects.bulk_create([row], ignore_conflicts=True)
    return row


def keep_content(path: str, data: bytes) -> None:
    """Put `data` at `path`, unless content of that size is there already."""
    if default_storage.exists(path):
        if default_storage.size(path) == len(data):
            return
        default_storage.delete(path)  # a full disk or a crash left half of it
    default_storage.save(path, ContentFile(data))


def read_file(stored: StoredFile) -> bytes:
    """The content of `stored`. Raises OSError where storage lost it, ValueError where it was altered there."""
    with default_storage.open(path_of(stored.hash)) as file:
        data: bytes = file.read()
    if hashlib.sha256(data).hexdigest() != stored.hash:
        raise ValueError(f"file {stored.hash} is not what was stored")
    return data
