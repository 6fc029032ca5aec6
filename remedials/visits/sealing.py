"""Sealing an alarm code: a copy of the database alone tells nobody a code."""

from cryptography.fernet import InvalidToken

from jobsite.sealing import ring

FOR_WHAT = b"alarm codes of sites"


def seal(code: str) -> bytes:
    """`code` encrypted: each time another text, so that equal codes do not show."""
    return ring(FOR_WHAT).encrypt(code.encode())


def unseal(sealed: bytes) -> str | None:
    """The code; None where the secret it was sealed with is known no more."""
    try:
        return ring(FOR_WHAT).decrypt(bytes(sealed)).decode()
    except InvalidToken:
        return None
