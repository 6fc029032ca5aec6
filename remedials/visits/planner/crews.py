"""Jobs that take more than one at once, placed before the search by a plain rule: the solver knows no two at one place.

The most dangerous and soonest due first; on the day that is worth most less the detours; apprentices first, since they
go only beside somebody, then whoever is nearest; each skill had by somebody who goes, and one who is no apprentice.
"""

from collections.abc import Iterable, Sequence
from itertools import combinations, islice

from remedials.visits.planner.problem import Job, Shift
from remedials.visits.planner.week import Slot, Week, may_be_sent
from remedials.visits.planner.worth import worth

LOOKED_AT = 20_000  # crews tried for one time, at most


def urgency(job: Job) -> tuple[int, int, str]:
    """The order in which jobs are looked at: the soonest due, then the most dangerous, then by key."""
    return (10**6 if job.remedy_by is None else job.remedy_by, -job.danger, job.key)


def place_crews(week: Week, jobs: Iterable[Job]) -> dict[str, tuple[tuple[str, ...], int]]:
    """Each job of several that fits, put into `week`: who goes, and from when."""
    placed = {}
    for job in sorted(jobs, key=urgency):
        found = _best(week, job)
        if found:
            shifts, start = found
            for shift in shifts:
                week.put(shift, job, start)
            placed[job.key] = (tuple(shift.engineer for shift in shifts), start)
    return placed


def makes_a_crew(shifts: Sequence[Shift], job: Job) -> bool:
    """Whether these may do the job together: as many as it takes, every skill among them, not apprentices alone."""
    skills = frozenset[str]().union(*(shift.skills for shift in shifts))
    return len(shifts) >= job.crew and job.skills <= skills and not all(shift.apprentice for shift in shifts)


def crew_at(week: Week, job: Job, day: int) -> list[tuple[int, int, tuple[Shift, ...]]]:
    """Each time of `day` when a crew is free together: detours of all in minutes, start, who."""
    slots = [
        slot for shift in week.shifts if shift.day == day and may_be_sent(shift, job) for slot in week.slots(shift, job)
    ]
    found = []
    for start in sorted({start for slot in slots for start in (slot.start, slot.first)}):
        crew = _crew([slot for slot in slots if slot.first <= start <= slot.last], job)
        if crew:
            found.append((sum(slot.detour for slot in crew), start, tuple(slot.shift for slot in crew)))
    return found


def _best(week: Week, job: Job) -> tuple[tuple[Shift, ...], int] | None:
    days = week.problem.days
    options = [
        (detours - worth(job, day, days), start, crew)
        for day in range(days)
        for detours, start, crew in crew_at(week, job, day)
    ]
    if not options:
        return None
    _, start, crew = min(options, key=lambda option: option[:2])
    return crew, start


def _crew(free: list[Slot], job: Job) -> tuple[Slot, ...] | None:
    """The first that makes a crew, who leads (no apprentice) named first."""
    nearest = {slot.shift.engineer: slot for slot in sorted(free, key=lambda slot: -slot.detour)}
    order = sorted(nearest.values(), key=lambda slot: (not slot.shift.apprentice, slot.detour, slot.shift.engineer))
    if not makes_a_crew([slot.shift for slot in order], job):
        return None
    for some in islice(combinations(order, job.crew), LOOKED_AT):
        if makes_a_crew([slot.shift for slot in some], job):
            return tuple(sorted(some, key=lambda slot: slot.shift.apprentice))
    return None
