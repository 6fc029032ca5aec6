"""Keys: UUIDs of version 7 (RFC 9562), which sort by the time they were made; a client may make its own."""

from uuid import UUID

from uuid_utils.compat import uuid7


def new_id() -> UUID:
    """A fresh key."""
    return uuid7()
