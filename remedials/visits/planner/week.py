"""The engineers' days as they fill: what stands in them, and where a job still fits."""

from bisect import insort
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

from remedials.visits.planner.problem import MINUTES_A_DAY, Fixed, Job, Problem, Shift, Window

ROUND_TO = (15, 5)  # minutes, as people make appointments


def rounded(first: int, last: int) -> int:
    """The first time on a round number of minutes that is no later than `last`; else `first`."""
    return next((at for step in ROUND_TO if (at := -(-first // step) * step) <= last), first)


@dataclass(frozen=True, order=True)
class Stop:
    """One visit in one engineer's day."""

    start: int
    end: int
    key: str
    place: str


@dataclass(frozen=True)
class Gap:
    """A free stretch of a day: from leaving `before` at `start` up to being at `after` by `end`."""

    before: str
    start: int
    after: str
    end: int


@dataclass(frozen=True)
class Slot:
    """Where a job fits: it may start from `first` to `last`; `drive` to get there, `detour` more than without it."""

    shift: Shift
    window: Window
    first: int
    last: int
    drive: int
    detour: int

    @property
    def start(self) -> int:
        """The first round time."""
        return rounded(self.first, self.last)


class Week:
    """Every engineer's days with the visits in them, those that stand from the beginning."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.shifts = tuple(sorted(problem.shifts, key=lambda shift: (shift.day, shift.engineer)))
        self.filled: dict[tuple[str, int], list[Stop]] = {(s.engineer, s.day): [] for s in self.shifts}
        self.times: dict[str, Window] = {}  # of the jobs that are in
        self.apart: dict[str, set[str]] = {}
        for job in problem.jobs:
            for other in job.apart:
                self.apart.setdefault(job.key, set()).add(other)
                self.apart.setdefault(other, set()).add(job.key)
        for fixed in sorted(problem.fixed, key=lambda fixed: (fixed.start, fixed.key)):
            self._stand(fixed)

    def copy(self) -> "Week":
        """The same days, to be filled on their own."""
        other = Week.__new__(Week)
        other.problem, other.shifts = self.problem, self.shifts
        other.times, other.apart = dict(self.times), self.apart
        other.filled = {key: list(stops) for key, stops in self.filled.items()}
        return other

    def leg(self, a: str, b: str) -> int:
        """Minutes from place to place; nothing where one of them is not known."""
        return self.problem.minutes[a][b] if a and b else 0

    def stops(self, shift: Shift) -> list[Stop]:
        """What is in that engineer's day, in order."""
        return self.filled[shift.engineer, shift.day]

    def put(self, shift: Shift, job: Job, start: int) -> None:
        """`job` from `start` into the day."""
        insort(self.stops(shift), Stop(start, start + job.minutes, job.key, job.place))
        self.times[job.key] = (start, start + job.minutes)

    def start_of(self, shift: Shift, key: str) -> int:
        """When the job `key` begins in that day."""
        return next(stop.start for stop in self.stops(shift) if stop.key == key)

    def take_out(self, shift: Shift, key: str) -> None:
        """The job `key` out of the day."""
        del self.times[key]
        self.filled[shift.engineer, shift.day] = [stop for stop in self.stops(shift) if stop.key != key]

    def gaps(self, shift: Shift) -> Iterator[Gap]:
        """The free stretches of a day, from leaving home to being back; none shorter than a minute.

        What stands outside the shift is where the day begins or ends instead, at the shift's own time.
        """
        place, ended, free = shift.home, 0, shift.start
        for stop in self.stops(shift):
            if min(stop.start, shift.end) > free:
                yield Gap(place, free, stop.place, min(stop.start, shift.end))
            if stop.end >= ended:
                place, ended, free = stop.place, stop.end, max(free, stop.end)
        if shift.end > free:
            yield Gap(place, free, shift.home, shift.end)

    def slots(self, shift: Shift, job: Job) -> Iterator[Slot]:
        """Every gap of the day and window of the job that go together, whoever may do the job."""
        for gap in self.gaps(shift):
            there, away = self.leg(gap.before, job.place), self.leg(job.place, gap.after)
            detour = there + away - self.leg(gap.before, gap.after)
            for window in job.windows:
                first = max(window[0], gap.start + there)
                last = min(window[1], gap.end - away) - job.minutes
                for early, late in self._beside(job, first, last):
                    yield Slot(shift, window, early, late, there, detour)

    def clashes(self, job: Job, start: int) -> bool:
        """Whether from `start` the job would be at the same time as one that it must be apart from."""
        return not any(True for _ in self._beside(job, start, start))

    def _beside(self, job: Job, first: int, last: int) -> Iterator[Window]:
        """The starts from `first` to `last` at which the job is at no time of those that it must be apart from."""
        for begin, end in sorted(self.times[key] for key in self.apart.get(job.key, ()) if key in self.times):
            if begin - job.minutes < last and first < end:
                if first <= begin - job.minutes:
                    yield first, begin - job.minutes
                first = max(first, end)
        if first <= last:
            yield first, last

    def drive_of(self, shift: Shift) -> int:
        """Minutes at the wheel on that day, home to home."""
        places = [shift.home, *(stop.place for stop in self.stops(shift)), shift.home]
        return sum(self.leg(a, b) for a, b in pairwise(places)) if self.stops(shift) else 0

    def drive_to(self, shift: Shift, key: str) -> int:
        """Minutes to the job `key` from what is before it in that day."""
        before = shift.home
        for stop in self.stops(shift):
            if stop.key == key:
                return self.leg(before, stop.place)
            before = stop.place
        raise KeyError(key)

    def is_first(self, shift: Shift, key: str) -> bool:
        """Whether the job `key` is the first of that day."""
        return self.stops(shift)[0].key == key

    def _stand(self, fixed: Fixed) -> None:
        for day in range(fixed.start // MINUTES_A_DAY, (fixed.end - 1) // MINUTES_A_DAY + 1):
            begin, end = day * MINUTES_A_DAY, (day + 1) * MINUTES_A_DAY
            for engineer in fixed.engineers:
                if (engineer, day) in self.filled:
                    part = Stop(max(begin, fixed.start), min(end, fixed.end), fixed.key, fixed.place)
                    insort(self.filled[engineer, day], part)


def may_be_sent(shift: Shift, job: Job) -> bool:
    """Whether that engineer may be sent there at all; a subcontractor to named sites only."""
    return shift.sites is None or job.site in shift.sites


def may_do_alone(shift: Shift, job: Job) -> bool:
    """Whether that engineer may do the job without anybody beside."""
    return job.crew == 1 and not shift.apprentice and job.skills <= shift.skills and may_be_sent(shift, job)
