"""The one call of the solver: bounded by iterations, so that the same input and seed give the same answer.

What its source says (PyVRP 0.14.1): every figure is a whole number; an impossible instance returns normally and says so
only when asked; a window is for the start of service; with a limit of time the same seed may answer differently.
"""

import time
from collections.abc import Callable
from dataclasses import dataclass

from pyvrp import IteratedLocalSearchParams, ProblemData, Solution, SolveParams, solve

Progress = Callable[[int, int], None]  # done, of how many
TOLD = 100  # times that progress is told, about
# How many iterations back an answer is compared with to be gone on from: the solver's own 300 suit searches of many
# thousands; in a shorter one it would wander to the end (measured on the weeks of tests/planning.py: 5 % more driving).
LONGEST_MEMORY, SHORTEST_MEMORY, SHARE = 300, 10, 60


class Limit:
    """When the search ends: after `iterations`; a guard of `seconds` ends it before and says so in `cut_short`."""

    def __init__(self, iterations: int, seconds: float, progress: Progress | None = None) -> None:
        self.iterations = iterations
        self.seconds = seconds
        self.progress = progress
        self.done = 0
        self.cut_short = False
        self._began = time.monotonic()
        self._upto = iterations
        self._every = max(1, iterations // TOLD)

    def __call__(self, best_cost: int) -> bool:
        """Asked by the solver before each iteration."""
        if self.progress and self.done % self._every == 0:
            self.progress(self.done, self.iterations)
        if self.done >= self._upto:
            return True
        if time.monotonic() - self._began > self.seconds:
            self.cut_short = True
            return True
        self.done += 1
        return False

    def half(self) -> None:
        """The search under way ends at half of the iterations: another follows."""
        self._upto = self.iterations // 2

    def whole(self) -> None:
        """The search under way has what is left."""
        self._upto = self.iterations

    def finish(self) -> None:
        """Progress is told that all is done."""
        if self.progress:
            self.progress(self.iterations, self.iterations)


@dataclass(frozen=True)
class Found:
    """The best that was found; `feasible` False: nothing that keeps all its terms."""

    best: Solution
    feasible: bool
    iterations: int
    cut_short: bool


def search(data: ProblemData, limit: Limit, *, seed: int, begin: Solution | None = None) -> Found:
    """The best answer to `data` that the solver finds within `limit`, begun from `begin` where it is given."""
    memory = min(LONGEST_MEMORY, max(SHORTEST_MEMORY, limit.iterations // SHARE))
    params = SolveParams(IteratedLocalSearchParams(history_length=memory))
    result = solve(data, limit, seed=seed, collect_stats=False, params=params, initial_solution=begin)
    return Found(result.best, result.is_feasible(), limit.done, limit.cut_short)
