"""How good the planner's answers are: on published instances after 1, 5 and 20 seconds, and for a firm's week.

Asked for: a mean gap of at most 0.6 % after 5 s and C101 exact; a week of 8 engineers, 5 days, 120 visits in at most
10 s, with at least 15 % less driving than the plain rule and no date missed that the rule meets; at most 10 % of the
other visits changed after one cancellation. The seeds are fixed beforehand and every one is printed, also where it
loses. Run alone: `python -m tests.benchmarks.planner` (needs no database).
"""

import sys
import time
from dataclasses import asdict, dataclass, replace
from statistics import mean
from typing import Any

from remedials.visits.planner.checker import faults
from remedials.visits.planner.plain import by_rule
from remedials.visits.planner.problem import MINUTES_A_DAY, Answer, Problem
from remedials.visits.planner.search import plan
from tests.planning import Firm, firms_week
from tests.vrptw import BEST, solved

SECONDS = (1, 5, 20)
SEEDS = range(1, 11)  # fixed before the first run
ENDLESS = 10**9  # iterations: the time ends it
SHAPES = {
    "120 visits to place": Firm(),
    "90 to place, 6 of them of two, around 30 that stand": Firm(visits=90, fixed=30, crews=6),
}


@dataclass
class Gap:
    """How far above the best known value, in percent, after so many seconds."""

    instance: str
    seconds: int
    gap: float


@dataclass
class Compared:
    """One week: the search and the plain rule in the same run."""

    shape: str
    seed: int
    seconds: float
    processor: float  # seconds of it: what an idle machine takes
    driving: int
    driving_by_rule: int
    left_out: int
    left_out_by_rule: int
    late: int
    late_by_rule: int
    missed_that_the_rule_meets: int
    faults: int
    changed_after_cancelling: float

    @property
    def less(self) -> float:
        """How much less driving, in percent of the rule's for each visit placed."""
        return 100 * (1 - self.driving / self.driving_by_rule)

    @property
    def loses(self) -> bool:
        """Whether it falls short of anything that is asked for."""
        return (
            self.less < 15
            or self.seconds > 10
            or self.missed_that_the_rule_meets > 0
            or self.left_out > self.left_out_by_rule
            or self.faults > 0
            or self.changed_after_cancelling > 10
        )


def gaps() -> list[Gap]:
    """Every instance once for each time."""
    return [
        Gap(name, seconds, round(100 * (solved(name, iterations=ENDLESS, seed=1, seconds=seconds) / best - 1), 2))
        for seconds in SECONDS
        for name, best in BEST.items()
    ]


def compared(shape: str, seed: int) -> Compared:
    """One week at normal effort, and again after one visit was cancelled."""
    problem = firms_week(seed, SHAPES[shape])
    start, worked = time.perf_counter(), time.process_time()
    answer = plan(problem, effort="normal", seed=seed)
    seconds, processor = time.perf_counter() - start, time.process_time() - worked
    rule = by_rule(problem)
    met = _in_time(problem, answer)
    by = {job.key for job in problem.jobs if job.remedy_by is not None and job.remedy_by < problem.days}
    return Compared(
        shape,
        seed,
        round(seconds, 1),
        round(processor, 1),
        answer.drive_minutes,
        rule.drive_minutes,
        len(answer.unplanned),
        len(rule.unplanned),
        len(by - met),
        len(by - _in_time(problem, rule)),
        len((_in_time(problem, rule) - met) & by),
        len(faults(problem, answer)) + len(faults(problem, rule)),
        _changed(problem, answer, seed),
    )


def _in_time(problem: Problem, answer: Answer) -> set[str]:
    by = {job.key: job.remedy_by for job in problem.jobs}
    return {
        one.job for one in answer.planned if (last := by[one.job]) is None or one.start // MINUTES_A_DAY <= max(last, 0)
    }


def _changed(problem: Problem, before: Answer, seed: int) -> float:
    """Percent of the other visits that the next proposal gives another time or engineer; the worst of three."""
    worst = 0.0
    for at in range(0, len(before.planned), max(1, len(before.planned) // 3)):
        gone = before.planned[at].job
        fewer = replace(problem, jobs=tuple(job for job in problem.jobs if job.key != gone))
        after = {one.job: one for one in plan(fewer, effort="quick", seed=seed + 1, last=before).planned}
        others = [one for one in before.planned if one.job != gone]
        changed = [
            one
            for one in others
            if one.job not in after or (after[one.job].engineers, after[one.job].start) != (one.engineers, one.start)
        ]
        worst = max(worst, 100 * len(changed) / len(others))
    return round(worst, 1)


def figures() -> tuple[list[Gap], list[Compared]]:
    """All of it; about two and a half minutes."""
    return gaps(), [compared(shape, seed) for shape in SHAPES for seed in SEEDS]


def table(found: tuple[list[Gap], list[Compared]]) -> str:
    """The figures for reading."""
    solomon, weeks = found
    lines = [f"{'above the best known, %':<26}" + "".join(f"{name:>9}" for name in [*BEST, "mean"])]
    for seconds in SECONDS:
        row = [one.gap for one in solomon if one.seconds == seconds]
        lines.append(f"{f'after {seconds} s':<26}" + "".join(f"{gap:>9.2f}" for gap in [*row, mean(row)]))
    for shape in SHAPES:
        rows = [one for one in weeks if one.shape == shape]
        lines += ["", f"a week of 8 engineers, 5 days: {shape}"]
        lines.append(
            f"{'seed':>5}{'s':>6}{'cpu s':>7}{'driving':>9}{'rule':>7}{'less %':>8}{'left out':>10}{'rule':>6}{'late':>6}{'rule':>6}"
            f"{'missed':>8}{'faults':>8}{'changed %':>11}"
        )
        lines += [
            f"{o.seed:>5}{o.seconds:>6}{o.processor:>7}{o.driving:>9}{o.driving_by_rule:>7}{o.less:>8.1f}{o.left_out:>10}"
            f"{o.left_out_by_rule:>6}{o.late:>6}{o.late_by_rule:>6}{o.missed_that_the_rule_meets:>8}{o.faults:>8}"
            f"{o.changed_after_cancelling:>11}{'  loses' if o.loses else ''}"
            for o in rows
        ]
        lines.append(
            f"{sum(o.loses for o in rows)} of {len(rows)} lose; {mean(o.less for o in rows):.1f} % less driving"
        )
    return "\n".join(lines)


def as_facts(found: tuple[list[Gap], list[Compared]]) -> dict[str, Any]:
    """The figures for bench.json."""
    solomon, weeks = found
    return {"gaps": [asdict(one) for one in solomon], "weeks": [asdict(one) | {"loses": one.loses} for one in weeks]}


if __name__ == "__main__":
    sys.stdout.write(table(figures()) + "\n")
