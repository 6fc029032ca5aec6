"""Looks a plan over before anybody sees it. Written from what `problem` says alone; shares no code with the search.

A plan with a fault is not shown: it is a mistake of the program, which the sentences help to find.
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from remedials.visits.planner.problem import Answer, Job, Planned, Problem, Shift


@dataclass(frozen=True)
class _Stay:
    """Somebody is somewhere from `start` to `end`; `stands`: it was so before the plan."""

    key: str
    place: str
    start: int
    end: int
    stands: bool


def faults(problem: Problem, answer: Answer) -> list[str]:
    """Every way in which `answer` is no plan for `problem`, in sentences; none: it is sound."""
    jobs = {job.key: job for job in problem.jobs}
    shifts = {(shift.engineer, shift.day): shift for shift in problem.shifts}
    known = [one for one in answer.planned if one.job in jobs]
    return [
        *_account(problem, answer),
        *(fault for one in known for fault in _time(problem, jobs[one.job], one)),
        *(fault for one in known for fault in _people(jobs[one.job], one, _on_that_day(shifts, one))),
        *(fault for shift in problem.shifts for fault in _day(problem, shift, _stays(problem, answer, jobs, shift))),
        *_together(answer, jobs),
        *_driven(problem, answer, jobs),
    ]


def _account(problem: Problem, answer: Answer) -> Iterator[str]:
    """Every job is planned once, or left out once with a reason; nothing else is."""
    planned = Counter(one.job for one in answer.planned)
    asked = Counter(job.key for job in problem.jobs)
    for key, times in sorted(planned.items()):
        if key not in asked:
            yield f"{key} is planned, and nobody asked for it."
        if times > 1:
            yield f"{key} is planned {times} times."
        if key in answer.unplanned:
            yield f"{key} is planned, and also said to be left out."
    for key in sorted(asked):
        if key not in planned and not answer.unplanned.get(key):
            yield f"{key} is neither planned nor left out with a reason."
    yield from (f"{key} is left out, and nobody asked for it." for key in sorted(answer.unplanned) if key not in asked)


def _on_that_day(shifts: dict[tuple[str, int], Shift], one: Planned) -> list[Shift | None]:
    return [shifts.get((engineer, one.start // (24 * 60))) for engineer in one.engineers]


def _time(problem: Problem, job: Job, one: Planned) -> Iterator[str]:
    """It takes as long as the job does, lies whole in one of its windows and in the days of the plan."""
    if one.end - one.start != job.minutes:
        yield f"{job.key} takes {job.minutes} minutes and is planned for {one.end - one.start}."
    if not any(early <= one.start and one.end <= late for early, late in job.windows):
        yield f"{job.key} is outside its access times."
    if one.start < 0 or one.end > problem.days * 24 * 60:
        yield f"{job.key} is outside the days of the plan."
    if not job.place:
        yield f"{job.key} is planned, and it is not known where it is."


def _people(job: Job, one: Planned, theirs: list[Shift | None]) -> Iterator[str]:
    """As many go as it takes, each at work and allowed there, with all skills among them, no apprentice alone."""
    if len(set(one.engineers)) != len(one.engineers):
        yield f"{job.key} names an engineer twice."
    if len(one.engineers) != job.crew:
        yield f"{job.key} takes {job.crew} at once and {len(one.engineers)} go."
    for engineer, shift in zip(one.engineers, theirs, strict=True):
        if shift is None:
            yield f"{engineer} does not work on the day of {job.key}."
        elif shift.sites is not None and job.site not in shift.sites:
            yield f"{engineer} may not be sent to the site of {job.key}."
    at_work = [shift for shift in theirs if shift is not None]
    for skill in sorted(job.skills):
        if not any(skill in shift.skills for shift in at_work):
            yield f"{job.key} needs the skill {skill}, which nobody who goes has on that day."
    if at_work and all(shift.apprentice for shift in at_work):
        yield f"{job.key} is left to an apprentice alone."


def _stays(problem: Problem, answer: Answer, jobs: dict[str, Job], shift: Shift) -> list[_Stay]:
    """Where that engineer is on that day, in order."""
    midnight = shift.day * 24 * 60
    stays = [
        _Stay(fixed.key, fixed.place, fixed.start, fixed.end, stands=True)
        for fixed in problem.fixed
        if shift.engineer in fixed.engineers and fixed.start < midnight + 24 * 60 and fixed.end > midnight
    ]
    stays += [
        _Stay(one.job, jobs[one.job].place, one.start, one.end, stands=False)
        for one in answer.planned
        if one.job in jobs and shift.engineer in one.engineers and one.start // (24 * 60) == shift.day
    ]
    return sorted(stays, key=lambda stay: (stay.start, stay.end))


def _day(problem: Problem, shift: Shift, stays: list[_Stay]) -> Iterator[str]:
    """Nothing overlaps, there is time to drive between, and the day begins and ends at home within the shift. What
    stands may clash with what stands, and with the shift: that is not the plan's doing."""
    for at, one in enumerate(stays):
        for other in stays[at + 1 :]:
            if other.start < one.end and not (one.stands and other.stands):
                yield f"{shift.engineer} would be at {one.key} and at {other.key} at once."
    for one, other in _neighbours(stays):
        drive = _minutes(problem, one.place, other.place)
        if one.end <= other.start < one.end + drive and not (one.stands and other.stands):
            yield (
                f"{shift.engineer} has {other.start - one.end} minutes from {one.key} to {other.key}, a drive of {drive}."
            )
    if stays and not stays[0].stands and shift.start + _minutes(problem, shift.home, stays[0].place) > stays[0].start:
        yield f"{shift.engineer} would have to leave home for {stays[0].key} before the day begins."
    last = max(stays, key=lambda stay: stay.end, default=None)
    if last and not last.stands and last.end + _minutes(problem, last.place, shift.home) > shift.end:
        yield f"{shift.engineer} would be home from {last.key} after the day ends."
    for stay in stays:
        if not stay.stands and not shift.start <= stay.start <= stay.end <= shift.end:
            yield f"{stay.key} is outside the hours of {shift.engineer}."


def _neighbours(stays: list[_Stay]) -> Iterable[tuple[_Stay, _Stay]]:
    """Each stay with the one, of those that begin before it, that ends last."""
    for at, stay in enumerate(stays[1:], 1):
        yield max(stays[:at], key=lambda other: (other.end, other.start)), stay


def _together(answer: Answer, jobs: dict[str, Job]) -> Iterator[str]:
    """Nothing is done while other work takes the power that it needs, or needs the power that it takes."""
    times = {one.job: one for one in answer.planned}
    pairs = {tuple(sorted((key, other))) for key in times if key in jobs for other in jobs[key].apart if other in times}
    for one, other in sorted(pairs):
        if times[one].start < times[other].end and times[other].start < times[one].end:
            yield f"{one} and {other} would be done at the same time, and one needs the power that the other has off."


def _driven(problem: Problem, answer: Answer, jobs: dict[str, Job]) -> Iterator[str]:
    """The driving is told as it is: of all days, and to each visit."""
    whole = 0
    told = {one.job: one.drive_minutes for one in answer.planned}
    firsts = {one.job: one.engineers[0] for one in answer.planned if one.engineers}
    for shift in problem.shifts:
        place = shift.home
        stays = _stays(problem, answer, jobs, shift)
        for stay in stays:
            drive = _minutes(problem, place, stay.place)
            if not stay.stands and firsts.get(stay.key) == shift.engineer and told[stay.key] != drive:
                yield f"{stay.key} is a drive of {drive} minutes and is told as {told[stay.key]}."
            whole, place = whole + drive, stay.place
        whole += _minutes(problem, place, shift.home) if stays else 0
    if whole != answer.drive_minutes:
        yield f"The driving of all days is {whole} minutes and is told as {answer.drive_minutes}."


def _minutes(problem: Problem, here: str, there: str) -> int:
    """Of driving; a place that is not known counts for nothing."""
    return problem.minutes[here][there] if here and there else 0
