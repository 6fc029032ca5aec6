"""Between dead and live tests: that the engineer isolated, locked off and proved dead, and that it is energised again.

It is the engineer's word, kept with its time. Nothing here says that anything is dead: their tester does.
"""

from datetime import datetime
from uuid import UUID

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.refused import NotAllowed, Refused
from remedials.works import policy
from remedials.works.models import PowerStep, Remedial
from remedials.works.operations.ground import locked, needed, note, person, same_form
from remedials.works.operations.leaving import NOT_YOURS
from remedials.works.states import Stage
from remedials.works.verbs import Verb

WITH_WORK = frozenset({Stage.APPROVED, Stage.BOOKED, Stage.DONE, Stage.REVIEWED})
SAY_WHERE = "Say at which points it is off, and which locks are on them."
VERBS = {PowerStep.Kind.OFF: Verb.POWER_OFF, PowerStep.Kind.ON: Verb.POWER_ON}


@operation
def record_power(
    remedial: Remedial,
    *,
    id: UUID,
    kind: str,
    by: Actor,
    now: datetime,
    where: str = "",
    made_at: datetime | None = None,
) -> PowerStep:
    """Keep that power is off by the engineer's word (`where`: points and locks; proved dead), or on again.

    `made_at`: when it was so (None: `now`). The same `id` again answers the same. Steps only add: what was recorded wrongly
    is answered by another. Raises NotAllowed, Refused.
    """
    remedial = locked(remedial)
    if made := PowerStep.objects.filter(pk=id).first():
        return same_form(made, made.remedial_id == remedial.pk)
    if not policy.may_close(by, remedial):
        raise NotAllowed(NOT_YOURS)
    if kind not in VERBS:
        raise Refused("Say whether power is off or on again.", field="kind")
    if remedial.stage not in WITH_WORK:
        raise Refused(f"Remedial {remedial.number} is {remedial.get_stage_display()}: nothing is switched off for it.")
    where = needed(where, SAY_WHERE, field="where") if kind == PowerStep.Kind.OFF else where.strip()
    step = PowerStep.objects.create(id=id, remedial=remedial, kind=kind, where=where, by=person(by), at=made_at or now)
    facts = {"step": str(step.pk)}
    note(VERBS[PowerStep.Kind(kind)], remedial, by=by, now=now, facts=facts, words={"where": where})
    return step
