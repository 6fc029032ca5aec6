"""The service's settings, with what only tests want: a quick password hash, mail, files and a broker that leave no trace."""

import os
import tempfile
from pathlib import Path

from jobsite.settings import *  # noqa: F403
from jobsite.settings import STORAGES

# The broker's folder lies here too: a worker of a program that runs beside must not take the tests' messages.
VAR = Path(tempfile.mkdtemp(prefix="var-"))
METRICS_FOLDER = VAR / "metrics"
METRICS_FOLDER.mkdir()
os.environ["PROMETHEUS_MULTIPROC_DIR"] = str(METRICS_FOLDER)
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
EMAIL_BACKEND = "django.core.mail.backends.locmem.EmailBackend"
STORAGES = {
    **STORAGES,
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage", "OPTIONS": {"location": str(VAR / "files")}},
}
WHITENOISE_AUTOREFRESH = True  # looks for a file when it is asked for: each new client would go through them all
API_REQUESTS_A_MINUTE = 0  # counting would add statements to those that a test counts
SLOW_STATEMENT_MS = 1_000_000  # a busy machine must add no statement to those that a test counts
