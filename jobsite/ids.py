"""Keys: UUIDs of version 7 (RFC 9562), which sort by the time they were made; a client may make its own."""

from collections.abc import Iterable
from hashlib import sha256
from uuid import UUID

from uuid_utils.compat import uuid7


def new_id() -> UUID:
    """A fresh key."""
    return uuid7()


def key_in(text: str) -> UUID | None:
    """The key that `text` spells, such as a part of an address; None where it spells none."""
    try:
        return UUID(text)
    except ValueError:
        return None


def keys_in(texts: Iterable[str]) -> list[UUID]:
    """The keys that `texts` spell; what spells none is left out."""
    return [key for text in texts if (key := key_in(text))]


def part_of(key: UUID, part: str) -> UUID:
    """The key of the row for `part` of what the form with `key` makes: the same each time that the form is sent.

    Of version 7 too: the form's time, then what follows from both.
    """
    digest = sha256(key.bytes + part.encode()).digest()
    whole = bytearray(key.bytes[:6] + digest[:10])
    whole[6] = whole[6] & 0x0F | 0x70
    whole[8] = whole[8] & 0x3F | 0x80
    return UUID(bytes=bytes(whole))
