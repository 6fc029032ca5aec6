"""The settings of a worker process that stands beside a browser test: the test's own database, files and broker."""

import os
from pathlib import Path

from tests.settings import *  # noqa: F403
from tests.settings import DATABASES, STORAGES

VAR = Path(os.environ["WORKER_VAR"])
DATABASES["default"]["NAME"] = os.environ["WORKER_DATABASE"]
STORAGES["default"]["OPTIONS"]["location"] = str(VAR / "files")
