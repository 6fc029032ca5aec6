"""Work that others did: their paper, accepted item by item."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Any

from inspections.models import Observation
from inspections.operations import end_observation
from jobsite.ledger.actor import Actor
from jobsite.ledger.models import StoredFile
from jobsite.ledger.operations import operation
from jobsite.people.models import Competence, User
from jobsite.refused import NotAllowed, Refused
from jobsite.words import day, joined
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
    items: Iterable[Observation] | None = None,
    looked_by: User | None = None,
    looked_on: date | None = None,
) -> Remedial:
    """Record that somebody else did the work on that day, with the `reference` of their certificate or letter.

    `items`: those of its observations that the paper covers (None: all that are open). They end as done by others, but for
    those that another remedial keeps open; while one that it does not cover is open, the remedial goes on for that. A C1,
    C2, FI or uncoded item needs the reference or the file. `looked_by`, `looked_on`: the qualified person of ours who
    inspected it since, else it is accepted on paper alone. The same again: nothing more happens.
    Raises NotAllowed, Refused.
    """
    remedial, observations = locked_with_observations(remedial)
    if not policy.may_plan(by):
        raise NotAllowed(NOT_YOURS)
    who = needed(who, "Say who did the work.", field="who")
    said = {"stage": Stage.BY_OTHERS, "who": who, "reason": reason, "on": on, "reference": reference, "file": file}
    said |= {"looked_by": looked_by, "looked_on": looked_on}
    covered, left = _covered(observations, items)
    if (remedial.stage == Stage.BY_OTHERS or not covered) and same_again(remedial.ways_out, said):
        return remedial
    stage = moved(remedial, Move.TAKE_OVER)
    if left and not covered:
        raise Refused("Choose what their paper covers, of what is still open.", field="items")
    not_in_the_future(on, now=now, field="on")
    if not (reference.strip() or file) and any(o.code in TO_BE_REVIEWED for o in covered):
        raise Refused("Name their certificate or letter: this item is dangerous or not coded.", field="reference")
    _looked_at(looked_by, looked_on, on=on, now=now)
    facts: dict[str, Any] = {"on": iso(on), "file": file.hash if file else None}
    facts |= {"looked_by": str(looked_by.pk), "looked_on": iso(looked_on)} if looked_by else {}
    if left:
        facts["items"] = [o.number for o in covered]
    else:
        change(remedial, stage=stage, owner=None, step_by=None)
        facts |= waits_no_more(remedial, now=now)
    WayOut.objects.create(remedial=remedial, recorded_by=person(by), recorded_at=now, **said)
    words = {"who": who, "reference": reference, "reason": reason}
    note(Verb.BY_OTHERS, remedial, by=by, now=now, facts=facts, words=words)
    looked = f"looked at by {looked_by.name} on {day(looked_on)}" if looked_by else ""
    why = joined(joined(f"Done by {who}", reference.strip(), by=": "), looked, by="; ")
    open_still = still_to_come(covered, besides=remedial)
    for observation in covered:
        if observation.pk not in open_still:
            end_observation(observation, ended="others", reason=why, by=person(by), now=now, done_on=on)
    return remedial


def _covered(
    observations: list[Observation], items: Iterable[Observation] | None
) -> tuple[list[Observation], list[Observation]]:
    """Of the open ones those that the paper covers, and those that it does not."""
    chosen = None if items is None else {item.pk for item in items}
    still_open = [o for o in observations if not o.ended]
    covered = [o for o in still_open if chosen is None or o.pk in chosen]
    return covered, [o for o in still_open if o not in covered]


def _looked_at(who: User | None, when: date | None, *, on: date, now: datetime) -> None:
    """Raises Refused unless both or none is said, and a qualified person looked after the work was done."""
    if who is None and when is None:
        return
    if who is None or when is None:
        raise Refused("Say both who of ours looked at it and on which day, or neither.", field="looked_on")
    not_in_the_future(when, now=now, field="looked_on")
    if when < on:
        raise Refused("They looked before the work was done: choose a later day.", field="looked_on")
    if not Competence.objects.on(when).filter(user=who).exists():
        raise Refused(f"{who.name} was no qualified person on {day(when)}.", field="looked_by")
