"""Sealing an alarm code: encrypted with a key that follows from the service's secret, so that a copy of the database
alone tells nobody a code."""

import base64

from cryptography.fernet import Fernet, InvalidToken, MultiFernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings

FOR_WHAT = b"alarm codes of sites"


def seal(code: str) -> bytes:
    """`code` encrypted: each time another text, so that equal codes do not show."""
    return _ring().encrypt(code.encode())


def unseal(sealed: bytes) -> str | None:
    """The code; None where the secret it was sealed with is known no more."""
    try:
        return _ring().decrypt(bytes(sealed)).decode()
    except InvalidToken:
        return None


def _ring() -> MultiFernet:
    """Seals with the present secret, opens with former ones too while the settings still name them."""
    return MultiFernet([_key(str(secret)) for secret in [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]])


def _key(secret: str) -> Fernet:
    derived = HKDF(algorithm=SHA256(), length=32, salt=None, info=FOR_WHAT).derive(secret.encode())
    return Fernet(base64.urlsafe_b64encode(derived))
