"""Alarm codes: kept sealed, shown to the booked engineer near the time, every look in the ledger."""

from datetime import datetime, timedelta
from uuid import UUID

from django.db.models import Q

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked, made_before
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.refused import NotAllowed, Refused
from remedials.visits.models import AlarmCode, Visit
from remedials.visits.operations.ground import office, site_in_use
from remedials.visits.queries.terms import diary_terms
from remedials.visits.sealing import seal, unseal
from remedials.visits.verbs import Verb
from remedials.works.operations.ground import needed

NOT_NOW = "A code is shown only to an engineer who is booked there, near the time of the visit."
LOST = "This code can no longer be read: ask the office for it and have it entered anew."


@operation
def keep_code(site: Site, *, id: UUID, place: str, code: str, by: Actor, now: datetime) -> AlarmCode:
    """Keep `code` of `site`, sealed. Nobody reads it back but an engineer near a visit. The same form again: its row.

    Raises NotAllowed, Refused.
    """
    office(by)
    site = site_in_use(site)
    if made := made_before(AlarmCode, id, site_id=site.pk):
        return made
    place = needed(place, "Say what the code is for.", field="place")
    code = needed(code, "Enter the code.", field="code")
    row = AlarmCode.objects.create(id=id, site=site, place=place, sealed=seal(code))
    record(Verb.CODE_KEPT, site=site.pk, subject=row, by=by, now=now, words={"place": place})
    return row


@operation
def retire_code(row: AlarmCode, *, by: Actor, now: datetime) -> AlarmCode:
    """The code no longer holds: what was sealed is erased. Retired already: nothing more happens."""
    office(by)
    site_in_use(row.site)
    row = locked(row)
    if row.retired_at is None:
        row.retired_at, row.sealed, row.version = now, b"", row.version + 1
        row.save(update_fields=["retired_at", "sealed", "version"])
        record(Verb.CODE_RETIRED, site=row.site_id, subject=row, by=by, now=now)
    return row


@operation
def look_at_code(row: AlarmCode, *, by: User, now: datetime) -> str:
    """The code, for an engineer booked there from `code_hours` before a visit until as long after it; the look is recorded.

    Raises NotAllowed for everybody else, and Refused for one that was retired or cannot be read.
    """
    row = locked(row)
    visit = visit_near(row.site_id, by, now=now)
    if visit is None or not by.may(Right.DO_WORK):
        raise NotAllowed(NOT_NOW)
    code = None if row.retired_at else unseal(bytes(row.sealed))
    if code is None:
        raise Refused(LOST)
    record(Verb.CODE_SEEN, site=row.site_id, subject=row, by=by, now=now, facts={"visit": str(visit.pk)})
    return code


def visit_near(site: UUID, user: User, *, now: datetime) -> Visit | None:
    """The visit of `user` to `site` that is near enough for a code to be shown."""
    around = timedelta(hours=diary_terms(clock.local_day(now)).code_hours)
    mine = Q(attendances__engineer=user, attendances__cancelled=False)
    near = Visit.objects.filter(mine, site=site, state=Visit.State.BOOKED)
    return near.filter(start__lte=now + around, end__gte=now - around).order_by("start").first()
