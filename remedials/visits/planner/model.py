"""The week in the solver's terms, and its answer read back.

- A vehicle is one engineer's day, from home to home within the shift.
- What stands in a day is a client that must be visited, at its exact time; visits without room between are one client.
- A job is a group of clients of which at most one is visited: one for each window and stretch of days of equal worth,
  since the solver knows one window a client. A window ends the work's length early, since it is for the start.
- A profile is one set of jobs that somebody may do, and whose standing visits are his own: the way to anything else is
  longer than any worth. An engineer's days share it; which day a standing visit belongs to, its time says.
"""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from pyvrp import Client, ClientGroup, Depot, Location, ProblemData, Route, Solution, VehicleType

from remedials.visits.planner.problem import MINUTES_A_DAY, Job, Shift, Window
from remedials.visits.planner.week import Week, may_do_alone
from remedials.visits.planner.worth import worth

NEVER = 1_000_000  # minutes: a way that nobody goes, longer than any plan and dearer than any worth
Sequences = dict[str, list[str]]  # keys of the jobs in each shift, in order


@dataclass(frozen=True)
class Block:
    """Visits that stand, with no room between: from the first's place to the last's."""

    engineer: str
    day: int
    enter: str
    leave: str
    start: int
    end: int


@dataclass(frozen=True)
class Choice:
    """One way to do a job: starting from `first` to `last`, worth `worth` minutes of driving."""

    job: Job
    window: Window
    first: int
    last: int
    worth: int


def blocks_of(week: Week, shift: Shift) -> list[Block]:
    """What stands in a day, drawn together where nothing fits between; up to the shift where it lies outside."""
    blocks: list[Block] = []
    ended = 0
    for stop in week.stops(shift):
        start, end = min(stop.start, shift.end), max(stop.end, shift.start)
        last = blocks[-1] if blocks else None
        if last and last.end + week.leg(last.leave, stop.place) >= start:
            leave = stop.place if stop.end >= ended else last.leave
            blocks[-1] = replace(last, leave=leave, end=max(end, last.end))
        else:
            blocks.append(Block(shift.engineer, shift.day, stop.place, stop.place, start, end))
        ended = max(ended, stop.end)
    return blocks


def choices_of(week: Week, job: Job) -> list[Choice]:
    """The ways to do `job`: a window, and days next to each other on which it is worth the same."""
    days = sorted({shift.day for shift in week.shifts if may_do_alone(shift, job)})
    found: list[Choice] = []
    for window in sorted(set(job.windows)):
        run: Choice | None = None
        for day in days:
            first = max(window[0], day * MINUTES_A_DAY)
            last = min(window[1], (day + 1) * MINUTES_A_DAY) - job.minutes
            if first > last:
                continue
            value = worth(job, day, week.problem.days)
            if run and run.worth == value:
                found[-1] = run = Choice(job, window, run.first, last, value)
            else:
                run = Choice(job, window, first, last, value)
                found.append(run)
    return found


class Model:
    """`jobs` of one engineer each, to be placed into `week` around what stands there."""

    def __init__(self, week: Week, jobs: Sequence[Job]) -> None:
        self.week = week
        self.shifts = [shift for shift in week.shifts if shift.start < shift.end]
        self.blocks = {shift.key: blocks_of(week, shift) for shift in self.shifts}
        self.jobs = [job for job in jobs if choices_of(week, job)]
        self.choices = [choice for job in self.jobs for choice in choices_of(week, job)]
        self._homes = sorted({shift.home for shift in self.shifts})
        self._standing = [block for shift in self.shifts for block in self.blocks[shift.key]]
        self._job_at = {job.key: len(self._homes) + at for at, job in enumerate(self.jobs)}
        self._block_at = {
            (block.engineer, block.start): len(self._homes) + len(self.jobs) + at
            for at, block in enumerate(self._standing)
        }

    def solution(self, sequences: Mapping[str, Sequence[tuple[str, int]]]) -> Solution:
        """Jobs with their starts in each shift, as the solver writes it; what stands is added in its place."""
        routes = []
        for at, shift in enumerate(self.shifts):
            visits = [(block.start, self._client_of_block(block)) for block in self.blocks[shift.key]]
            visits += [(start, self._client_of_job(key, start)) for key, start in sequences.get(shift.key, ())]
            if visits:
                routes.append(Route(self.data, [client for _, client in sorted(visits)], at))
        return Solution(self.data, routes)

    def read(self, solution: Solution) -> dict[str, list[Choice | Block]]:
        """What each shift does in order."""
        found: dict[str, list[Choice | Block]] = {}
        things: list[Choice | Block] = [*self.choices, *self._standing]
        for route in solution.routes():
            shift = self.shifts[route.vehicle_type()]
            found[shift.key] = [things[stop.idx] for stop in route if stop.is_client()]
        return found

    def _client_of_block(self, block: Block) -> int:
        return len(self.choices) + self._standing.index(block)

    def _client_of_job(self, key: str, start: int) -> int:
        return next(
            at
            for at, choice in enumerate(self.choices)
            if choice.job.key == key and choice.first <= start <= choice.last
        )

    @cached_property
    def data(self) -> ProblemData:
        """All of it for the solver, which refuses a week without anybody or anything."""
        places = [(home, home) for home in self._homes]
        places += [(job.place, job.place) for job in self.jobs]
        places += [(block.enter, block.leave) for block in self._standing]
        base = np.array([[self.week.leg(a, b) for b, _ in places] for _, a in places], dtype=np.int64)
        base = base.reshape(len(places), len(places))
        np.fill_diagonal(base, 0)
        profiles: dict[tuple[str, frozenset[str]], int] = {}
        vehicles = [self._vehicle(shift, profiles) for shift in self.shifts]
        matrices = [self._matrix(base, owner, allowed) for owner, allowed in profiles]
        clients, groups = self._clients()
        depots = [Depot(at) for at in range(len(self._homes))]
        locations = [Location(0, 0) for _ in places]
        # Its own types call an array of 64-bit integers an array of int.
        return ProblemData(locations, clients, depots, vehicles, matrices, matrices, groups)  # type: ignore[arg-type]

    def _vehicle(self, shift: Shift, profiles: dict[tuple[str, frozenset[str]], int]) -> VehicleType:
        owner = shift.engineer if any(block.engineer == shift.engineer for block in self._standing) else ""
        allowed = frozenset(job.key for job in self.jobs if may_do_alone(shift, job))
        profile = profiles.setdefault((owner, allowed), len(profiles))
        start, end = shift.start, shift.end
        blocks = self.blocks[shift.key]
        if blocks:  # what stands is kept also where it lies outside the shift
            start = min(start, blocks[0].start - self.week.leg(shift.home, blocks[0].enter))
            end = max(end, blocks[-1].end + self.week.leg(blocks[-1].leave, shift.home))
        home = self._homes.index(shift.home)
        return VehicleType(
            1, start_depot=home, end_depot=home, tw_early=max(0, start), tw_late=end, profile=profile, name=shift.key
        )

    def _clients(self) -> tuple[list[Client], list[ClientGroup]]:
        groups: dict[str, list[int]] = defaultdict(list)
        clients = []
        group_of = {job.key: at for at, job in enumerate(self.jobs)}
        for at, choice in enumerate(self.choices):
            groups[choice.job.key].append(at)
            clients.append(
                Client(
                    self._job_at[choice.job.key],
                    service_duration=choice.job.minutes,
                    tw_early=max(0, choice.first),
                    tw_late=choice.last,
                    prize=choice.worth,
                    required=False,
                    group=group_of[choice.job.key],
                )
            )
        for block in self._standing:
            where = self._block_at[block.engineer, block.start]
            clients.append(
                Client(where, service_duration=block.end - block.start, tw_early=block.start, tw_late=block.start)
            )
        return clients, [ClientGroup(groups[job.key], required=False) for job in self.jobs]

    def _matrix(self, base: NDArray[np.int64], owner: str, allowed: Iterable[str]) -> NDArray[np.int64]:
        may = frozenset(allowed)
        shut = [self._job_at[job.key] for job in self.jobs if job.key not in may]
        shut += [self._block_at[b.engineer, b.start] for b in self._standing if b.engineer != owner]
        matrix = base.copy()
        matrix[shut, :] = NEVER
        matrix[:, shut] = NEVER
        np.fill_diagonal(matrix, 0)
        return matrix
