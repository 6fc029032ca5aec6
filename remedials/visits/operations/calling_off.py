"""Cancelling a visit: its engineers are free, its work goes back."""

from datetime import datetime
from uuid import UUID

from inspections.operations.ground import held_site
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.premises.operations import take_access_back
from jobsite.refused import NotAllowed, Refused
from remedials.visits import policy
from remedials.visits.models import Attendance, Visit
from remedials.visits.operations.booking_work import still_booked
from remedials.visits.operations.telling import What, tell, tell_customer
from remedials.visits.verbs import Verb
from remedials.works.models import Remedial
from remedials.works.operations import mark_unbooked

NOT_YOURS = "Only the office may book and cancel visits."


@operation
def cancel_visit(visit: Visit, *, reason: str, by: Actor, now: datetime) -> Visit:
    """Cancel a visit: its engineers are free and told, and what is still booked on it is approved again and due today.

    What was closed meanwhile stays closed. A subcontractor of no other visit there sees the site no more; the site is
    locked first, so that a booking at the same time leaves theirs. Cancelled already: nothing more happens.
    Raises NotAllowed, and Refused for one that is over or without a reason.
    """
    if not policy.may_book(by):
        raise NotAllowed(NOT_YOURS)
    held_site(visit.site)
    back = still_booked(visit)
    visit = Visit.objects.select_for_update(of=("self",)).get(pk=visit.pk)
    if visit.state == Visit.State.CANCELLED:
        return visit
    if visit.end <= now:
        raise Refused(
            f"Visit {visit.number} is over. What is still to do on it is booked on another visit; where nobody let us in, say so."
        )
    if not (reason := reason.strip()):
        raise Refused("Say why the visit is cancelled.", field="reason")
    call_off(visit, reason=reason, back=back, by=by, now=now)
    give_back(back, by=by, now=now)
    return visit


def give_back(back: list[Remedial], *, by: Actor, now: datetime) -> None:
    """Inside an operation: `back` are approved again, due today, with whoever took their visit away."""
    for remedial in back:
        mark_unbooked(remedial, by=by, now=now)


def call_off(visit: Visit, *, reason: str, back: list[Remedial], by: Actor, now: datetime) -> None:
    """Cancel a locked visit inside an operation: its engineers are free; `back` are the remedials to be booked again."""
    going = list(User.objects.filter(attendances__visit=visit, attendances__cancelled=False).order_by("pk"))
    visit.state, visit.cancelled_reason, visit.version = Visit.State.CANCELLED, reason, visit.version + 1
    visit.save(update_fields=["state", "cancelled_reason", "version"])
    visit.attendances.update(cancelled=True)
    visit.lines.update(active=False)
    facts = {"number": visit.number, "remedials": sorted(str(r.pk) for r in back)}
    if shut_out := take_access_back(visit.site, nowhere_else(visit)):
        facts["sight_ended"] = [str(pk) for pk in shut_out]
    record(Verb.CANCELLED, site=visit.site_id, subject=visit, by=by, now=now, facts=facts, words={"reason": reason})
    tell(visit, What.CANCELLED, users=going, by=by, now=now)
    tell_customer(visit, What.CANCELLED, now=now)


def nowhere_else(visit: Visit) -> set[UUID]:
    """Those who were on the visit and now are on none at its site, to come or past."""
    rows = Attendance.objects.filter(visit__site=visit.site_id, cancelled=False)
    return set(visit.attendances.values_list("engineer", flat=True)) - set(rows.values_list("engineer", flat=True))
