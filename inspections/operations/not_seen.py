"""What a new inspection says of open observations that it covers: still there, not there any more, not looked at."""

from datetime import datetime
from typing import Any
from uuid import UUID

from inspections import policy
from inspections.choices import Code, Ended, InspectionState, StillThere
from inspections.models import Inspection, NotSeenAgain, Observation
from inspections.operations import ground
from inspections.operations.ending import close
from inspections.operations.keeping import keep_completion
from inspections.operations.noting import note_observation
from inspections.queries.not_seen import in_question
from inspections.verbs import Verb
from jobsite.ids import new_id
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.refused import Refused

NOT_YOURS = "Your rights do not cover answering for an earlier observation."
NOT_FI = "An FI ends in a finding: record what the investigation found, or note it again."


@operation
def note_again(inspection: Inspection, *, earlier: Observation, id: UUID, by: User, now: datetime) -> Observation:
    """Note on a draft that an `earlier` observation is still there: as it was, with the code in force, continuing it.

    Noted again already, by whomever: that one is answered. An answer that said otherwise is taken back. Raises Refused as
    `note_observation` does, and for what is not open any more.
    """
    site = ground.held_site(inspection.site)
    inspection = ground.locked(inspection)
    if made := inspection.observations.filter(continues=earlier.pk).first():
        return made
    ground.must_be_in_use(site)
    ground.in_force(earlier, "it is not noted again")
    inspection.not_seen_again.filter(observation=earlier.pk).delete()
    return note_observation(
        inspection,
        id=id,
        unit=earlier.unit,
        text=earlier.text,
        code=earlier.code,
        board=earlier.board,
        circuit=earlier.circuit,
        place=earlier.place,
        continues=earlier,
        by=by,
        now=now,
    )


@operation
def answer_not_seen(
    inspection: Inspection, *, observation: Observation, answer: str, by: User, now: datetime, seen: str = ""
) -> NotSeenAgain:
    """Say of an open observation that the inspection covers: not there any more (what was `seen`), or not looked at.

    On a draft it counts from the issue. On an issued report "not there any more" takes a qualified person and ends the
    observation at once. The same said again: nothing more happens. Raises NotAllowed, and Refused for an FI that is said
    to be gone, for what is not asked about, and at an archived site.
    """
    site = ground.held_site(inspection.site)
    inspection = ground.locked(inspection)
    _must_answer(inspection, answer, by, now)
    observation = ground.locked(observation)
    seen = seen.strip() if answer == StillThere.GONE else ""
    before = NotSeenAgain.objects.filter(inspection=inspection, observation=observation).first()
    if before and (before.answer, before.seen, before.by_id) == (answer, seen, by.pk):
        return before
    ground.must_be_in_use(site)
    _must_be_asked(inspection, observation, before)
    if answer == StillThere.GONE:
        ground.said(seen, "Say what was seen where it had been.", "seen")
        if observation.code == Code.FI:
            raise Refused(NOT_FI)
    made = before or NotSeenAgain(id=new_id(), inspection=inspection, observation=observation)
    made.answer, made.seen, made.by, made.at = answer, seen, by, now
    made.save()
    facts = {"inspection": str(inspection.pk), "answer": answer}
    record(Verb.ANSWERED, site=site.pk, subject=observation, by=by, now=now, facts=facts, words={"seen": seen})
    if answer == StillThere.GONE and inspection.state == InspectionState.ISSUED:
        _end(inspection, observation, seen, by=by, now=now)
        keep_completion([observation], by=by, now=now)
    return made


@operation
def take_back_answer(inspection: Inspection, *, observation: Observation, by: User, now: datetime) -> None:
    """Take an answer back: the observation is asked about again. Without one: nothing happens.

    Raises Refused where the answer has ended the observation: that is opened again instead.
    """
    ground.held_site(inspection.site)
    inspection = ground.locked(inspection)
    _must_answer(inspection, StillThere.NOT_LOOKED, by, now)
    observation = ground.locked(observation)
    row = NotSeenAgain.objects.filter(inspection=inspection, observation=observation).exclude(answer="").first()
    if row is None:
        return
    if observation.ended == Ended.GONE:
        raise Refused(f"Observation {observation.number} was closed by it: say there that it is there after all.")
    facts = {"inspection": str(inspection.pk), "answer_before": row.answer}
    if inspection.state == InspectionState.DRAFT:
        row.delete()
    else:
        row.answer, row.seen = StillThere.UNANSWERED, ""
        row.save(update_fields=["answer", "seen"])
    record(Verb.UNANSWERED, site=inspection.site_id, subject=observation, by=by, now=now, facts=facts)


def settle(inspection: Inspection, *, by: User, now: datetime) -> list[Observation]:
    """Inside the issue of a locked inspection, its own observations in force: what it did not note again, locked before.

    1. Answers for what it does not cover, or has noted since, fall away. A reissue takes over what the former one said.
    2. "Not there any more" ends an observation, where a qualified person issues; nothing else does.
    3. Whatever is left stays open and is marked as not confirmed by this report, answered or not.
    Returns those that ended.
    """
    asked: dict[Any, Observation] = {row.pk: row for row in in_question(inspection)}
    inspection.not_seen_again.exclude(observation__in=asked).delete()
    _take_over(inspection, asked, by=by, now=now)
    given = {row.observation_id: row for row in inspection.not_seen_again.all()}
    gone = [row for row in given.values() if row.answer == StillThere.GONE]
    ended = set()
    if policy.may_decide_codes(by, now=now):
        for row in gone:
            observation = asked[row.observation_id]
            if observation.code != Code.FI:
                _end(inspection, observation, row.seen, by=by, now=now)
                ended.add(observation.pk)
    bare = [pk for pk in asked if pk not in given]
    NotSeenAgain.objects.bulk_create(
        NotSeenAgain(inspection=inspection, observation_id=pk, by=by, at=now) for pk in bare
    )
    left = sorted(str(pk) for pk in asked if pk not in ended)
    if left:
        facts = {"observations": left, "unanswered": len(bare)}
        record(Verb.NOT_CONFIRMED, site=inspection.site_id, subject=inspection, by=by, now=now, facts=facts)
    return [asked[pk] for pk in sorted(ended)]


def _take_over(inspection: Inspection, asked: dict[Any, Observation], *, by: User, now: datetime) -> None:
    """What the report that this one replaces said of observations that nobody has answered for anew."""
    if inspection.replaces_id is None:
        return
    answered = inspection.not_seen_again.values_list("observation", flat=True)
    former = NotSeenAgain.objects.filter(inspection=inspection.replaces_id, observation__in=asked)
    NotSeenAgain.objects.bulk_create(
        NotSeenAgain(
            inspection=inspection,
            observation_id=row.observation_id,
            answer=row.answer,
            seen=row.seen,
            by=row.by,
            at=row.at,
        )
        for row in former.exclude(observation__in=answered).select_related("by")
    )


def _must_answer(inspection: Inspection, answer: str, by: User, now: datetime) -> None:
    if answer not in (StillThere.GONE, StillThere.NOT_LOOKED):
        raise Refused("Say that it is not there any more, or that nobody looked.", field="answer")
    if inspection.state == InspectionState.DRAFT:
        ground.must(policy.may_change_inspection(by, inspection), NOT_YOURS)
        return
    ground.must(policy.may_inspect(by), NOT_YOURS)
    if answer == StillThere.GONE:
        ground.must(policy.may_decide_codes(by, now=now), policy.why_not_decide(by, now=now))
    if inspection.state != InspectionState.ISSUED:
        raise Refused("This report was replaced by a reissue: answer there.")


def _must_be_asked(inspection: Inspection, observation: Observation, before: NotSeenAgain | None) -> None:
    ground.in_force(observation, "there is nothing to answer")
    asked = before is not None
    if inspection.state == InspectionState.DRAFT:
        asked = in_question(inspection).filter(pk=observation.pk).exists()
    if not asked:
        raise Refused(f"This inspection is not asked about observation {observation.number}: it does not cover it.")


def _end(inspection: Inspection, observation: Observation, seen: str, *, by: User, now: datetime) -> None:
    besides = close(observation, ended=Ended.GONE, reason=seen, now=now)
    facts = {"ended": str(Ended.GONE), "code": observation.code, "inspection": str(inspection.pk)} | besides
    words = {"reason": seen}
    record(Verb.ENDED, site=observation.site_id, subject=observation, by=by, now=now, facts=facts, words=words)
