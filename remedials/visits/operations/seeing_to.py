"""What must be seen to before work begins: noted, met, withdrawn."""

from datetime import date, datetime
from uuid import UUID

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked, made_before
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site, Unit
from jobsite.refused import NotAllowed, Refused
from remedials.visits.choices import SeeToKind
from remedials.visits.models import SeeTo
from remedials.visits.operations.ground import as_seen, iso, key_of, of_site, site_in_use
from remedials.visits.verbs import Verb
from remedials.works.models import Remedial
from remedials.works.operations.ground import must_be_active, needed, not_in_the_future, person

NOT_YOURS = "Only the office and the engineers who see this site keep what must be seen to."
CHANGED = "Somebody changed this meanwhile."


@operation
def note_to_see_to(
    site: Site, *, id: UUID, kind: str, what: str, owner: User, due: date, by: Actor, now: datetime,
    unit: Unit | None = None, remedial: Remedial | None = None,
) -> SeeTo:  # fmt: skip
    """Note what `owner` must see to by the day `due` before work at `site`, its `unit`, or on `remedial` begins.

    The same form again: its row. Raises NotAllowed, Refused.
    """
    _must_see(by, site)
    site = site_in_use(site)
    of_site(unit, site)
    if remedial is not None and remedial.site_id != site.pk:
        raise Refused("This remedial is not of this site.", field="remedial")
    if made := made_before(SeeTo, id, site_id=site.pk):
        return made
    must_be_active(owner)
    what = needed(what, "Say what must be seen to.", field="what")
    row = SeeTo.objects.create(
        id=id, site=site, unit=unit, remedial=remedial, kind=SeeToKind(kind), what=what, owner=owner, by=due
    )
    facts = {
        "kind": row.kind,
        "unit": key_of(unit),
        "remedial": key_of(remedial),
        "owner": str(owner.pk),
        "by": iso(due),
    }
    record(Verb.TO_SEE_TO, site=site.pk, subject=row, by=by, now=now, facts=facts, words={"what": what})
    return row


@operation
def note_met(
    row: SeeTo, *, met_on: date, met_how: str, by: Actor, now: datetime, holds_until: date | None = None,
    version: int | None = None,
) -> SeeTo:  # fmt: skip
    """Note how and when it was seen to, and the last day on which that holds (None: for good).

    Said again later, it counts anew: a permit that ran out is asked for again. Raises NotAllowed, Refused, ChangedMeanwhile.
    """
    _must_see(by, row.site)
    site_in_use(row.site)
    row = locked(row)
    met_how = needed(met_how, "Say how it was seen to: the reference, who gave it.", field="met_how")
    if (row.met_on, row.met_how, row.holds_until) == (met_on, met_how, holds_until):
        return row
    as_seen(row, version, CHANGED)
    if row.withdrawn_at:
        raise Refused("This need not be seen to any more.")
    not_in_the_future(met_on, now=now, field="met_on")
    if holds_until and holds_until < met_on:
        raise Refused("It cannot end before it was given.", field="holds_until")
    row.met_on, row.met_how, row.holds_until, row.version = met_on, met_how, holds_until, row.version + 1
    row.save(update_fields=["met_on", "met_how", "holds_until", "version"])
    facts = {"met_on": iso(met_on), "holds_until": iso(holds_until)}
    record(Verb.SEEN_TO, site=row.site_id, subject=row, by=by, now=now, facts=facts, words={"how": met_how})
    return row


@operation
def need_not(row: SeeTo, *, why: str, by: Actor, now: datetime) -> SeeTo:
    """It need not be seen to after all. Withdrawn already: nothing more happens. Raises NotAllowed, Refused."""
    _must_see(by, row.site)
    site_in_use(row.site)
    row = locked(row)
    if row.withdrawn_at is None:
        why = needed(why, "Say why it need not be seen to.", field="why")
        row.withdrawn_at, row.version = now, row.version + 1
        row.save(update_fields=["withdrawn_at", "version"])
        record(Verb.NEED_NOT, site=row.site_id, subject=row, by=by, now=now, words={"why": why})
    return row


def _must_see(by: Actor, site: Site) -> None:
    """Raises NotAllowed unless it is the office, or an engineer who sees the site."""
    sees = by.may(Right.BOOK) or (
        by.may(Right.DO_WORK) and Site.objects.visible_to(person(by)).filter(pk=site.pk).exists()
    )
    if not sees:
        raise NotAllowed(NOT_YOURS)
