"""Where more is asked than there is room for: one visit gives way to others that are worth more together.

The solver betters routes; it seldom gives up one visit for two. Here every visit in turn is taken out, what was left
over is put in its day, most worth first, itself last, and the better of the two days is kept, until nothing gains.
"""

from collections.abc import Iterable, Mapping

from remedials.visits.planner.problem import Job, Shift
from remedials.visits.planner.week import Week, may_do_alone
from remedials.visits.planner.worth import worth

ROUNDS = 5  # over all visits, at most


def exchange(week: Week, jobs: Iterable[Job], whose: Mapping[str, Shift]) -> dict[str, tuple[Shift, int]]:
    """`week` bettered: `jobs` of one engineer that may be put in or taken out, of which those in `whose` are in.

    Returns each that is in afterwards, with whose day it is in and from when.
    """
    days = week.problem.days
    by_key = {job.key: job for job in jobs}
    inside = {key: (shift, week.start_of(shift, key)) for key, shift in whose.items()}
    inside |= _fit_in(week, [job for name, job in by_key.items() if name not in inside])
    for _ in range(ROUNDS):
        gained = False
        for key in [*sorted(inside)]:
            shift, start = inside[key]
            left = [job for name, job in by_key.items() if name not in inside and may_do_alone(shift, job)]
            before = worth(by_key[key], shift.day, days) - week.drive_of(shift)
            week.take_out(shift, key)
            put = _put_in(week, shift, left) | _put_in(week, shift, [by_key[key]])
            after = sum(worth(by_key[name], shift.day, days) for name in put) - week.drive_of(shift)
            if after > before:
                del inside[key]
                inside |= {name: (shift, at) for name, at in put.items()}
                gained = True
                continue
            for name in put:
                week.take_out(shift, name)
            week.put(shift, by_key[key], start)
        if not gained:
            break
    return inside


def _fit_in(week: Week, left: list[Job]) -> dict[str, tuple[Shift, int]]:
    """What still fits as it is, most worth first: the solver knows nothing of jobs that must be apart."""
    days = week.problem.days
    put = {}
    for job in sorted(left, key=lambda job: (-worth(job, 0, days), job.key)):
        slots = [
            (slot.detour - worth(job, shift.day, days), slot.start, shift.engineer, shift)
            for shift in week.shifts
            if may_do_alone(shift, job)
            for slot in week.slots(shift, job)
        ]
        if slots and (best := min(slots, key=lambda slot: slot[:3]))[0] < 0:
            week.put(best[3], job, best[1])
            put[job.key] = (best[3], best[1])
    return put


def _put_in(week: Week, shift: Shift, left: list[Job]) -> dict[str, int]:
    """As many of `left` as fit into that day and are worth their way, those of most worth first."""
    days = week.problem.days
    put = {}
    for job in sorted(left, key=lambda job: (-worth(job, shift.day, days), job.minutes, job.key)):
        slot = min(week.slots(shift, job), key=lambda slot: (slot.detour, slot.first), default=None)
        if slot and slot.detour < worth(job, shift.day, days):
            put[job.key] = slot.start
            week.put(shift, job, slot.start)
    return put
