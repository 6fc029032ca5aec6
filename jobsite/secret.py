"""The secret key: kept in a file on one computer, given by the environment in production."""

import os
import secrets
from pathlib import Path

from django.core.exceptions import ImproperlyConfigured

LEAST_LENGTH = 50
LEAST_DIFFERENT = 10


def kept_secret(path: Path) -> str:
    """The secret in `path`, made on the first start and readable by its owner only."""
    try:
        handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    except FileExistsError:
        return path.read_text().strip()
    with os.fdopen(handle, "w") as file:
        file.write(secret := secrets.token_urlsafe(50))
    return secret


def strong_secret(value: str, *, name: str = "SECRET_KEY", least: int = LEAST_LENGTH) -> str:
    """`value` if it is long and varied enough to sign sessions with, else a refusal to start."""
    if len(value) < least or len(set(value)) < LEAST_DIFFERENT:
        raise ImproperlyConfigured(f"{name} must be at least {least} characters of random text.")
    return value
