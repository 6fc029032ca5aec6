"""A filled week told as an answer."""

from collections.abc import Mapping

from remedials.visits.planner.problem import Answer, Planned, Problem, Shift
from remedials.visits.planner.reasons import why_not, why_so
from remedials.visits.planner.week import Week

Placed = Mapping[str, tuple[tuple[str, ...], int]]  # who goes, from when, by job


def answer_of(week: Week, placed: Placed, *, iterations: int, cut_short: bool) -> Answer:
    """What stands in `week` with a reason for each visit, and why for each job that does not."""
    problem = week.problem
    jobs = {job.key: job for job in problem.jobs}
    shifts = {(shift.engineer, shift.day): shift for shift in week.shifts}
    planned = []
    for key, (engineers, start) in sorted(placed.items(), key=lambda item: (item[1][1], item[0])):
        shift = shifts[engineers[0], _day(start)]
        drive, first = week.drive_to(shift, key), week.is_first(shift, key)
        reason = why_so(problem, jobs[key], drive, on=_day(start), from_home=first)
        planned.append(Planned(key, engineers, start, start + jobs[key].minutes, drive, reason))
    unplanned = {key: why_not(week, jobs[key]) for key in sorted(jobs) if key not in placed}
    return Answer(tuple(planned), unplanned, sum(map(week.drive_of, week.shifts)), iterations, cut_short)


def shift_of(problem: Problem, engineer: str, start: int) -> Shift | None:
    """That engineer's shift on the day of `start`."""
    found = (shift for shift in problem.shifts if shift.engineer == engineer and shift.day == _day(start))
    return next(found, None)


def _day(start: int) -> int:
    return start // 1440
