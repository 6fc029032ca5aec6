"""Private links: 256 random bits that open one thing. Only their hash is kept, and looked up by it."""

import hashlib
import secrets
from datetime import datetime

from jobsite.people.models import PrivateLink

TOKEN_BYTES = 32


def new_token() -> str:
    """A fresh token of 256 random bits, in letters that an address may hold."""
    return secrets.token_urlsafe(TOKEN_BYTES)


def token_hash(token: str) -> bytes:
    """What is kept of a token. The lookup compares hashes, so its timing says nothing about the token."""
    return hashlib.sha256(token.encode()).digest()


def find_link(token: str, *, purpose: str, now: datetime) -> PrivateLink | None:
    """The link that `token` opens for `purpose`; None for a wrong, withdrawn or expired one, without saying which."""
    found = PrivateLink.objects.filter(token_hash=token_hash(token), purpose=purpose)
    return found.filter(withdrawn_at__isnull=True, expires_at__gt=now).first()
