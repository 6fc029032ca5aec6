"""A long file is taken in by the worker: asked for here, done there in one operation, with its progress shown meanwhile."""

from __future__ import annotations

import logging
from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from inspections.choices import IntakeState
from inspections.intake.operations.leaving_out import looked_over
from inspections.intake.operations.receiving import wake
from inspections.intake.operations.taking_in import reasons_for, take_in
from inspections.intake.verbs import Verb
from inspections.models import Intake
from inspections.operations import ground
from jobsite import clock
from jobsite.firm.models import Progress
from jobsite.firm.operations import note_progress, note_progress_apart
from jobsite.ledger.actor import CLOCK
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.refused import Refused

log = logging.getLogger(__name__)
STUMBLED = "The program stumbled while taking this file in. Nothing of it was taken in; it can be tried again."


@operation
def ask_to_take_in(intake: Intake, *, left_out: Mapping[str, str], by: User, now: datetime) -> Intake:
    """Have the worker take a file in as `take_in` would; the reasons for rows left out are kept until then."""
    if Intake.objects.filter(pk=intake.pk, state__in=[IntakeState.TAKING_IN, IntakeState.TAKEN_IN]).exists():
        return intake
    intake = looked_over(intake, by)
    rows = len(intake.found["accepted"])
    if not rows:
        raise Refused("No row of this file can be taken in. Set it aside, or send it again when it is put right.")
    intake.left_out |= reasons_for(intake, [row["row"] for row in intake.found["refused"]], left_out)
    intake.state, intake.asked_by = IntakeState.TAKING_IN, by
    intake.save(update_fields=["state", "asked_by", "left_out"])
    note_progress(intake.progress_id, now=now, state=Progress.State.WAITING, sentence="", done=0, total=rows)
    facts = {"accepted": rows, "left_out": len(intake.left_out)}
    record(Verb.ASKED, site=intake.site_id, subject=intake, by=by, now=now, facts=facts)
    wake(intake)
    return intake


def take_in_asked(intake_id: UUID, *, now: datetime) -> Intake | None:
    """Take in a file that somebody asked for; None where there is nothing left to take in.

    May run twice or be cut off anywhere: it is taken in by one operation, and only once. How far it has come is told
    besides, in transactions of their own. What is refused meanwhile stands where the file is looked over.
    """
    intake = Intake.objects.select_related("site", "asked_by").filter(pk=intake_id, state=IntakeState.TAKING_IN).first()
    if intake is None or intake.asked_by is None:
        return None

    def tell(sentence: str, done: int) -> None:
        at = clock.now()  # not when it began: by this the page and the sweep know that somebody is at it
        note_progress_apart(intake.progress_id, now=at, state=Progress.State.RUNNING, sentence=sentence, done=done)

    tell("Reading the file once more.", 0)
    try:
        return take_in(intake, left_out=intake.left_out, by=intake.asked_by, now=now, tell=tell)
    except Refused as refused:
        return _note_not_taken_in(intake, sentence=refused.sentence, now=now)
    except Exception:  # whatever it was: tried again by every sweep, this file would hold up all others
        log.exception("Intake %s could not be taken in", intake.pk)
        return _note_not_taken_in(intake, sentence=STUMBLED, now=now)


@operation
def _note_not_taken_in(intake: Intake, *, sentence: str, now: datetime) -> Intake:
    intake = ground.locked(intake)
    if intake.state != IntakeState.TAKING_IN:
        return intake
    intake.state = IntakeState.READ
    intake.save(update_fields=["state"])
    note_progress(intake.progress_id, now=now, state=Progress.State.FAILED, sentence=sentence, done=0)
    record(Verb.NOT_TAKEN_IN, site=intake.site_id, subject=intake, by=CLOCK, now=now, words={"why": sentence})
    return intake
