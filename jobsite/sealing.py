"""Sealing a secret that is kept in the database: encrypted with a key that follows from the service's own secret, so that a
copy of the database alone tells nobody what it is."""

import base64

from cryptography.fernet import Fernet, MultiFernet
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF
from django.conf import settings


def ring(for_what: bytes) -> MultiFernet:
    """Seals with the present secret, opens with former ones too while the settings still name them.

    `for_what`: each kind of secret has keys of its own.
    """
    secrets = [settings.SECRET_KEY, *settings.SECRET_KEY_FALLBACKS]
    return MultiFernet([_key(str(secret), for_what) for secret in secrets])


def _key(secret: str, for_what: bytes) -> Fernet:
    derived = HKDF(algorithm=SHA256(), length=32, salt=None, info=for_what).derive(secret.encode())
    return Fernet(base64.urlsafe_b64encode(derived))
