"""Two people at the same time: each act in its own thread, with its own connection, let go together."""

import threading
from collections.abc import Callable

from django.db import connections


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
