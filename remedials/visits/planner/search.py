"""Proposes the week: which engineer goes where, when.

1. What the last plan said and still holds is kept as it was; jobs of several at once are placed by a plain rule.
2. The rest is begun by the plain rule and bettered by the solver, around what stands; where there is more than room
   for, single visits then give way to others that are worth more.
3. After a last plan, a tenth of its visits at most may move, where that gains more than moving them costs.
"""

from collections.abc import Iterable, Sequence

from remedials.visits.planner.answers import Placed, answer_of, shift_of
from remedials.visits.planner.core import Found, Limit, Progress, search
from remedials.visits.planner.crews import makes_a_crew, place_crews, urgency
from remedials.visits.planner.exchange import exchange
from remedials.visits.planner.model import Model
from remedials.visits.planner.plain import fill_by_rule
from remedials.visits.planner.problem import MINUTES_A_DAY, Answer, Job, Planned, Problem, Shift
from remedials.visits.planner.timing import timed
from remedials.visits.planner.week import Week, may_do_alone
from remedials.visits.planner.worth import MOVED, worth

ITERATIONS = {"quick": 500, "normal": 2_000, "thorough": 20_000}
GUARD_SECONDS = 300.0
MAY_MOVE = 10  # of a hundred visits of the last plan


def plan(
    problem: Problem,
    *,
    effort: str,
    seed: int,
    last: Answer | None = None,
    progress: Progress | None = None,
    guard_seconds: float = GUARD_SECONDS,
) -> Answer:
    """A plan of `problem`: the same for the same input, in whatever order it is given, effort and seed.

    `effort` (a key of ITERATIONS) bounds the search by iterations. `guard_seconds` is a guard of time only: an answer
    that it ended says so in `cut_short`, and another run may then differ. `last`: the plan to keep to where it still
    holds. `progress` is told iterations done and of how many. Raises ValueError for an effort that there is not.
    """
    if effort not in ITERATIONS:
        raise ValueError(f"effort: one of {', '.join(ITERATIONS)}")
    limit = Limit(ITERATIONS[effort], guard_seconds, progress)
    week = Week(problem)
    kept = _keep(week, last) if last else {}
    jobs = [job for job in sorted(problem.jobs, key=lambda job: job.key) if job.place]
    if kept:
        limit.half()
    placed, week = _fill(week, kept, jobs, limit, seed)
    if kept:
        limit.whole()
        placed, week = _with_some_moved(placed, week, kept, limit, seed)
    limit.finish()
    return answer_of(week, placed, iterations=limit.done, cut_short=limit.cut_short)


def _fill(week: Week, kept: Placed, jobs: Sequence[Job], limit: Limit, seed: int) -> tuple[Placed, Week]:
    """`week`, in which `kept` stands, with as much of the rest as is worth it."""
    rest = [job for job in jobs if job.key not in kept]
    placed = {**kept, **place_crews(week, [job for job in rest if job.crew > 1])}
    return {**placed, **_searched(week, [job for job in rest if job.crew == 1], limit, seed)}, week


def _searched(week: Week, jobs: Sequence[Job], limit: Limit, seed: int) -> Placed:
    model = Model(week, jobs)
    if not model.jobs:
        return {}
    begun = week.copy()
    mine = fill_by_rule(begun, model.jobs)
    sequences = {
        shift.key: [(stop.key, stop.start) for stop in begun.stops(shift) if stop.key in mine] for shift in week.shifts
    }
    begin = model.solution(sequences)
    found: Found = search(model.data, limit, seed=seed, begin=begin)
    whose = {}
    for key, order in sorted(model.read(found.best if found.feasible else begin).items()):
        shift = next(shift for shift in week.shifts if shift.key == key)
        for job, start in timed(week, shift, order):
            if not week.clashes(job, start):
                week.put(shift, job, start)
                whose[job.key] = shift
    bettered = exchange(week, model.jobs, whose)
    return {key: ((shift.engineer,), start) for key, (shift, start) in bettered.items()}


def _keep(week: Week, last: Answer) -> Placed:
    """What `last` planned and still holds, put into `week`."""
    jobs = {job.key: job for job in week.problem.jobs}
    kept = {}
    for one in sorted(last.planned, key=lambda one: (one.start, one.job)):
        job = jobs.get(one.job)
        shifts = _still_holds(week, job, one) if job and job.place else None
        if job and shifts:
            for shift in shifts:
                week.put(shift, job, one.start)
            kept[job.key] = (one.engineers, one.start)
    return kept


def _still_holds(week: Week, job: Job, one: Planned) -> list[Shift] | None:
    shifts = [shift for name in one.engineers if (shift := shift_of(week.problem, name, one.start))]
    fit = makes_a_crew(shifts, job) if job.crew > 1 else all(may_do_alone(shift, job) for shift in shifts)
    if len(shifts) < len(one.engineers) or len(shifts) != job.crew or not fit:
        return None
    if all(any(slot.first <= one.start <= slot.last for slot in week.slots(shift, job)) for shift in shifts):
        return shifts
    return None


def _with_some_moved(placed: Placed, week: Week, kept: Placed, limit: Limit, seed: int) -> tuple[Placed, Week]:
    """The same, or better with at most a tenth of what was kept moved."""
    jobs = {job.key: job for job in week.problem.jobs}
    free = _worth_moving(week, placed, kept)
    if not free:
        return placed, week
    standing = Week(week.problem)
    still: Placed = {key: value for key, value in placed.items() if key not in free}
    for key, (engineers, start) in still.items():
        for shift in _shifts(week.problem, engineers, start):
            standing.put(shift, jobs[key], start)
    again, other = _fill(standing, still, [job for job in jobs.values() if job.place], limit, seed)
    changed = sum(1 for key in kept if again.get(key) != kept[key])
    if _value(other, again) - MOVED * changed > _value(week, placed):
        return again, other
    return placed, week


def _worth_moving(week: Week, placed: Placed, kept: Placed) -> set[str]:
    """The tenth of the kept jobs of one engineer that is in the way: of work left over, else of a shorter way."""
    jobs = {job.key: job for job in week.problem.jobs}
    left_over = [job for key, job in sorted(jobs.items()) if key not in placed and job.place and job.crew == 1]
    ranked = []
    for key, (engineers, start) in kept.items():
        shifts = _shifts(week.problem, engineers, start)
        if len(shifts) == 1:
            in_the_way = any(may_do_alone(shifts[0], job) and job.danger >= jobs[key].danger for job in left_over)
            ranked.append((not in_the_way, -_detour(week, shifts[0], jobs[key], start), urgency(jobs[key]), key))
    return {key for *_, key in sorted(ranked)[: len(kept) * MAY_MOVE // 100]}


def _detour(week: Week, shift: Shift, job: Job, start: int) -> int:
    without = week.copy()
    without.take_out(shift, job.key)
    return week.drive_of(shift) - without.drive_of(shift)


def _shifts(problem: Problem, engineers: Iterable[str], start: int) -> list[Shift]:
    return [shift for name in engineers if (shift := shift_of(problem, name, start))]


def _value(week: Week, placed: Placed) -> int:
    jobs = {job.key: job for job in week.problem.jobs}
    gained = sum(worth(jobs[key], start // MINUTES_A_DAY, week.problem.days) for key, (_, start) in placed.items())
    return gained - sum(map(week.drive_of, week.shifts))
