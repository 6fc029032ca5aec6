"""What it is worth to plan a job on a day, in minutes of driving: the one scale on which the search weighs.

A rule of this program, not of the trade: danger goes before dates, dates before driving. The figures are chosen so that
planning a job late is always worth more than not planning it, and a day late is never made good by driving saved.
"""

from remedials.visits.planner.problem import Job

BASE = 2_000  # more than anybody drives for one visit
DANGER = 1_500  # for each step of danger
DUE = 6_000  # more where the day to remedy it by lies before the end of the plan
LATE = 1_000  # for each day late: twice a working day at the wheel
LATE_AT_MOST = 5  # days; later than late enough is all the same, and the job still worth its while
WAITS = (0, 0, 5, 8, 60)  # for each day that danger 0, 1 (C3), 2 (FI), 3 (C2), 4 (C1) stays
WAITS_AT_MOST = 7  # days
MOVED = 15  # for each visit of the last plan that would change


def days_late(job: Job, day: int) -> int:
    """By how many days of the plan the job is late on `day`; what was late before the plan counts from its first day."""
    return 0 if job.remedy_by is None else max(0, day - max(job.remedy_by, -1))


def worth(job: Job, day: int, days: int) -> int:
    """How many minutes of driving it is worth to do `job` on `day` of a plan of `days`; always above 0."""
    due = job.remedy_by is not None and job.remedy_by < days
    value = BASE + DANGER * job.danger + (DUE if due else 0)
    waits = WAITS[job.danger] * min(day, WAITS_AT_MOST)
    return value - waits - LATE * min(days_late(job, day), LATE_AT_MOST)
