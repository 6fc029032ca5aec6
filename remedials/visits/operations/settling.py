"""What came of a visit besides its remedials: a line done there, or that nobody let us in."""

from datetime import datetime
from uuid import UUID

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.made import LATE
from jobsite.ledger.operations import operation, record
from jobsite.people.rights import Right
from jobsite.refused import NotAllowed, Refused
from remedials.visits import policy
from remedials.visits.choices import AttemptHow, LineKind
from remedials.visits.models import Attempt, Visit, VisitLine
from remedials.visits.operations.attempts import log_attempt
from remedials.visits.operations.booking_work import held, still_booked
from remedials.visits.verbs import Verb
from remedials.works.operations import mark_unbooked
from remedials.works.operations.ground import needed, person

NOT_YOURS = "Only the office and those who go say what came of a visit."


@operation
def settle_line(line: VisitLine, *, how: str, by: Actor, now: datetime, made_at: datetime | None = None) -> VisitLine:
    """Note that an inspection, a look or a call-out was done at its visit; `how` says what came of it.

    `made_at`: when that was said (`now`, unless it comes later, from a phone without signal). Settled already: nothing more happens. Raises NotAllowed, and Refused for a remedial (it is closed with proof), for a line
    that is off the visit, and before the day of the visit.
    """
    visit = _locked(line.visit, by)
    line = VisitLine.objects.select_for_update(of=("self",)).get(pk=line.pk)
    if line.kind == LineKind.REMEDIAL:
        raise Refused("A remedial is closed with its proof.")
    if line.settled_at is not None:
        return line
    if not line.active:
        raise Refused("This is not on the visit any more.")
    _has_come(visit, made_at or now)
    how = needed(how, "Say what came of it.", field="how")
    line.settled_at = made_at or now
    line.save(update_fields=["settled_at"])
    thing = line.unit_id or line.observation_id
    facts = {"number": visit.number, "kind": line.kind, "thing": str(thing)}
    record(Verb.LINE_SETTLED, site=visit.site_id, subject=visit, by=by, now=now, facts=facts, words={"how": how})
    return line


@operation
def no_access(
    visit: Visit,
    *,
    id: UUID,
    note: str,
    by: Actor,
    now: datetime,
    photo: bytes | None = None,
    whom: str = "the occupier",
    made_at: datetime | None = None,
) -> Visit:
    """Note that the visit took place and nobody let us in: what is booked on it is approved again, due today with the office.

    An attempt to get in is kept with `note` and the bytes of a photograph, at the time `made_at` (`now`, unless it comes
    later, from a phone without signal). The visit stays on record as it was; what was closed stays closed. The same form
    again: nothing more happens. A second report of it, or one that comes after the visit was cancelled, adds the attempt
    alone: that somebody stood before the door is evidence. Raises NotAllowed, Refused.
    """
    work_site, at = visit.site, made_at or now
    visit = _locked(visit, by, late=now - at > LATE)
    note = needed(note, "Say what you found: who was rung, what was said, how long you waited.", field="note")

    def attempt() -> None:
        log_attempt(
            work_site, id=id, how=AttemptHow.VISIT, at=at, whom=whom, said=note, got_in=False, visit=visit, photo=photo,
            by=by, now=now,
        )  # fmt: skip

    if visit.state != Visit.State.BOOKED:
        attempt()
        return visit
    back = still_booked(visit)
    others = visit.lines.filter(active=True, settled_at=None).exclude(kind=LineKind.REMEDIAL)
    # An attempt that was only logged has given nothing back: that is still to be done.
    shut_out = Attempt.objects.before_a_closed_door().filter(visit=visit)
    if shut_out.exists() and not (back or others.exists()):
        if not shut_out.filter(by=person(by), said=note).exists():
            attempt()
        return visit
    _has_come(visit, at)
    visit = Visit.objects.select_for_update(of=("self",)).select_related("booked_by").get(pk=visit.pk)
    attempt()
    others.update(active=False)
    facts = {"number": visit.number, "remedials": sorted(str(one.pk) for one in back)}
    record(Verb.NO_ACCESS, site=visit.site_id, subject=visit, by=by, now=now, facts=facts, words={"note": note})
    # The office books again: an engineer's word gives the work back, and it falls to whoever booked the visit.
    for remedial in back:
        mark_unbooked(remedial, by=by, now=now, not_let_in=True, owner=visit.booked_by)
    return visit


def _locked(visit: Visit, by: Actor, *, late: bool = False) -> Visit:
    """The visit, its site locked first. Raises NotAllowed for who is neither the office nor goes there, Refused for a
    cancelled one. What comes `late` was said while it stood: neither that nor who goes there now matters.
    """
    going = visit.attendances.filter(engineer=by.actor_id)
    goes = by.may(Right.DO_WORK) and (going if late else going.filter(cancelled=False)).exists()
    if not (policy.may_book(by) or goes):
        raise NotAllowed(NOT_YOURS)
    site = held(visit.site)
    row = Visit.objects.get(pk=visit.pk)
    row.site = site
    if row.state != Visit.State.BOOKED and not late:
        raise Refused(f"Visit {row.number} is cancelled.")
    return row


def _has_come(visit: Visit, now: datetime) -> None:
    if clock.local_day(visit.start) > clock.local_day(now):
        raise Refused("The day of this visit has not come yet.")
