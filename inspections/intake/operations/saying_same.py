"""Saying, while a report is looked over, which open observation a row is, or that it is a new one."""

from __future__ import annotations

from datetime import datetime

from inspections.intake import queries
from inspections.intake.alike import NEW
from inspections.intake.operations.leaving_out import looked_over
from inspections.intake.verbs import Verb
from inspections.models import Intake, Observation
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.refused import Refused


@operation
def say_same(intake: Intake, *, row: str, observation: Observation | None, by: User, now: datetime) -> Intake:
    """Keep that a row is of the same defect as an open `observation`, or (None) a new one, until the file is taken in.

    It then continues that one. The same said again: nothing more happens. Raises Refused for a row that isn't there, and
    for an observation that is not open here, is younger than the report, or that another row was said to be.
    """
    intake = looked_over(intake, by)
    said = str(observation.pk) if observation else NEW
    if intake.same.get(row) == said:
        return intake
    if row not in {one["row"] for one in intake.found["accepted"]}:
        raise Refused("This row is not among those to be taken in any more. Look at the page again.")
    if observation is not None:
        _check(intake, observation)
        taken = [name for name, key in intake.same.items() if key == said]
        if taken:
            raise Refused(f"{taken[0]} was said to be observation {observation.number}: take that back first.")
    return _kept(intake, Verb.SAID_SAME, row, intake.same | {row: said}, by=by, now=now, said=said)


@operation
def ask_same_again(intake: Intake, *, row: str, by: User, now: datetime) -> Intake:
    """Take back what was said of a row. Nothing said: nothing happens."""
    intake = looked_over(intake, by)
    if row not in intake.same:
        return intake
    others = {name: said for name, said in intake.same.items() if name != row}
    return _kept(intake, Verb.UNSAID_SAME, row, others, by=by, now=now, said="")


def _check(intake: Intake, observation: Observation) -> None:
    open_here = Observation.objects.open().filter(pk=observation.pk, site=intake.site_id)
    day = queries.header_day(intake, "inspected_on")
    if not open_here.exists():
        raise Refused(f"Observation {observation.number} is not open at this site any more: choose again.")
    if day is None or observation.recorded_on > day:
        raise Refused(f"Observation {observation.number} is younger than this report.")


def _kept(intake: Intake, verb: Verb, row: str, same: dict[str, str], *, by: User, now: datetime, said: str) -> Intake:
    intake.same = same
    intake.save(update_fields=["same"])
    facts = {"observation": said} if said else {}
    record(verb, site=intake.site_id, subject=intake, by=by, now=now, facts=facts, words={"row": row})
    return intake
