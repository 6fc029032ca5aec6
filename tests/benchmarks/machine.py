"""How fast the machine itself is at the moment, so that the figures of two days can be compared."""

import time

ADDITIONS = 10_000_000


def seconds() -> float:
    """Of wall clock for ten million additions in Python, the best of three: one process, nothing but the interpreter."""
    return round(min(_once() for _ in range(3)), 2)


def _once() -> float:
    began, total = time.perf_counter(), 0
    for number in range(ADDITIONS):
        total += number
    return time.perf_counter() - began


def in_words(found: float) -> str:
    return f"the machine: {found:.2f} s for ten million additions in Python"
