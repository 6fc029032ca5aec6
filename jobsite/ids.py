"""Keys: UUIDs of version 7 (RFC 9562), which sort by the time they were made; a client may make its own."""

from collections.abc import Iterable
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
