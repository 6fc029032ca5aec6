"""gunicorn's settings: its threads are warmed up before it takes requests."""

import logging
import threading
from concurrent.futures import wait
from typing import Any

from jobsite.warming import warm_up

LONGEST_SECONDS = 20.0  # then requests are taken all the same
logger = logging.getLogger(__name__)


def post_worker_init(worker: Any) -> None:
    """gunicorn calls this in each of its processes, which has loaded the service and takes no request yet.

    Each thread has a connection of its own: they begin together, so that none does it for another.
    """
    threads = worker.cfg.threads
    together = threading.Barrier(threads)

    def begin() -> None:
        together.wait()
        warm_up()

    if threads == 1:  # then it takes requests in its own
        warm_up()
    else:
        begun = wait([worker.tpool.submit(begin) for _ in range(threads)], LONGEST_SECONDS)
        if begun.not_done:
            logger.warning(
                "%s of %s threads are not warmed up after %s s.", len(begun.not_done), threads, LONGEST_SECONDS
            )
