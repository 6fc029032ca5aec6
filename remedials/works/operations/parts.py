"""When the parts of a remedial are there: nobody is booked for it before that day."""

from datetime import date, datetime

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.refused import NotAllowed, Refused
from remedials.works import policy
from remedials.works.models import Remedial
from remedials.works.operations.ground import as_seen, change, iso, locked, note
from remedials.works.states import TO_DO
from remedials.works.verbs import Verb


@operation
def say_when_parts_are_ready(
    remedial: Remedial, *, on: date | None, by: Actor, now: datetime, version: int | None = None
) -> Remedial:
    """Note the first day on which all parts of `remedial` are there; a day past: they are; None: none is waited for.

    A visit that is booked for before that day stays, and is warned of where it is shown. The same day again: nothing
    more happens. Raises NotAllowed, Refused where its work is over, ChangedMeanwhile.
    """
    remedial = locked(remedial)
    if not policy.may_plan(by):
        raise NotAllowed("Only the office may say when parts are ready.")
    if remedial.parts_ready_on == on:
        return remedial
    as_seen(remedial, version)
    if remedial.stage not in TO_DO:
        raise Refused(f"Remedial {remedial.number} is {remedial.get_stage_display()}: it needs no parts any more.")
    facts = {"ready_on": iso(on), "before": iso(remedial.parts_ready_on)}
    change(remedial, parts_ready_on=on)
    note(Verb.PARTS_READY, remedial, by=by, now=now, facts=facts)
    return remedial
