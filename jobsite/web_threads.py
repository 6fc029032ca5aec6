"""gunicorn's settings: its threads are warmed up before it takes requests."""

import threading
from concurrent.futures import wait
from typing import Any

from jobsite.warming import warm_up

LONGEST_SECONDS = 20.0  # gunicorn replaces a process that has not been heard of for 30


def post_worker_init(worker: Any) -> None:
    """gunicorn calls this in each of its processes, which has loaded the service and listens to nobody yet.

    Each thread has a connection of its own: they begin together, so that none does it for another.
    """
    threads = worker.cfg.threads
    together = threading.Barrier(threads)

    def begin() -> None:
        together.wait(LONGEST_SECONDS)
        warm_up()

    if threads == 1:  # then it takes requests in its own
        warm_up()
    else:
        wait([worker.tpool.submit(begin) for _ in range(threads)], LONGEST_SECONDS)
