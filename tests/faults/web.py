"""The web server as `make run` starts it, on a test's database: for what only a real server process shows."""

import os
import signal
import socket
import subprocess
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import IO

from django.conf import settings
from django.db import connection

from jobsite.serve import commands
from tests.faults.nursery import die_with_parent
from tests.readme import TOP

START_SECONDS = 60.0


@dataclass
class Web:
    """A server that answers at this port of this computer."""

    port: int
    process: subprocess.Popen[bytes]
    log: IO[bytes]

    def said(self) -> str:
        """All that it has written so far."""
        self.log.seek(0)
        return self.log.read().decode()


@contextmanager
def serving(*more: str, **environment: str) -> Iterator[Web]:
    """A web server on the test's database and files, as long as the block lasts; `more` goes to its command."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    known = {
        "DJANGO_SETTINGS_MODULE": "tests.browser.worker_settings",
        "WORKER_DATABASE": connection.settings_dict["NAME"],
        "WORKER_VAR": str(settings.VAR),
    }
    with tempfile.TemporaryFile() as log:
        process = subprocess.Popen(
            [*commands(port)[0], *more],
            cwd=TOP,
            env=os.environ | known | environment,
            stdin=subprocess.DEVNULL,
            stdout=log,
            stderr=log,
            start_new_session=True,
            preexec_fn=die_with_parent,  # noqa: PLW1509
        )
        web = Web(port, process, log)
        try:
            _wait_for(web)
            yield web
        finally:
            os.killpg(process.pid, signal.SIGKILL)
            process.wait()


def _wait_for(web: Web) -> None:
    deadline = time.monotonic() + START_SECONDS
    while time.monotonic() < deadline and web.process.poll() is None:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", web.port)) == 0:
                return
        time.sleep(0.05)
    raise RuntimeError(f"the web server did not start: {web.said()}")
