"""Waiting on somebody outside: begun, chased, ended."""

from datetime import date, datetime
from uuid import UUID

from inspections.models import Observation
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.queries import told_by_form
from jobsite.people.models import User
from jobsite.refused import NotAllowed, Refused
from remedials.works import policy
from remedials.works.models import Remedial, Waiting
from remedials.works.operations.ground import (
    iso,
    key,
    keys,
    locked,
    must_be_active,
    needed,
    not_in_the_future,
    not_in_the_past,
    person,
    same_form,
)
from remedials.works.verbs import Verb

NOT_YOURS = "Only the office may keep what we wait for."


@operation
def wait_on(
    *,
    id: UUID,
    on_whom: str,
    for_what: str,
    asked_on: date,
    chase_on: date,
    by: Actor,
    now: datetime,
    observation: Observation | None = None,
    remedial: Remedial | None = None,
    reference: str = "",
    promised_for: date | None = None,
    owner: User | None = None,
) -> Waiting:
    """Note that an open observation or remedial waits on somebody outside; `owner` (else `by`) chases them.

    Raises NotAllowed, and Refused where the thing is not open or a day makes no sense.
    """
    if not policy.may_plan(by):
        raise NotAllowed(NOT_YOURS)
    thing = _locked_thing(observation, remedial)
    if made := Waiting.objects.filter(pk=id).first():
        return same_form(made, (made.observation, made.remedial) == (observation, remedial))
    _must_be_open(thing)
    must_be_active(owner)
    not_in_the_future(asked_on, now=now, field="asked_on")
    not_in_the_past(chase_on, now=now, field="chase_on")
    if promised_for and promised_for < asked_on:
        raise Refused("They cannot have promised it for a day before they were asked.", field="promised_for")
    waiting = Waiting.objects.create(
        id=id,
        site_id=thing.site_id,
        observation=observation,
        remedial=remedial,
        on_whom=needed(on_whom, "Say on whom it waits.", field="on_whom"),
        for_what=needed(for_what, "Say what it waits for.", field="for_what"),
        reference=reference.strip(),
        asked_on=asked_on,
        promised_for=promised_for,
        chase_on=chase_on,
        owner=owner or person(by),
        recorded_by=person(by),
    )
    facts = {"of": str(thing.pk), "asked_on": iso(asked_on), "promised_for": iso(promised_for)}
    facts |= {"chase_on": iso(chase_on), "owner": key(waiting.owner)}
    words = {"on_whom": waiting.on_whom, "for_what": waiting.for_what, "reference": waiting.reference}
    record(Verb.WAITS, site=waiting.site_id, subject=waiting, by=by, now=now, facts=facts, words=words)
    return waiting


def _locked_thing(observation: Observation | None, remedial: Remedial | None) -> Observation | Remedial:
    if remedial is not None:
        return locked(remedial)
    if observation is None:
        raise TypeError("an observation or a remedial waits")
    return Observation.objects.select_for_update(of=("self",)).get(pk=observation.pk)


def _must_be_open(thing: Observation | Remedial) -> None:
    """Raises Refused for what has ended: it waits for nothing."""
    if isinstance(thing, Remedial) and not thing.step_to_come:
        raise Refused(f"Remedial {thing.number} is {thing.get_stage_display()}: it waits for nothing.")
    if isinstance(thing, Observation) and thing.ended:
        raise Refused(f"Observation {thing.number} is not open any more: it waits for nothing.")


@operation
def chase(waiting: Waiting, *, id: UUID, chase_on: date, by: Actor, now: datetime, said: str = "") -> Waiting:
    """Note that they were chased today, what they said, and when to chase next.

    `id` is the form's: the same form again is the same call. Raises NotAllowed, Refused.
    """
    waiting = _locked(waiting)
    if not policy.may_plan(by):
        raise NotAllowed(NOT_YOURS)
    if told_by_form(Verb.CHASED, waiting, id):
        return waiting
    if waiting.ended_at:
        raise Refused("This waiting has ended.")
    not_in_the_past(chase_on, now=now, field="chase_on")
    waiting.chase_on = chase_on
    waiting.save(update_fields=["chase_on"])
    facts = {"form": str(id), "chase_on": iso(chase_on)}
    record(Verb.CHASED, site=waiting.site_id, subject=waiting, by=by, now=now, facts=facts, words={"said": said})
    return waiting


@operation
def end_waiting(waiting: Waiting, *, how: str, by: Actor, now: datetime) -> Waiting:
    """Note how the waiting ended. Ended already: nothing more happens. Raises NotAllowed, Refused."""
    waiting = _locked(waiting)
    if not policy.may_plan(by):
        raise NotAllowed(NOT_YOURS)
    if waiting.ended_at:
        return waiting
    waiting.ended_how = needed(how, "Say how it ended: what came, or why we wait no more.", field="how")
    waiting.ended_at = now
    waiting.save(update_fields=["ended_how", "ended_at"])
    record(Verb.WAITS_NO_MORE, site=waiting.site_id, subject=waiting, by=by, now=now, words={"how": waiting.ended_how})
    return waiting


def waits_no_more(thing: Observation | Remedial, *, now: datetime) -> dict[str, list[str]]:
    """Inside the operation that ended the locked `thing`: end what it waited on, with the reason; as facts for its entry.

    Opening it again does not revive a waiting: somebody asks again, or not.
    """
    still = thing.waitings.filter(ended_at=None)
    ended = keys(still.values_list("pk", flat=True))
    if not ended:
        return {}
    noun = "Remedial" if isinstance(thing, Remedial) else "Observation"
    how = thing.get_stage_display() if isinstance(thing, Remedial) else thing.get_ended_display()
    still.update(ended_at=now, ended_how=f"{noun} {thing.number}: {how}")
    return {"waitings_ended": ended}


def _locked(waiting: Waiting) -> Waiting:
    return Waiting.objects.select_for_update(of=("self",)).get(pk=waiting.pk)
