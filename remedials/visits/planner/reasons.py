"""Sentences: why a visit is proposed then, and why a job could not be planned."""

from dataclasses import replace
from datetime import timedelta

from jobsite.words import day as date_in_words
from remedials.visits.planner.crews import crew_at
from remedials.visits.planner.problem import MINUTES_A_DAY, Job, Problem
from remedials.visits.planner.week import Week, may_be_sent, may_do_alone

CODES = ("no danger", "C3", "FI", "C2", "C1")


def why_so(problem: Problem, job: Job, drive: int, *, on: int, from_home: bool) -> str:
    """ "2 C2 items, remedy by 4 Dec 2026; 12 minutes from the visit before". On a day `on` after that one it is late."""
    parts = [job.what or CODES[job.danger]]
    if job.remedy_by is not None:
        parts.append(f"remedy by {day_in_words(problem, job.remedy_by)}{', late' if job.remedy_by < on else ''}")
    unit = "minute" if drive == 1 else "minutes"
    way = f"{drive} {unit} from {'home' if from_home else 'the visit before'}"
    return f"{', '.join(parts)}; {way}"


def day_in_words(problem: Problem, day: int) -> str:
    """A day of the plan or before it: "4 Dec 2026", or "day 3" (the first is day 1) where no date was given."""
    if problem.first is None:
        return f"day {day + 1}"
    return date_in_words(problem.first + timedelta(days=day))


def why_not(week: Week, job: Job) -> str:
    """The first reason that holds: the place, the skill, access, the crew, then that there is no room in the hours."""
    return (
        _place(job) or _sites(week, job) or _skill(week, job) or _access(week, job) or _together(week, job)
        or _hours(week, job)
    )  # fmt: skip


def _place(job: Job) -> str:
    return "" if job.place else "It is not known where this is: give the site its coordinates or a postcode."


def _sites(week: Week, job: Job) -> str:
    if not week.shifts:
        return "Nobody works on these days."
    return (
        "" if any(may_be_sent(shift, job) for shift in week.shifts) else "Nobody who works on these days may go there."
    )


def _skill(week: Week, job: Job) -> str:
    sent = [shift for shift in week.shifts if may_be_sent(shift, job)]
    missing = sorted(skill for skill in job.skills if not any(skill in shift.skills for shift in sent))
    if missing:
        return f"Nobody who works on these days has the skill: {', '.join(missing)}."
    if job.crew == 1 and not any(may_do_alone(shift, job) for shift in sent):
        if all(shift.apprentice for shift in sent):
            return "Only apprentices work on these days, and an apprentice never goes alone."
        return f"No one person who may go alone has all its skills: {', '.join(sorted(job.skills))}."
    return ""


def _access(week: Week, job: Job) -> str:
    problem = week.problem
    long_enough = [
        (max(window[0], 0), min(window[1], problem.days * MINUTES_A_DAY))
        for window in job.windows
        if min(window[1], problem.days * MINUTES_A_DAY) - max(window[0], 0) >= job.minutes
    ]
    if not long_enough:
        later = [window[0] // MINUTES_A_DAY for window in job.windows if window[0] >= problem.days * MINUTES_A_DAY]
        if later:
            return f"No access before {day_in_words(problem, min(later))}."
        return f"No access on these days for the {job.minutes} minutes that it takes."
    fit = [shift for shift in week.shifts if may_be_sent(shift, job) and (job.crew > 1 or may_do_alone(shift, job))]
    if any(min(w[1], s.end) - max(w[0], s.start) >= job.minutes for s in fit for w in long_enough):
        return ""
    return "No access while anybody works who may do it."


def _together(week: Week, job: Job) -> str:
    if job.crew == 1:
        return ""
    if not any(crew_at(_empty(week), job, day) for day in range(week.problem.days)):
        return f"It takes {job.crew} at once, and on no day are so many at work together who may do it."
    return f"It takes {job.crew} at once, and on no day are so many free together."


def _hours(week: Week, job: Job) -> str:
    empty = _empty(week)
    if not any(True for s in empty.shifts if may_do_alone(s, job) for _ in empty.slots(s, job)):
        return f"It takes {job.minutes} minutes, and with the driving that is more than any day's hours leave."
    alone = replace(job, key="")  # nothing is said of what must be apart from this
    if any(True for s in week.shifts if may_do_alone(s, job) for _ in week.slots(s, alone)):
        return "Other work here has the power off that this needs, or needs it on, in all the time that there is."
    return "No room in the hours of those who may do it."


def _empty(week: Week) -> Week:
    """The same week with nothing in it: what could be if nobody had anything else."""
    problem = week.problem
    return Week(Problem(problem.days, problem.shifts, (), problem.jobs, problem.minutes, problem.km, problem.first))
