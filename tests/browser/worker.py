"""A real worker beside a browser test: the pages hand it work through the broker, as they do for people."""

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager

from django.conf import settings
from django.db import connection

from jobsite import celery  # noqa: F401 - makes ours the app that tasks are sent by, as jobsite.wsgi does
from tests.readme import TOP

WORKER = "celery -q -A jobsite.celery worker -c 1 -l WARNING --without-gossip --without-mingle --without-heartbeat"


@contextmanager
def working() -> Iterator[subprocess.Popen[bytes]]:
    """A worker on the test's database, files and broker, as long as the block lasts."""
    environment = os.environ | {
        "DJANGO_SETTINGS_MODULE": "tests.browser.worker_settings",
        "WORKER_DATABASE": connection.settings_dict["NAME"],
        "WORKER_VAR": str(settings.VAR),
    }
    process = subprocess.Popen(
        [sys.executable, "-m", *WORKER.split()],
        cwd=TOP,
        env=environment,
        stdin=subprocess.DEVNULL,
        start_new_session=True,
    )
    try:
        yield process
    finally:
        os.killpg(process.pid, signal.SIGKILL)  # an idle worker takes five seconds to stop by itself
        process.wait()
