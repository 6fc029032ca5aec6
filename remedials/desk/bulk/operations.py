"""Everything that the firm owns: asked for by a manager, made by the worker, carried away by a manager, gone after some days."""

from __future__ import annotations

import logging
import tempfile
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from typing import IO
from uuid import UUID

from celery.exceptions import SoftTimeLimitExceeded
from django.core.files.base import File
from django.core.files.storage import default_storage
from django.db import transaction
from django.db.models import Q

from jobsite import clock
from jobsite.firm.models import Progress
from jobsite.firm.operations import note_progress
from jobsite.firm.queries import the_firm
from jobsite.ledger.actor import CLOCK
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone, made_before
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.refused import NotAllowed, Refused
from remedials.desk.bulk.workbooks import write_workbooks
from remedials.desk.bulk.writing import write_archive
from remedials.desk.models import TakeOut
from remedials.desk.verbs import Verb

log = logging.getLogger(__name__)
State = Progress.State
KEPT = timedelta(days=7)
"""So long a file lies here: it holds everything, also what is erased meanwhile."""
PATIENCE = timedelta(minutes=1)
"""What nobody began for so long was forgotten by the broker."""
SILENCE = timedelta(minutes=16)
"""What is being made without a word for so long lost its worker: longer than any may take."""
STUMBLED = "The program stumbled while making this. Nothing was made; ask for it again."
TOO_LONG = (
    "This took longer than a worker may, so nothing was made. On the server, manage.py take_out has no such limit."
)
NOT_YOURS = "Only a manager may take out all that the firm owns."
ONE_AT_A_TIME = "Another is being made: wait for it, or for what it makes."
GONE = "This was removed from here. Ask for it again."


def path_of(take_out: TakeOut) -> str:
    """Where its file lies in the storage."""
    return f"taken-out/{take_out.pk}.zip"


@operation
def ask_for_take_out(*, id: UUID, kind: str, by: User, now: datetime) -> TakeOut:
    """Have all that the firm owns made into workbooks or an archive. The same form again: the same one.

    No secrets are in it. Raises NotAllowed, and Refused while another is being made.
    """
    _must(by)
    alone(id)
    if made := made_before(TakeOut, id):
        return made
    under_way = Progress.objects.select_for_update().filter(
        pk__in=TakeOut.objects.values("progress"), state__in=[State.WAITING, State.RUNNING]
    )
    if under_way.exists():
        raise Refused(ONE_AT_A_TIME)
    what = f"All that the firm owns: {TakeOut.Kind(kind).label}"
    progress = Progress.objects.create(what=what, changed_at=now)
    take_out = TakeOut.objects.create(id=id, kind=kind, progress=progress, asked_by=by, asked_at=now)
    record(Verb.ASKED, site=None, subject=take_out, by=by, now=now, facts={"kind": kind})
    wake(take_out)
    return take_out


def _must(by: User) -> None:
    if by.subcontractor or not by.may(Right.KEEP_FIRM):
        raise NotAllowed(NOT_YOURS)


def wake(take_out: TakeOut) -> None:
    """Tell the worker, once the row is there for it. A lost message is made good by `make_waiting`."""
    from remedials.desk.bulk import tasks

    transaction.on_commit(partial(tasks.make.apply_async, [str(take_out.pk)], retry=False), robust=True)


def make(key: UUID, *, now: datetime) -> TakeOut | None:
    """Make what somebody asked for; None where there is nothing left to do.

    May run twice or be cut off anywhere: one worker has it at a time. Whatever goes wrong is said where its progress is shown.
    """
    take_out = _claimed(key, now)
    if take_out is None:
        return None
    try:
        with tempfile.TemporaryFile() as file:
            fingerprint, rows = MAKERS[take_out.kind](file, now)
            size = file.tell()
            file.seek(0)
            default_storage.delete(path_of(take_out))  # half of one, left by a worker that was killed
            default_storage.save(path_of(take_out), File(file))
        return _keep(take_out, fingerprint=fingerprint, rows=rows, size=size, now=clock.now())
    except Refused as refused:
        return _failed(take_out, refused.sentence)
    except SoftTimeLimitExceeded:
        return _failed(take_out, TOO_LONG)
    except Exception:  # whatever it was: tried again by every sweep, this one would hold up all others
        log.exception("Take-out %s could not be made", take_out.pk)
        return _failed(take_out, STUMBLED)


def _archive(file: IO[bytes], now: datetime) -> tuple[str, int]:
    written = write_archive(file, secrets=False, now=now)
    return written.fingerprint, written.manifest.rows


def _workbooks(file: IO[bytes], now: datetime) -> tuple[str, int]:
    made = write_workbooks(file, now=now)
    return made.fingerprint, made.rows


MAKERS: dict[str, Callable[[IO[bytes], datetime], tuple[str, int]]] = {
    TakeOut.Kind.ARCHIVE: _archive,
    TakeOut.Kind.WORKBOOKS: _workbooks,
}


def make_waiting(*, now: datetime) -> int:
    """Make what nobody has begun, or finished, for a while, and remove what is past its days; how many were made."""
    running = Q(progress__state=State.RUNNING, progress__changed_at__lt=now - SILENCE)
    waiting = Q(progress__state=State.WAITING, progress__changed_at__lt=now - PATIENCE)
    for take_out in TakeOut.objects.filter(made_at__lt=now - KEPT, gone_at=None):
        remove_take_out(take_out, now=now)
    keys = list(TakeOut.objects.filter(running | waiting).order_by("asked_at").values_list("pk", flat=True))
    for key in keys:
        make(key, now=now)
    return len(keys)


def _claimed(key: UUID, now: datetime) -> TakeOut | None:
    """The take-out, now this worker's; None where it is made, has failed, or another has it."""
    with transaction.atomic():
        rows = TakeOut.objects.select_for_update(of=("self", "progress")).select_related("progress", "asked_by")
        take_out = rows.filter(pk=key, made_at=None).first()
        if take_out is None or take_out.progress.state in (State.DONE, State.FAILED):
            return None
        if take_out.progress.state == State.RUNNING and take_out.progress.changed_at >= now - SILENCE:
            return None
        note_progress(take_out.progress_id, now=now, state=State.RUNNING, sentence="Writing all that is on record.")
    return take_out


@operation
def _keep(take_out: TakeOut, *, fingerprint: str, rows: int, size: int, now: datetime) -> TakeOut:
    """Note that it is made; one that is made already stays."""
    row = TakeOut.objects.select_for_update().select_related("asked_by").get(pk=take_out.pk)
    if row.made_at is None:
        row.made_at, row.fingerprint, row.rows, row.size = now, fingerprint, rows, size
        row.save(update_fields=["made_at", "fingerprint", "rows", "size"])
        facts = {"kind": row.kind, "fingerprint": fingerprint, "rows": rows, "secrets": False}
        record(Verb.MADE, site=None, subject=row, by=row.asked_by, now=now, facts=facts)
        note_progress(row.progress_id, now=now, state=State.DONE, sentence="Made.", done=1, total=1)
    return row


def _failed(take_out: TakeOut, sentence: str) -> TakeOut:
    note_progress(take_out.progress_id, now=clock.now(), state=State.FAILED, sentence=sentence)
    return take_out


@operation
def carry_away(take_out: TakeOut, *, by: User, now: datetime) -> TakeOut:
    """Note in the ledger that somebody is given the file. Raises NotAllowed, and Refused where it is not here."""
    _must(by)
    take_out = TakeOut.objects.select_for_update().get(pk=take_out.pk)
    if take_out.made_at is None or take_out.gone_at or not default_storage.exists(path_of(take_out)):
        raise Refused(GONE)
    facts = {"kind": take_out.kind, "fingerprint": take_out.fingerprint}
    record(Verb.TAKEN, site=None, subject=take_out, by=by, now=now, facts=facts)
    return take_out


def drop_take_out(take_out: TakeOut, *, by: User, now: datetime) -> TakeOut:
    """A manager removes the file before its days are over. Again: harmless."""
    _must(by)
    return remove_take_out(take_out, by=by, now=now)


@operation
def remove_take_out(take_out: TakeOut, *, now: datetime, by: User | None = None) -> TakeOut:
    """Remove the file from the storage; the row tells on that it was made. By the clock, where `by` is nobody."""
    take_out = TakeOut.objects.select_for_update().get(pk=take_out.pk)
    if take_out.made_at and not take_out.gone_at:
        take_out.gone_at = now
        take_out.save(update_fields=["gone_at"])
        record(Verb.GONE, site=None, subject=take_out, by=by or CLOCK, now=now)
        transaction.on_commit(partial(default_storage.delete, path_of(take_out)))
    return take_out


@operation
def note_taken_out(kind: str, fingerprint: str, *, secrets: bool, now: datetime) -> None:
    """Note that somebody on the server had all taken out by the command."""
    facts = {"kind": kind, "fingerprint": fingerprint, "secrets": secrets, "command": True}
    record(Verb.MADE, site=None, subject=the_firm(), by=CLOCK, now=now, facts=facts)
