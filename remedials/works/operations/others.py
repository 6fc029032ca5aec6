"""Work that others did: their paper, accepted item by item."""

from datetime import date, datetime

from inspections.operations import end_observation
from jobsite.ledger.actor import Actor
from jobsite.ledger.models import StoredFile
from jobsite.ledger.operations import operation
from jobsite.refused import NotAllowed, Refused
from remedials.works import policy
from remedials.works.models import Remedial, WayOut
from remedials.works.operations.ground import (
    change,
    iso,
    locked_with_observations,
    moved,
    needed,
    not_in_the_future,
    note,
    person,
    same_again,
)
from remedials.works.operations.making import NOT_YOURS
from remedials.works.operations.waiting import waits_no_more
from remedials.works.queries.closing import still_to_come
from remedials.works.rules import TO_BE_REVIEWED
from remedials.works.states import Move, Stage
from remedials.works.verbs import Verb


@operation
def done_by_others(
    remedial: Remedial,
    *,
    who: str,
    reference: str,
    on: date,
    by: Actor,
    now: datetime,
    reason: str = "",
    file: StoredFile | None = None,
) -> Remedial:
    """Record that somebody else did the work on that day, with the `reference` of their certificate or letter.

    Ends the observations as done by others, but for those that another remedial keeps open. A C1, C2, FI or uncoded
    item needs the reference or the file. The same again: nothing more happens. Raises NotAllowed, Refused.
    """
    remedial, observations = locked_with_observations(remedial)
    if not policy.may_plan(by):
        raise NotAllowed(NOT_YOURS)
    who = needed(who, "Say who did the work.", field="who")
    said = {"stage": Stage.BY_OTHERS, "who": who, "reason": reason, "on": on, "reference": reference, "file": file}
    if remedial.stage == Stage.BY_OTHERS and same_again(remedial.ways_out, said):
        return remedial
    stage = moved(remedial, Move.TAKE_OVER)
    not_in_the_future(on, now=now, field="on")
    rest = [o for o in observations if not o.ended]
    if not (reference.strip() or file) and any(o.code in TO_BE_REVIEWED for o in rest):
        raise Refused("Name their certificate or letter: this item is dangerous or not coded.", field="reference")
    change(remedial, stage=stage, owner=None, step_by=None)
    WayOut.objects.create(remedial=remedial, recorded_by=person(by), recorded_at=now, **said)
    facts = {"on": iso(on), "file": file.hash if file else None} | waits_no_more(remedial, now=now)
    words = {"who": who, "reference": reference, "reason": reason}
    note(Verb.BY_OTHERS, remedial, by=by, now=now, facts=facts, words=words)
    open_still = still_to_come(rest, besides=remedial)
    why = ": ".join(filter(None, [f"Done by {who}", reference.strip()]))
    for observation in rest:
        if observation.pk not in open_still:
            end_observation(observation, ended="others", reason=why, by=person(by), now=now)
    return remedial
