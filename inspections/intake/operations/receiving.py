"""A file on its way in: received and kept, read by the worker, set aside."""

from __future__ import annotations

import hashlib
import logging
from collections.abc import Mapping
from datetime import datetime, timedelta
from functools import partial
from typing import Any
from uuid import UUID

from django.db import transaction
from django.db.models import Q

from inspections.choices import IntakeState
from inspections.intake import policy, queries
from inspections.intake.archive import is_packed, refuse_by_head
from inspections.intake.found import Found, as_found, keepable
from inspections.intake.verbs import Verb
from inspections.models import Intake
from inspections.operations import ground
from jobsite import words
from jobsite.firm.models import Progress
from jobsite.firm.operations import note_progress
from jobsite.ledger.actor import CLOCK
from jobsite.ledger.files import store_file
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.premises.models import Site, Unit
from jobsite.refused import Refused

log = logging.getLogger(__name__)

NOT_YOURS = "Only the office may take in spreadsheets."
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
PATIENCE = timedelta(minutes=1)
"""A file that nobody began to read for so long was forgotten by the broker."""
SILENCE = timedelta(minutes=16)
"""A file that is being taken in without a word for so long lost its worker: longer than any may take."""
AT_A_SWEEP = 5
STUMBLED = "The program stumbled over this file. It is kept as it came: read it again, or save it anew and send that."


@operation
def receive(
    site: Site,
    *,
    id: UUID,
    kind: str,
    data: bytes,
    file_name: str,
    unit: Unit,
    by: User,
    now: datetime,
    header: Mapping[str, Any] | None = None,
    instead_of: Intake | None = None,
) -> Intake:
    """Keep an uploaded file byte for byte, to be read by the worker.

    `header`: the particulars of an earlier report, days as ISO text, and "pasted" where it is text and no file. Raises Refused for a file that is empty, too large
    or plainly no spreadsheet, and for one that was already taken in at this site.
    `instead_of` is an upload that this one replaces: it is set aside.
    """
    site = ground.locked_site(site)
    ground.must(policy.may_take_in(by, kind), NOT_YOURS)
    if made := ground.made_before(Intake, id, site_id=site.pk):
        return made
    if unit.site_id != site.pk:
        raise Refused("This unit is not at this site.", field="unit")
    _refuse_by_content(site, kind, data)
    stored = store_file(data, media_type=XLSX if is_packed(data) else "text/csv", now=now)
    file_name = keepable(file_name)[:200]
    intake = Intake(id=id, site=site, unit=unit, kind=kind, file=stored, file_name=file_name, header=dict(header or {}))
    intake.uploaded_by, intake.uploaded_at = by, now
    intake.progress = Progress.objects.create(what=f"Reading {file_name}", changed_at=now)
    intake.save(force_insert=True)
    facts = {"kind": kind, "file": stored.hash, "bytes": len(data), "unit": str(unit.pk)}
    record(Verb.RECEIVED, site=site.pk, subject=intake, by=by, now=now, facts=facts, words={"file_name": file_name})
    if instead_of is not None:
        set_aside(instead_of, by=by, now=now, reason="Sent again, changed.")
    wake(intake)
    return intake


def _refuse_by_content(site: Site, kind: str, data: bytes) -> None:
    try:
        refuse_by_head(data)
    except Refused as refused:
        raise Refused(refused.sentence, field="file") from refused
    refuse_taken_in(site, kind, hashlib.sha256(data).hexdigest())


def refuse_taken_in(site: Site, kind: str, content_hash: str) -> None:
    """Raises Refused where the same content was already taken in at this site."""
    earlier = site.intakes.filter(kind=kind, file=content_hash, state=IntakeState.TAKEN_IN).first()
    if earlier:
        when = words.when(earlier.taken_in_at)
        raise Refused(
            f"This very file was already taken in on {when}, under the name {earlier.file_name}.", field="file"
        )


def wake(intake: Intake) -> None:
    """Tell the worker, once the row is there for it. A lost message is made good by `read_waiting`."""
    from inspections.intake import tasks

    task = tasks.take_in if intake.state == IntakeState.TAKING_IN else tasks.read
    transaction.on_commit(partial(task.apply_async, [str(intake.pk)], retry=False), robust=True)


def read(intake_id: UUID, *, now: datetime) -> Intake | None:
    """Read a received file and keep what was found in it; None where there is nothing left to read.

    May run twice or be cut off anywhere: what is found is written by one operation, and only once.
    """
    intake = Intake.objects.select_related("site", "file").filter(pk=intake_id, state=IntakeState.RECEIVED).first()
    if intake is None:
        return None
    note_progress(intake.progress_id, now=now, state=Progress.State.RUNNING, sentence="Reading the file.")
    try:
        found = as_found(queries.check(intake))
    except Refused as refused:
        return _note_unreadable(intake, sentence=refused.sentence, now=now)
    except Exception:  # whatever it was: read again by every sweep, this file would hold up all others
        log.exception("Intake %s could not be read", intake.pk)
        return _note_unreadable(intake, sentence=STUMBLED, now=now)
    return _note_found(intake, found=found, now=now)


@operation
def _note_found(intake: Intake, *, found: Found, now: datetime) -> Intake:
    intake = ground.locked(intake)
    if intake.state != IntakeState.RECEIVED:
        return intake
    intake.found, intake.state = found, IntakeState.READ
    intake.save(update_fields=["found", "state"])
    accepted, refused = len(found["accepted"]), len(found["refused"])
    rows = accepted + refused
    _progress(intake, Progress.State.DONE, "Read.", rows, now)
    facts = {"accepted": accepted, "refused": refused}
    record(Verb.READ, site=intake.site_id, subject=intake, by=CLOCK, now=now, facts=facts)
    return intake


@operation
def _note_unreadable(intake: Intake, *, sentence: str, now: datetime) -> Intake:
    intake = ground.locked(intake)
    if intake.state != IntakeState.RECEIVED:
        return intake
    intake.state = IntakeState.UNREADABLE
    intake.save(update_fields=["state"])
    sentence = keepable(sentence)
    _progress(intake, Progress.State.FAILED, sentence, 0, now)
    record(Verb.UNREADABLE, site=intake.site_id, subject=intake, by=CLOCK, now=now, words={"why": sentence})
    return intake


def _progress(intake: Intake, state: str, sentence: str, rows: int, now: datetime) -> None:
    note_progress(intake.progress_id, now=now, state=state, sentence=sentence, done=rows, total=rows)


def read_waiting(*, now: datetime) -> int:
    """Read, or take in, files that nobody has begun or finished with for a while; how many there were.

    A few at a time, the one that was tried longest ago first: a file on which the worker dies lets the others pass.
    """
    from inspections.intake.operations.by_worker import take_in_asked

    begun = Q(state=IntakeState.TAKING_IN, progress__state=Progress.State.RUNNING)
    waiting = Intake.objects.filter(
        Q(progress__changed_at__lt=now - SILENCE) | ~begun,
        state__in=[IntakeState.RECEIVED, IntakeState.TAKING_IN],
        progress__changed_at__lt=now - PATIENCE,
    )
    rows = list(waiting.order_by("progress__changed_at").values_list("pk", "state")[:AT_A_SWEEP])
    for key, state in rows:
        (read if state == IntakeState.RECEIVED else take_in_asked)(key, now=now)
    return len(rows)


@operation
def read_again(intake: Intake, *, by: User, now: datetime) -> Intake:
    """Have a file read once more, because the site has changed since. What was found before is forgotten."""
    intake = ground.locked(intake)
    ground.must(policy.may_take_in(by, intake.kind), NOT_YOURS)
    if intake.state == IntakeState.RECEIVED:
        return intake
    if intake.state not in {IntakeState.READ, IntakeState.UNREADABLE}:
        raise Refused(f"This file is {intake.get_state_display()}: it isn't read again.")
    intake.found = {}
    to_be_read(intake, now=now)
    intake.save(update_fields=["state", "found"])
    record(Verb.READ_AGAIN, site=intake.site_id, subject=intake, by=by, now=now)
    return intake


def to_be_read(intake: Intake, *, now: datetime) -> None:
    """Inside an operation that saves the upload: let the worker read it."""
    intake.state = IntakeState.RECEIVED
    _progress(intake, Progress.State.WAITING, "", 0, now)
    wake(intake)


@operation
def set_aside(intake: Intake, *, by: User, now: datetime, reason: str = "") -> Intake:
    """Decide that a file isn't taken in; it stays kept."""
    intake = ground.locked(intake)
    ground.must(policy.may_take_in(by, intake.kind), NOT_YOURS)
    if intake.state == IntakeState.SET_ASIDE:
        return intake
    if intake.state in {IntakeState.TAKEN_IN, IntakeState.TAKING_IN}:
        raise Refused(f"This file is already {intake.get_state_display()}.")
    intake.state = IntakeState.SET_ASIDE
    intake.save(update_fields=["state"])
    record(Verb.SET_ASIDE, site=intake.site_id, subject=intake, by=by, now=now, words={"reason": reason})
    return intake
