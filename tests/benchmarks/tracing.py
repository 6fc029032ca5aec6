"""How many switchings it takes to find what feeds 4 to 12 boards, by following the advice, beside what any way needs.

One switching tells each board in question dead or alive, one bit at the most: with N arrangements possible and n boards in
question, no way of asking does with fewer than log2(N) / n switchings on the average. The advice doesn't reach that, since one
device at a time is switched off, and one that tells less but leaves fewer boards without power comes first.
"""

import statistics
import time
from dataclasses import asdict, dataclass
from math import ceil, log2
from random import Random

from jobsite.premises.tracing import trace
from tests.jobsite.wirings import follow, make_wiring

SITES = 8  # of each size


@dataclass
class Figure:
    """For sites of `unknown` boards: bits to be found out, the bound, switchings taken, the slowest answer."""

    unknown: int
    bits: float
    bound: int
    switchings: float
    most: int
    slowest_ms: float
    found: bool


def figure(unknown: int) -> Figure:
    """Made-up sites of three verified boards and `unknown` others, four candidates each anywhere on the site."""
    bits, taken, slowest, found = [], [], 0.0, True
    for number in range(SITES):
        chance = Random(1000 * unknown + number)
        site = make_wiring(chance, unknown=unknown, known=3, ways=6, candidates=4)
        began = time.process_time()
        bits.append(log2(trace(site.wiring, []).arrangements))
        slowest = max(slowest, time.process_time() - began)
        tests = follow(site, chance)
        taken.append(len(tests))
        found = found and all(left == (site.truth[board],) for board, left in trace(site.wiring, tests).left.items())
    bound = ceil(statistics.mean(bits) / unknown)
    return Figure(
        unknown,
        round(statistics.mean(bits), 1),
        bound,
        statistics.mean(taken),
        max(taken),
        round(slowest * 1000),
        found,
    )


def figures() -> list[Figure]:
    """For 4 to 12 boards."""
    return [figure(unknown) for unknown in range(4, 13)]


def table(rows: list[Figure]) -> str:
    """The figures for reading."""
    head = f"{'boards':>6}{'bits':>7}{'bound':>7}{'switchings':>12}{'most':>6}{'slowest ms':>12}  all found"
    lines = [
        f"{r.unknown:>6}{r.bits:>7}{r.bound:>7}{r.switchings:>12.1f}{r.most:>6}{r.slowest_ms:>12}  {'yes' if r.found else 'NO'}"
        for r in rows
    ]
    return "\n".join([f"Tracing by switching off, {SITES} sites of each size", head, *lines])


def as_facts(rows: list[Figure]) -> list[dict[str, object]]:
    """For bench.json."""
    return [asdict(row) for row in rows]
