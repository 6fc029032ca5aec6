"""What an earlier plan proposed, as an answer to the problem of the next one: it begins from there and changes little."""

from datetime import date

from remedials.visits.choices import ProposalState
from remedials.visits.models import Plan
from remedials.visits.planner.problem import Answer, Planned
from remedials.visits.queries.problem import Gathered
from remedials.visits.rules.times import span_of


def answer_of(plan: Plan, found: Gathered, first: date) -> Answer:
    """The open proposals of `plan` whose work is still the same, in minutes from `first`. Three statements.

    What was accepted is a visit by now, and stands; what was refused is free to be placed elsewhere.
    """
    jobs = {frozenset(keys): job for job, keys in found.work.items()}
    placed = []
    rows = plan.proposals.filter(state=ProposalState.OPEN).prefetch_related("remedials", "engineers")
    for row in rows.order_by("start", "pk"):
        job = jobs.get(frozenset(remedial.pk for remedial in row.remedials.all()))
        if job is not None and row.start >= found.from_instant:
            start, end = span_of(row.start, row.end, first)
            people = tuple(sorted(str(user.pk) for user in row.engineers.all()))
            placed.append(Planned(job, people, start, end, row.drive_minutes, row.reason))
    left = {job: "" for job in found.work if job not in {one.job for one in placed}}
    return Answer(tuple(placed), left, 0, 0, cut_short=False)
