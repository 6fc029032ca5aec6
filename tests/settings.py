"""The service's settings, with what only tests want: a quick password hash, mail and files that leave no trace."""

import tempfile

from jobsite.settings import *  # noqa: F403
from jobsite.settings import STORAGES

PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES = {
    **STORAGES,
    "default": {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {"location": tempfile.mkdtemp(prefix="files-")},
    },
}
