"""Two people at the same time: each act in its own thread, with its own connection, let go together."""

import threading
import time
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor

from django.db import connection, connections


def at_once(*acts: Callable[[], object]) -> list[object]:
    """Runs each act in its own thread with its own connection, all let go together; what each returned or raised."""
    gate, results = threading.Barrier(len(acts)), [None] * len(acts)

    def run(place: int, act: Callable[[], object]) -> None:
        try:
            gate.wait(timeout=20)
            results[place] = act()
        except Exception as raised:  # noqa: BLE001 - the outcome is what the test is about
            results[place] = raised
        finally:
            connections.close_all()

    threads = [threading.Thread(target=run, args=pair) for pair in enumerate(acts)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(timeout=60)
    return results


def behind(act: Callable[[], object]) -> Future[object]:
    """Begins `act` on a connection of its own, and returns once it waits for a row that this transaction holds.

    Commit, then ask the future for what it returned or raised. A test that times out here holds no such row.
    """
    pool = ThreadPoolExecutor(max_workers=1)
    future = pool.submit(_and_let_go, act)
    pool.shutdown(wait=False)
    give_up = time.monotonic() + 20
    with connection.cursor() as cursor:
        while not future.done() and time.monotonic() < give_up:
            cursor.execute(
                "SELECT count(*) FROM pg_locks WHERE NOT granted AND pg_backend_pid() = ANY(pg_blocking_pids(pid))"
            )
            if cursor.fetchone()[0]:
                return future
    raise AssertionError(f"it did not wait: {future}")


def _and_let_go(act: Callable[[], object]) -> object:
    try:
        return act()
    finally:
        connections.close_all()
