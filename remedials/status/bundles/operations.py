"""An archive of the record: asked for by a person, drawn by the worker, kept as a document whose hash is in the ledger."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from datetime import datetime, timedelta
from functools import partial
from uuid import UUID

from celery.exceptions import SoftTimeLimitExceeded
from django.db import transaction
from django.db.models import Q

from jobsite import clock
from jobsite.firm.models import Progress
from jobsite.firm.operations import note_progress
from jobsite.ledger.documents import About
from jobsite.ledger.models import Document
from jobsite.ledger.operations import ChainClosed, operation, record
from jobsite.ledger.operations_documents import keep_document
from jobsite.ledger.rows import alone, made_before
from jobsite.people.models import User
from jobsite.premises.models import Site
from jobsite.premises.operations.common import site_of_its_own
from jobsite.refused import NotAllowed, Refused
from jobsite.words import when
from remedials.status.bundles import as_of, assessor, policy
from remedials.status.bundles.packing import ZIP
from remedials.status.models import Bundle
from remedials.status.verbs import Verb
from remedials.works.models import Remedial

log = logging.getLogger(__name__)
PATIENCE = timedelta(minutes=1)
"""What nobody began for so long was forgotten by the broker."""
SILENCE = timedelta(minutes=16)
"""What is being drawn without a word for so long lost its worker: longer than any may take."""
AT_A_SWEEP = 2
MOST_JOBS = 40
STUMBLED = "The program stumbled while drawing this. Nothing was made; ask for it again."
TOO_LONG = "This took longer than it may, so nothing was made. Choose an earlier date, or fewer jobs."
WENT_OVER = (
    "This site was recorded twice, and went over to the other record of it while this was drawn. Nothing was made; "
    "ask for it again, and it tells of both."
)
AHEAD = "This moment is still to come: nobody knows yet what the record will say. Choose one that is past."
SAY_WHY = "Say whom it is for, and why."
MAKERS: dict[str, Callable[[Bundle], tuple[bytes, str]]] = {
    Bundle.Kind.AS_OF: as_of.archive,
    Bundle.Kind.ASSESSOR: assessor.archive,
}


@operation
def ask_for_bundle(site: Site, *, id: UUID, instant: datetime, reason: str, by: User, now: datetime) -> Bundle:
    """Have what was on record of `site` by `instant` drawn out as one archive. The same form again: the same one.

    Raises NotAllowed, Refused without a reason, for a moment to come, and for a site that went over to another.
    """
    _must(by)
    site = site_of_its_own(site, "ask there")
    alone(id)
    if made := made_before(Bundle, id, site_id=site.pk, kind=Bundle.Kind.AS_OF):
        return made
    if instant > now:
        raise Refused(AHEAD, field="instant")
    bundle = Bundle(id=id, kind=Bundle.Kind.AS_OF, site=site, as_of=instant)
    return _asked(bundle, f"The record of {site.name}, as of {when(instant)}", reason, by=by, now=now)


@operation
def ask_for_pack(numbers: Sequence[int], *, id: UUID, reason: str, by: User, now: datetime) -> Bundle:
    """Have the proof of remedials, by their numbers, put together for the firm's assessor. The same form again: the same one.

    Raises NotAllowed; Refused without a reason, for a number that is not there, and for too many.
    """
    _must(by)
    alone(id)
    if made := made_before(Bundle, id, kind=Bundle.Kind.ASSESSOR):
        return made
    wanted = sorted(set(numbers))
    if not wanted:
        raise Refused("Write the number of at least one remedial.", field="jobs")
    if len(wanted) > MOST_JOBS:
        raise Refused(f"At most {MOST_JOBS} at once: an assessor looks at a few.", field="jobs")
    seen = Remedial.objects.filter(number__in=wanted, site__in=Site.objects.visible_to(by))
    there = set(seen.values_list("number", flat=True))
    if gone := [str(number) for number in wanted if number not in there]:
        raise Refused(f"There is no remedial {', '.join(gone)}.", field="jobs")
    bundle = Bundle(id=id, kind=Bundle.Kind.ASSESSOR, as_of=now, jobs=wanted)
    return _asked(bundle, f"The assessor's pack, {len(wanted)} jobs", reason, by=by, now=now)


def _must(by: User) -> None:
    if not policy.may_draw(by):
        raise NotAllowed(policy.NOT_YOURS)


def _asked(bundle: Bundle, what: str, reason: str, *, by: User, now: datetime) -> Bundle:
    bundle.reason = reason.strip()
    if not bundle.reason:
        raise Refused(SAY_WHY, field="reason")
    bundle.progress = Progress.objects.create(what=what, changed_at=now)
    bundle.asked_by, bundle.asked_at = by, now
    bundle.save(force_insert=True)
    facts = {"kind": bundle.kind, "as_of": bundle.as_of.isoformat(timespec="seconds")}
    facts |= {"jobs": bundle.jobs} if bundle.jobs else {}  # type: ignore[dict-item]
    record(
        Verb.BUNDLE_ASKED,
        site=bundle.site_id,
        subject=bundle,
        by=by,
        now=now,
        facts=facts,
        words={"reason": bundle.reason},
    )
    wake(bundle)
    return bundle


def wake(bundle: Bundle) -> None:
    """Tell the worker, once the row is there for it. A lost message is made good by `draw_waiting`."""
    from remedials.status import tasks

    transaction.on_commit(partial(tasks.draw.apply_async, [str(bundle.pk)], retry=False), robust=True)


def draw(bundle_id: UUID, *, now: datetime) -> Bundle | None:
    """Draw an archive that somebody asked for; None where there is nothing left to do.

    May run twice or be cut off anywhere: one worker has it at a time, and it is kept by one operation, once. It is made
    while no lock is held. Whatever goes wrong is said where its progress is shown.
    """
    bundle = _claimed(bundle_id, now)
    if bundle is None:
        return None
    try:
        data, fingerprint = MAKERS[bundle.kind](bundle)
        return _keep(bundle, data, fingerprint, now=clock.now())
    except Refused as refused:
        return _failed(bundle, refused.sentence)
    except ChainClosed:
        return _failed(bundle, WENT_OVER)
    except SoftTimeLimitExceeded:
        return _failed(bundle, TOO_LONG)
    except Exception:  # whatever it was: tried again by every sweep, this one would hold up all others
        log.exception("Bundle %s could not be drawn", bundle.pk)
        return _failed(bundle, STUMBLED)


def draw_waiting(*, now: datetime) -> int:
    """Draw what nobody has begun, or finished, for a while; how many there were."""
    running = Q(progress__state=Progress.State.RUNNING, progress__changed_at__lt=now - SILENCE)
    waiting = Q(progress__state=Progress.State.WAITING, progress__changed_at__lt=now - PATIENCE)
    rows = Bundle.objects.filter(running | waiting, document=None, kind__in=MAKERS)
    keys = list(rows.order_by("asked_at").values_list("pk", flat=True)[:AT_A_SWEEP])
    for key in keys:
        draw(key, now=now)
    return len(keys)


def _claimed(bundle_id: UUID, now: datetime) -> Bundle | None:
    """The bundle, now this worker's; None where it is made, has failed, or another has it."""
    with transaction.atomic():
        # With its progress: whoever waits here must read what the one before wrote there, not what stood when it began to wait.
        rows = Bundle.objects.select_for_update(of=("self", "progress")).filter(
            pk=bundle_id, document=None, kind__in=MAKERS
        )
        bundle = rows.select_related("site", "progress", "asked_by").first()
        if bundle is None or bundle.progress.state in (Progress.State.DONE, Progress.State.FAILED):
            return None
        if bundle.progress.state == Progress.State.RUNNING and bundle.progress.changed_at >= now - SILENCE:
            return None
        note_progress(
            bundle.progress_id, now=now, state=Progress.State.RUNNING, sentence="Gathering what is on record."
        )
    return bundle


@operation
def _keep(bundle: Bundle, data: bytes, fingerprint: str, *, now: datetime) -> Bundle:
    """Keep the archive as a document; one that is kept already stays."""
    title, name = titles(bundle)
    about = About(kind=KINDS[bundle.kind], site=bundle.site_id, as_of=clock.local_day(bundle.as_of))
    document: Document = keep_document(
        about,
        data,
        id=bundle.pk,
        title=title,
        name=name,
        media_type=ZIP,
        fingerprint=fingerprint,
        by=bundle.asked_by,
        now=now,
    )
    Bundle.objects.filter(pk=bundle.pk).update(document=document)
    bundle.document = document
    note_progress(bundle.progress_id, now=now, state=Progress.State.DONE, sentence="Made.", done=1, total=1)
    return bundle


KINDS: dict[str, str] = {Bundle.Kind.AS_OF: "bundle", Bundle.Kind.ASSESSOR: "assessor"}
"""What such a document is called in `ledger.Document.kind`."""


def titles(bundle: Bundle) -> tuple[str, str]:
    """What the archive is called, and its name as a file."""
    on = clock.local_day(bundle.as_of).isoformat()
    if bundle.kind == Bundle.Kind.ASSESSOR:
        return f"Assessor's pack, {len(bundle.jobs)} jobs", f"assessors-pack-{on}.zip"
    site = bundle.site
    number = site.number if site else 0
    return f"Record of site {number} as of {when(bundle.as_of)}", f"record-site-{number}-{on}.zip"


def _failed(bundle: Bundle, sentence: str) -> Bundle:
    note_progress(bundle.progress_id, now=clock.now(), state=Progress.State.FAILED, sentence=sentence)
    return bundle


@operation
def ask_again(bundle: Bundle, *, by: User, now: datetime) -> Bundle:
    """Have an archive drawn that failed. One that is made, or being made, stays as it is."""
    _must(by)
    if bundle.site:
        site_of_its_own(bundle.site, "open this archive again")
    progress = Progress.objects.select_for_update().get(pk=bundle.progress_id)
    if progress.state == Progress.State.FAILED:
        note_progress(progress.pk, now=now, state=Progress.State.WAITING, sentence="")
        record(
            Verb.BUNDLE_ASKED,
            site=bundle.site_id,
            subject=bundle,
            by=by,
            now=now,
            facts={"kind": bundle.kind, "again": True},
        )
        wake(bundle)
    return bundle
