"""A plain rule to compare with, as an office does it by hand: earliest date first, nearest engineer."""

from collections.abc import Iterable

from remedials.visits.planner.answers import Placed, answer_of
from remedials.visits.planner.crews import crew_at, urgency
from remedials.visits.planner.problem import Answer, Job, Problem, Shift
from remedials.visits.planner.week import Week, may_do_alone


def by_rule(problem: Problem) -> Answer:
    """Each job, soonest due first, on the first day with room, with the engineer who has least far to drive to it."""
    week = Week(problem)
    return answer_of(week, fill_by_rule(week, problem.jobs), iterations=0, cut_short=False)


def fill_by_rule(week: Week, jobs: Iterable[Job]) -> Placed:
    """`week` filled by the rule with `jobs`: who goes to each that fits, and from when."""
    placed = {}
    for job in sorted((job for job in jobs if job.place), key=urgency):
        for day in range(week.problem.days):
            found = _nearest(week, job, day)
            if found:
                shifts, start = found
                for shift in shifts:
                    week.put(shift, job, start)
                placed[job.key] = (tuple(shift.engineer for shift in shifts), start)
                break
    return placed


def _nearest(week: Week, job: Job, day: int) -> tuple[tuple[Shift, ...], int] | None:
    if job.crew > 1:
        crews = crew_at(week, job, day)
        return min(((crew, start) for _, start, crew in crews), key=lambda found: found[1], default=None)
    slots = [
        slot
        for shift in week.shifts
        if shift.day == day and may_do_alone(shift, job)
        for slot in week.slots(shift, job)
    ]
    best = min(slots, key=lambda slot: (slot.drive, slot.first, slot.shift.engineer), default=None)
    return ((best.shift,), best.first) if best else None
