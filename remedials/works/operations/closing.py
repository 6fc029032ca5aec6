"""Closing with proof: photographs one by one, then everything together."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from typing import Any, NamedTuple
from uuid import UUID

from inspections.models import Observation, Reading
from inspections.operations import end_observation
from inspections.queries.doubted import with_doubt
from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.models import StoredFile
from jobsite.ledger.operations import operation
from jobsite.ledger.operations_documents import refuse_if_held
from jobsite.ledger.photographs import store_photograph
from jobsite.people.models import Competence, User
from jobsite.refused import NotAllowed, Refused
from remedials.works import policy
from remedials.works.models import Proof, ProofPhoto, RecallDecision, Remedial, Stint
from remedials.works.operations.ground import (
    change,
    keys,
    locked,
    locked_with_observations,
    moved,
    note,
    person,
    same_form,
    step_date,
)
from remedials.works.operations.leaving import Material, add_stint, stint_facts, stint_words
from remedials.works.operations.notifying import notices_owed
from remedials.works.operations.waiting import waits_no_more
from remedials.works.queries.closing import (
    closed_words,
    fresh_readings,
    key_of,
    proof_standing,
    still_to_come,
    what_is_missing,
)
from remedials.works.rules import needs_review
from remedials.works.states import Move, Stage
from remedials.works.verbs import Verb

NOT_AN_ENGINEER = "Only an engineer who sees this site may close its remedials."
CLOSED = frozenset({Stage.DONE, Stage.REVIEWED})


@operation
def add_proof_photo(
    remedial: Remedial, *, data: bytes, by: Actor, now: datetime, observation: Observation | None = None
) -> ProofPhoto:
    """Keep a photograph taken after the work, of one observation or (None) of all the remedial's.

    The same picture again is the same row. It is kept whatever the office decided before it arrived: it only adds. Raises
    NotAllowed, and Refused for what is no photograph and for a picture that an earlier closing used.
    """
    # The row of the photo holds its observation: locked first, as closing does, so that the two never wait crosswise.
    remedial, observations = locked_with_observations(remedial)
    if not policy.may_close(by, remedial):
        raise NotAllowed(NOT_AN_ENGINEER)
    if observation and observation not in observations:
        raise Refused("This remedial does not remedy that observation.", field="observation")
    file, picture = store_photograph(data, now=now)
    same = ProofPhoto.objects.filter(remedial=remedial, observation=observation, file=file).first()
    if same and same.proof_id:
        raise Refused("This photo was put up with an earlier closing: take a new one.", field="photo")
    if same:
        return same
    photo = ProofPhoto.objects.create(
        remedial=remedial, observation=observation, file=file, width=picture.width, height=picture.height,
        taken=picture.taken, added_by=person(by), added_at=now,
    )  # fmt: skip
    facts = {"photo": str(photo.pk), "file": file.hash, "observation": str(observation.pk) if observation else None}
    note(Verb.PHOTO_ADDED, remedial, by=by, now=now, facts=facts)
    return photo


@operation
def remove_proof_photo(photo: ProofPhoto, *, by: Actor, now: datetime) -> Remedial:
    """Take away a photograph that no closing has used yet. Raises NotAllowed, Refused; gone already is no error."""
    remedial = locked(photo.remedial)
    if not policy.may_close(by, remedial):
        raise NotAllowed(NOT_AN_ENGINEER)
    kept = ProofPhoto.objects.filter(pk=photo.pk).first()
    if kept is None:
        return remedial
    if kept.proof_id:
        raise Refused("This photo belongs to a closing and stays.")
    refuse_if_held(remedial.site_id)
    facts = {"photo": str(kept.pk), "file": kept.file_id}
    kept.delete()
    note(Verb.PHOTO_REMOVED, remedial, by=by, now=now, facts=facts)
    return remedial


@operation
def close_remedial(
    remedial: Remedial,
    *,
    id: UUID,
    by: Actor,
    now: datetime,
    readings: Sequence[Reading] = (),
    note: str = "",
    certificate_number: str = "",
    certificate_file: StoredFile | None = None,
    no_photo_reason: str = "",
    exception_reason: str = "",
    supervisor_name: str = "",
    beside: bool = False,
    minutes: int | None = None,
    used: Sequence[Material] = (),
    made_at: datetime | None = None,
) -> Proof:
    """Close a remedial with proof: the photographs added so far, `readings`, and what is given here.

    1. The same `id` again answers the same. 2. A remedial closed already keeps its proof; this one is filed beside it:
    another engineer's always, whose work must not be lost, but one's own only where `beside` says so.
    3. Whatever is missing is refused, a sentence each. 4. C1, C2, FI, uncoded items and exceptions then wait for a
    qualified person's review; others end their observations now. `minutes` and what was `used` are kept as this engineer's
    stint. `made_at`: when it was done (None: `now`). Raises NotAllowed, Refused.
    """
    remedial, observations = locked_with_observations(remedial)
    if made := Proof.objects.filter(pk=id).first():
        return same_form(made, made.remedial_id == remedial.pk)
    if not policy.may_close(by, remedial):
        raise NotAllowed(NOT_AN_ENGINEER)
    given: dict[str, Any] = {
        "note": note,
        "certificate_number": certificate_number.strip(),
        "certificate_file": certificate_file,
        "no_photo_reason": no_photo_reason.strip(),
        "exception_reason": exception_reason.strip(),
        "supervisor_name": supervisor_name.strip(),
    }
    spent = Spent(minutes, used, made_at or now)
    readings = _usable(remedial, readings)
    if remedial.stage in CLOSED:
        _must_be_meant(remedial, by, beside=beside)
        state = Proof.State.BESIDE
        return _file(
            remedial, Verb.FILED_BESIDE, {}, spent, id=id, readings=readings, state=state, by=by, now=now, **given
        )
    stage = moved(remedial, Move.CLOSE)
    _nothing_missing(remedial, readings, given)
    remedial.stage = stage
    facts = waits_no_more(remedial, now=now)
    state = Proof.State.STANDS
    proof = _file(remedial, Verb.CLOSED, facts, spent, id=id, readings=readings, state=state, by=by, now=now, **given)
    _to_review_or_ended(proof, observations, stage, by=by, now=now)
    return proof


def _to_review_or_ended(
    proof: Proof, observations: list[Observation], stage: Stage, *, by: Actor, now: datetime
) -> None:
    """What closing leads to: the review of a qualified person, or the end of the observations."""
    remedial, rest = proof.remedial, [o for o in observations if not o.ended]
    codes = [o.code for o in observations if o.code or not o.ended]
    if needs_review(codes, exception=bool(proof.exception_reason)):
        change(remedial, stage=stage, owner=reviewer_for(proof, now=now), step_by=step_date(rest, now=now))
    else:
        change(remedial, stage=stage, owner=None, step_by=None)
        end_remedied(remedial, rest, by=by, now=now, done_on=clock.local_day(proof.done_at))
    notices_owed(remedial, done_at=proof.done_at, by=by, now=now)


def _must_be_meant(remedial: Remedial, by: Actor, *, beside: bool) -> None:
    """Raises Refused where the same engineer closes once more without saying that they know."""
    first = proof_standing(remedial)
    if first and first.done_by_id == by.actor_id and not beside:
        raise Refused(f"{closed_words(first)} Say so if what you add is to be filed beside it.", field="beside")


def _usable(remedial: Remedial, readings: Sequence[Reading]) -> list[Reading]:
    """The readings as they stand now, with whether their instrument was found wrong since.

    Raises Refused for those that prove nothing here: of another site, too old, used by an earlier closing, to be read
    again since their instrument was found wrong. Their rows are locked: of a closing and that decision one comes first.
    """
    if not readings:
        return []
    held = Reading.objects.filter(pk__in=[r.pk for r in readings]).order_by("pk")
    again = RecallDecision.objects.filter(reading__in=list(held.select_for_update(of=("self",), no_key=True)))
    if again.filter(decision=RecallDecision.Decision.AGAIN, replaced_at=None).exists():
        raise Refused("One of the readings was decided to be read again, since its instrument was found wrong.")
    fit = {reading.pk: reading for reading in fresh_readings(remedial)}
    besides = [r for r in readings if r.pk not in fit]
    asked = set(remedial.required_readings.values_list("circuit", "quantity"))
    if any(r.site_id != remedial.site_id or key_of(r) in asked for r in besides):
        raise Refused("One of the readings does not count here: read again after the work.")
    besides_now = with_doubt(Reading.objects.filter(pk__in=[r.pk for r in besides])).select_related("circuit__board")
    fit |= {reading.pk: reading for reading in besides_now}
    return [fit[reading.pk] for reading in readings]


def _nothing_missing(remedial: Remedial, readings: Sequence[Reading], given: dict[str, Any]) -> None:
    missing = what_is_missing(
        remedial,
        readings=readings,
        certificate=bool(given["certificate_number"] or given["certificate_file"]),
        no_photo_reason=given["no_photo_reason"],
        exception_reason=given["exception_reason"],
    )
    if missing:
        raise Refused(f"Still missing to close: {' '.join(missing)}")


class Spent(NamedTuple):
    """What the engineer's time came to: minutes, materials, and when they were done."""

    minutes: int | None
    used: Sequence[Material]
    at: datetime


def _file(
    remedial: Remedial,
    verb: Verb,
    besides: dict[str, list[str]],
    spent: Spent,
    *,
    id: UUID,
    readings: Sequence[Reading],
    by: Actor,
    now: datetime,
    **fields: Any,
) -> Proof:
    """The proof as a row, with the photographs that waited for it and what was `spent`; its entry with the facts `besides`."""
    proof = Proof.objects.create(id=id, remedial=remedial, done_by=person(by), done_at=spent.at, **fields)
    proof.readings.set(readings)
    waiting = ProofPhoto.objects.filter(remedial=remedial, proof=None)
    photos = keys(waiting.values_list("pk", flat=True))
    waiting.update(proof=proof)
    file = fields["certificate_file"]
    facts: dict[str, Any] = {"proof": str(id), "photos": photos, "readings": keys(r.pk for r in readings)}
    facts |= {"certificate_file": file.hash if file else None} | besides
    words = {name: text for name, text in fields.items() if isinstance(text, str) and name != "state"}
    if spent.minutes is not None or spent.used:
        stint = add_stint(remedial, id=new_id(), came=Stint.Came.FINISHED, proof=proof, by=by, **spent._asdict())
        facts |= stint_facts(stint, spent.used)
        words |= stint_words(stint, spent.used)
    note(verb, remedial, by=by, now=now, facts=facts, words=words)
    return proof


def reviewer_for(proof: Proof, *, now: datetime) -> User:
    """Whose step the review is: the first other qualified person by name, else the engineer, or who made the remedial.

    Nothing forbids another qualified person to do it; but a dangerous item must never lack an owner.
    """
    day = clock.local_day(now)
    qualified = User.objects.filter(is_active=True, competences__in=Competence.objects.on(day)).distinct()
    people = list(qualified.order_by("name", "pk"))
    others = [person for person in people if person.pk != proof.done_by_id]
    made_by = proof.remedial.made_by
    return next(iter(others or people), made_by if made_by.is_active else proof.done_by)


def end_remedied(
    remedial: Remedial, observations: Iterable[Observation], *, by: Actor, now: datetime, done_on: date
) -> list[str]:
    """End those of `observations` that nothing else keeps open, as remedied; their keys as the ledger keeps them.

    `done_on`: the day of the work, from which the law counts what is owed in writing.
    """
    rest = list(observations)
    open_still = still_to_come(rest, besides=remedial)
    ended = [o for o in rest if o.pk not in open_still]
    for observation in ended:
        reason = f"Remedial {remedial.number} closed with proof"
        end_observation(observation, ended="remedied", reason=reason, by=person(by), now=now, done_on=done_on)
    return keys(o.pk for o in ended)
