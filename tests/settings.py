"""The service's settings, with what only tests want: a quick password hash, mail, files and a broker that leave no trace."""

import tempfile
from pathlib import Path

from jobsite.settings import *  # noqa: F403
from jobsite.settings import STORAGES

# The broker's folder lies here too: a worker of a program that runs beside must not take the tests' messages.
VAR = Path(tempfile.mkdtemp(prefix="var-"))
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES = {
    **STORAGES,
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage", "OPTIONS": {"location": str(VAR / "files")}},
}
