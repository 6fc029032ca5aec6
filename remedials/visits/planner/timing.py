"""When each job of a day begins: as early as its order, its window and the driving allow, on a round time where it can."""

from collections.abc import Sequence

from remedials.visits.planner.model import Block, Choice
from remedials.visits.planner.problem import Job, Shift
from remedials.visits.planner.week import Week, rounded


def timed(week: Week, shift: Shift, order: Sequence[Choice | Block]) -> list[tuple[Job, int]]:
    """The jobs of `order` with their starts. Raises ValueError where the day cannot hold them in that order."""
    place, free = shift.home, shift.start
    starts = []
    for thing, latest in zip(order, _latest(week, shift, order), strict=True):
        if isinstance(thing, Block):
            place, free = thing.leave, thing.end
            continue
        start = rounded(max(thing.window[0], free + week.leg(place, thing.job.place)), latest)
        if start > latest:
            raise ValueError(f"{shift.key} cannot hold that in this order")
        starts.append((thing.job, start))
        place, free = thing.job.place, start + thing.job.minutes
    return starts


def _latest(week: Week, shift: Shift, order: Sequence[Choice | Block]) -> list[int]:
    """The latest start of each, from the end of the day backwards."""
    place, by = shift.home, shift.end
    found = []
    for thing in reversed(order):
        if isinstance(thing, Block):
            place, by = thing.enter, thing.start
        else:
            by = min(thing.window[1], by - week.leg(thing.job.place, place)) - thing.job.minutes
            place = thing.job.place
        found.append(by)
    return found[::-1]
