"""Holds: while one stands nothing of a site, or of the whole firm, is erased."""

from datetime import datetime
from uuid import UUID

from jobsite.ledger.documents import holds_on
from jobsite.ledger.models import Hold
from jobsite.ledger.operations import operation, record
from jobsite.ledger.operations_documents import HOLDS
from jobsite.ledger.rows import alone, locked, made_before
from jobsite.ledger.verbs import Verb
from jobsite.people.models import User
from jobsite.premises.models import Site
from jobsite.premises.operations.common import WENT_OVER
from jobsite.refused import NotAllowed, Refused
from remedials.status.bundles import policy

SAY_WHY = "Say what for: a claim, an accident, a request of a court or an insurer."
SAY_WHY_LIFTED = "Say why it may be lifted, and who decided that."
SAME = "It is held for just this reason already."


@operation
def place_hold(site: Site | None, *, id: UUID, reason: str, by: User, now: datetime) -> Hold:
    """Hold all that is kept of `site`, or, without one, of the whole firm. The same form again: the same hold.

    It waits for whatever is being erased just now: from the answer on nothing goes.
    Raises NotAllowed for anybody but a manager, Refused without a reason, where one stands for just that reason, or for a
    site that went over to another.
    """
    _must(by)
    key = site.pk if site else None
    alone(HOLDS)
    alone(id)
    if made := made_before(Hold, id, site=key):
        return made
    if site and (into := Site.objects.filter(merged=site).first()):
        raise Refused(WENT_OVER.format(site=site.name, into=into.name, instead="hold that one"))
    reason = reason.strip()
    if not reason:
        raise Refused(SAY_WHY, field="reason")
    if holds_on(key).filter(site=key, reason=reason).exists():
        raise Refused(SAME, field="reason")
    hold = Hold.objects.create(id=id, site=key, reason=reason, placed_by=by.pk, placed_at=now)
    record(Verb.HELD, site=key, subject=hold, by=by, now=now, words={"reason": reason})
    return hold


@operation
def lift_hold(hold: Hold, *, why: str, by: User, now: datetime) -> Hold:
    """Let what was held go by the usual times again. One that is lifted stays lifted, as it was.

    Raises NotAllowed for anybody but a manager, Refused without a reason.
    """
    _must(by)
    hold = locked(hold)
    if hold.lifted_at:
        return hold
    why = why.strip()
    if not why:
        raise Refused(SAY_WHY_LIFTED, field="why")
    hold.lifted_by, hold.lifted_at, hold.lifted_why = by.pk, now, why
    hold.save(update_fields=["lifted_by", "lifted_at", "lifted_why"])
    record(Verb.HOLD_LIFTED, site=hold.site, subject=hold, by=by, now=now, words={"why": why})
    return hold


def _must(by: User) -> None:
    if not policy.may_hold(by):
        raise NotAllowed(policy.NOT_YOUR_HOLD)
