"""What a plan comes to in figures: driving, work placed, remedy-by dates kept. Alike for any answer to a problem."""

from collections.abc import Mapping
from itertools import pairwise
from typing import NamedTuple

from remedials.visits.planner.problem import MINUTES_A_DAY, Answer, Problem


class Figures(NamedTuple):
    """`minutes` and `km` of driving by everybody, from home by all visits and back; `late` counts jobs whose last day
    lies in these days, or before, and which are not placed by it."""

    planned: int
    minutes: int
    km: float
    late: int


class Stop(NamedTuple):
    """Where an engineer is from when; `place` is empty where nobody knows."""

    start: int
    place: str


def figures(problem: Problem, answer: Answer) -> Figures:
    """The figures of `answer`."""
    legs = [leg for way in _ways(problem, answer) for leg in pairwise(way)]
    minutes = sum(problem.minutes[a][b] for a, b in legs)
    km = sum(problem.km[a][b] for a, b in legs)
    return Figures(len(answer.planned), minutes, round(km, 1), _late(problem, answer))


def _ways(problem: Problem, answer: Answer) -> list[list[str]]:
    """The places of each shift in order, home at both ends; of a shift with nothing to do, none."""
    places = {job.key: job.place for job in problem.jobs}
    stops: dict[tuple[str, int], list[Stop]] = {}
    for one in problem.fixed:
        for person in one.engineers:
            stops.setdefault((person, one.start // MINUTES_A_DAY), []).append(Stop(one.start, one.place))
    for placed in answer.planned:
        for person in placed.engineers:
            key = (person, placed.start // MINUTES_A_DAY)
            stops.setdefault(key, []).append(Stop(placed.start, places[placed.job]))
    homes: Mapping[tuple[str, int], str] = {(shift.engineer, shift.day): shift.home for shift in problem.shifts}
    ways = []
    for key, there in stops.items():
        known = [stop.place for stop in sorted(there) if stop.place]
        if known and key in homes:
            ways.append([homes[key], *known, homes[key]])
    return ways


def _late(problem: Problem, answer: Answer) -> int:
    days = {one.job: one.end // MINUTES_A_DAY for one in answer.planned}
    due = {job.key: job.remedy_by for job in problem.jobs if job.remedy_by is not None and job.remedy_by < problem.days}
    return sum(days.get(key, problem.days) > by for key, by in due.items())
