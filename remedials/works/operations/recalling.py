"""What becomes of a reading whose instrument was found wrong: it is read again, or kept with a reason."""

from datetime import datetime
from uuid import UUID

from django.db.models import QuerySet

from inspections.models import Reading
from inspections.operations.ground import held_site, must_be_in_use
from inspections.queries.doubted import doubted_by
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import made_before
from jobsite.people.models import InstrumentFault
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.works import policy
from remedials.works.models import Proof, RecallDecision, Remedial
from remedials.works.operations.closing import CLOSED
from remedials.works.operations.ground import keys, needed, person
from remedials.works.operations.reviewing import reopen_remedial
from remedials.works.rules import says_enough
from remedials.works.verbs import Verb

Decision = RecallDecision.Decision
NOT_DOUBTED = "This reading does not rest on what was found wrong."
MEANWHILE = "Somebody decided this meanwhile: look at what was decided, then decide again if you still mean it."
CLOSED_MEANWHILE = "A remedial was closed with this reading meanwhile: look again, then decide."
SAY_WHY = "Say why it can be kept, so that somebody who was not there can follow it: what was compared, with what."


@operation
def decide_recall(
    fault: InstrumentFault,
    reading: Reading,
    *,
    id: UUID,
    decision: str,
    reason: str,
    by: Actor,
    now: datetime,
    seen: UUID | None = None,
) -> RecallDecision:
    """Decide that a doubtful reading is read again, or kept.

    1. Read again: what it proved is opened again, with the reason; its proof stays as it was given. The reading proves no
    closing any more. 2. Kept: nothing else changes; a qualified person answers for it. `seen`: the decision that stood
    when this one was made (None: none did); it stays on record as replaced. Raises NotAllowed, ChangedMeanwhile where
    another stands, Refused.
    """
    site = held_site(reading.site)
    if made := made_before(RecallDecision, id, fault_id=fault.pk, reading_id=reading.pk):
        return made
    reading = _doubtful(fault, reading)
    _must_decide(reading, decision, by=by, now=now)
    reason = needed(reason, "Say why.", field="reason")
    if decision == Decision.KEPT and not says_enough(reason):
        raise Refused(SAY_WHY, field="reason")
    _replace(fault, reading, seen, now=now)
    opened: list[UUID] = []
    if decision == Decision.AGAIN:
        must_be_in_use(site)
        opened = _open_again(fault, reading, reason, by=by, now=now)
    row = RecallDecision.objects.create(
        id=id, fault=fault, reading=reading, decision=decision, reason=reason, by=person(by), at=now
    )
    facts = {"fault": str(fault.pk), "decision": str(id), "reopened": keys(opened)}
    verb = Verb.TO_READ_AGAIN if decision == Decision.AGAIN else Verb.KEPT
    record(verb, site=site.pk, subject=reading, by=by, now=now, facts=facts, words={"reason": reason})
    return row


def _doubtful(fault: InstrumentFault, reading: Reading) -> Reading:
    found: Reading | None = doubted_by(fault).filter(pk=reading.pk).select_related("instrument").first()
    if found is None:
        raise Refused(NOT_DOUBTED)
    return found


def _must_decide(reading: Reading, decision: str, *, by: Actor, now: datetime) -> None:
    if decision == Decision.AGAIN:
        if not policy.may_reopen(by, now=now):
            raise NotAllowed("Only the office or a qualified person decides what is read again.")
    elif why := policy.why_not_keep(by, reading, now=now):
        raise NotAllowed(why)


def _replace(fault: InstrumentFault, reading: Reading, seen: UUID | None, *, now: datetime) -> None:
    """Take the decision `seen` as replaced. Raises ChangedMeanwhile where another one stands."""
    stands = RecallDecision.objects.filter(fault=fault, reading=reading, replaced_at=None).first()
    if stands is None:
        return
    if stands.pk != seen:
        raise ChangedMeanwhile(MEANWHILE, theirs=stands)
    stands.replaced_at = now
    stands.save(update_fields=["replaced_at"])


def _open_again(fault: InstrumentFault, reading: Reading, reason: str, *, by: Actor, now: datetime) -> list[UUID]:
    """Open again what `reading` proved: the remedials' keys.

    The reading's row is locked last, after the remedials, as a closing does that puts it up: of the two one comes first.
    """
    why = f"{reading.instrument} was found wrong, its reading is taken again: {reason}"
    opened = []
    for remedial in _proved(reading).order_by("pk"):
        reopen_remedial(remedial, reason=why, by=by, now=now)
        opened.append(remedial.pk)
    Reading.objects.select_for_update(of=("self",)).get(pk=reading.pk)
    if _proved(reading).exists():
        raise Refused(CLOSED_MEANWHILE)
    return opened


def _proved(reading: Reading) -> QuerySet[Remedial]:
    """The closed work that rests on `reading`."""
    proofs = Proof.objects.filter(readings=reading, state__in=[Proof.State.STANDS, Proof.State.BESIDE])
    return Remedial.objects.filter(pk__in=proofs.values("remedial"), stage__in=list(CLOSED))
