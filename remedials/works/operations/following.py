"""Work that was planned for a defect follows it to the later observation that continues it."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from inspections.models import Observation
from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.refused import Refused
from remedials.works.models import Proof, ProofPhoto, Remedial, Remedies, Waiting
from remedials.works.operations.ground import change, keys, note
from remedials.works.states import Stage
from remedials.works.verbs import Verb

PLANNED = (Stage.TO_PRICE, Stage.QUOTED, Stage.APPROVED, Stage.BOOKED)
HURRIED = (Stage.TO_PRICE, Stage.QUOTED, Stage.APPROVED)  # a booked one is due on the day of its visit


def follow(earlier: Observation, later: Observation, *, by: Actor, now: datetime) -> dict[str, list[str]]:
    """Inside the operation that ends the locked `earlier`, which `later` continues; what went over, as facts for its entry.

    1. Work still to come remedies `later` too, and so does work done after the day on which `later` was recorded. What
       was done before did not help: the defect was found again, and somebody decides anew. So it is with work declined.
    2. Photographs of such work that wait for its closing show `later`.
    3. Where `later` must be remedied sooner, so is the next step.
    4. What `earlier` waits for, `later` waits for.
    The remedial keeps `earlier` among its observations: that is what it was made for.
    """
    remedials = [r for r in _locked_remedials(earlier) if _goes_on(r, later)]
    for remedial in remedials:
        _, new = Remedies.objects.get_or_create(remedial=remedial, observation=later)
        if new:
            _go_over(remedial, earlier, later, by=by, now=now)
    waitings = Waiting.objects.filter(observation=earlier, ended_at=None)
    waits = keys(waitings.values_list("pk", flat=True))
    waitings.update(observation=later)
    facts = {"remedials_follow": keys(r.pk for r in remedials), "waitings_follow": waits}
    return {name: found for name, found in facts.items() if found}


def _locked_remedials(observation: Observation) -> list[Any]:
    rows = Remedial.objects.filter(remedies__observation=observation).select_for_update(of=("self",)).order_by("pk")
    return list(rows)


def _goes_on(remedial: Remedial, later: Observation) -> bool:
    """Whether `remedial` can still put right what was recorded with `later`."""
    if remedial.stage in PLANNED:
        return True
    proof = remedial.proofs.filter(state=Proof.State.STANDS).first() if remedial.stage == Stage.DONE else None
    return proof is not None and remedial.step_to_come and clock.local_day(proof.done_at) > later.recorded_on


def _go_over(remedial: Remedial, earlier: Observation, later: Observation, *, by: Actor, now: datetime) -> None:
    ProofPhoto.objects.filter(remedial=remedial, proof=None, observation=earlier).update(observation=later)
    step = remedial.step_by
    if remedial.stage in HURRIED and step and later.remedy_by and later.remedy_by < step:
        step = max(clock.local_day(now), later.remedy_by)
    change(remedial, step_by=step)
    facts = {"observation": str(later.pk), "instead_of": str(earlier.pk), "step_by": step.isoformat() if step else None}
    note(Verb.FOLLOWED, remedial, by=by, now=now, facts=facts)


def go_back(
    earlier: Observation, later: Observation, went: Mapping[str, Any], *, by: Actor, now: datetime
) -> dict[str, list[str]]:
    """Inside the operation that finds the locked two to be two defects: the work that followed is for `earlier` alone again.

    `went`: what `follow` answered. Raises Refused where such work was done, or decided otherwise, since.
    """
    rows = Remedial.objects.filter(pk__in=went.get("remedials_follow", []), remedies__observation=later)
    remedials = list(rows.select_for_update(of=("self",)).order_by("pk"))
    for remedial in remedials:
        if remedial.stage not in PLANNED:
            words = remedial.get_stage_display()
            raise Refused(f"Remedial {remedial.number} is {words} since: that rests on the two being one defect.")
        ProofPhoto.objects.filter(remedial=remedial, proof=None, observation=later).update(observation=earlier)
        Remedies.objects.filter(remedial=remedial, observation=later).delete()
        change(remedial)
        back = {"observation": str(earlier.pk), "instead_of": str(later.pk)}
        note(Verb.WENT_BACK, remedial, by=by, now=now, facts=back)
    waitings = Waiting.objects.filter(pk__in=went.get("waitings_follow", []), observation=later, ended_at=None)
    waits = keys(waitings.values_list("pk", flat=True))
    waitings.update(observation=earlier)
    facts = {"remedials_back": keys(r.pk for r in remedials), "waitings_back": waits}
    return {name: found for name, found in facts.items() if found}


def take_over(copies: Mapping[UUID, Observation], *, now: datetime) -> dict[str, list[str]]:
    """Inside the operation that reissues a report: all work of its locked observations is work of their copies as well.

    `copies`: by the key of the former one. Of every stage, with the photographs that show it: it is the same record of
    the same defect, only corrected.
    """
    links = list(Remedies.objects.filter(observation__in=copies).values_list("remedial", "observation"))
    remedials = Remedial.objects.filter(pk__in={remedial for remedial, _ in links})
    locked = [row.pk for row in remedials.select_for_update(of=("self",)).order_by("pk")]
    rows = [Remedies(remedial_id=remedial, observation=copies[former]) for remedial, former in links]
    Remedies.objects.bulk_create(rows, ignore_conflicts=True)
    for photo, former in list(ProofPhoto.objects.filter(observation__in=copies).values_list("pk", "observation")):
        ProofPhoto.objects.filter(pk=photo).update(observation=copies[former])
    return {"remedials_follow": keys(locked)} if locked else {}
