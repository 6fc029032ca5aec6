"""Booking and cancelling visits. No engineer is in two places at once: the database refuses it."""

from collections.abc import Iterable, Sequence
from datetime import datetime, timedelta
from uuid import UUID

from django.db import IntegrityError, transaction

from jobsite.firm.operations import take_number
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.premises.operations import grant_access
from jobsite.refused import NotAllowed, Refused
from jobsite.words import span
from remedials.visits.models import Attendance, Visit, VisitLine
from remedials.visits.verbs import Verb
from remedials.works.models import Remedial
from remedials.works.operations import mark_booked, mark_unbooked
from remedials.works.states import WORDS, Stage

LONGEST = timedelta(days=14)
BOOKABLE = {Stage.APPROVED, Stage.BOOKED}
ONE_PLACE = "one_place_at_a_time"


@operation
def book_visit(
    site: Site,
    *,
    id: UUID,
    remedials: Sequence[Remedial],
    engineers: Sequence[User],
    start: datetime,
    end: datetime,
    by: User,
    now: datetime,
    access: str = "",
    outage: str = "",
) -> Visit:
    """Book `engineers` at `site` from `start` to `end` for its approved `remedials`; booked ones move to this visit.

    Raises NotAllowed, and Refused with a sentence that names what clashes with what. A subcontractor gets sight of the
    site. The same key again answers with the same visit.
    """
    if not by.may(Right.BOOK):
        raise NotAllowed("Only the office may book visits.")
    if made := Visit.objects.filter(pk=id).first():
        return made
    _check_span(start, end)
    _check_engineers(engineers)
    work = _locked_work(site, remedials)
    visit = Visit(
        id=id, site=site, number=take_number("visit"), start=start, end=end, access=access, outage=outage,
        booked_by=by, booked_at=now,
    )  # fmt: skip
    visit.save(force_insert=True)
    _attend(visit, engineers)
    VisitLine.objects.filter(remedial__in=work, active=True).update(active=False)
    VisitLine.objects.bulk_create(VisitLine(visit=visit, remedial=remedial) for remedial in work)
    for remedial in work:
        mark_booked(remedial, visit_start=start, owner=engineers[0], by=by, now=now)
    for engineer in engineers:
        if engineer.subcontractor:
            grant_access(site, engineer, now=now)
    facts = {
        "start": start.isoformat(),
        "end": end.isoformat(),
        "engineers": [str(engineer.pk) for engineer in engineers],
        "remedials": [str(remedial.pk) for remedial in work],
    }
    words = {"access": access, "outage": outage}
    record(Verb.BOOKED, site=site.pk, subject=visit, by=by, now=now, facts=facts, words=words)
    return visit


def _check_span(start: datetime, end: datetime) -> None:
    if end <= start:
        raise Refused("The visit must end after it begins.", field="end")
    if end - start > LONGEST:
        raise Refused("A visit lasts at most 14 days: book several.", field="end")


def _check_engineers(engineers: Iterable[User]) -> None:
    engineers = list(engineers)
    if not engineers:
        raise Refused("Choose at least one engineer.", field="engineers")
    for engineer in engineers:
        if not engineer.may(Right.DO_WORK):
            raise Refused(f"{engineer.name} is not an engineer of the firm.", field="engineers")


def _locked_work(site: Site, remedials: Iterable[Remedial]) -> list[Remedial]:
    """The remedials, locked in the order of their keys; all of this site and all bookable."""
    keys = [remedial.pk for remedial in remedials]
    if not keys:
        raise Refused("Choose at least one remedial.", field="remedials")
    work = list(Remedial.objects.filter(pk__in=keys).select_for_update(of=("self",)).order_by("pk"))
    for remedial in work:
        if remedial.site_id != site.pk:
            raise Refused(f"Remedial {remedial.number} is at another site.", field="remedials")
        if Stage(remedial.stage) not in BOOKABLE:
            words = WORDS[Stage(remedial.stage)]
            raise Refused(f"Remedial {remedial.number} cannot be booked: its stage is {words}.", field="remedials")
    return work


def _attend(visit: Visit, engineers: Iterable[User]) -> None:
    """Put each engineer on the visit, or refuse with the visit that they are at."""
    for engineer in engineers:
        try:
            with transaction.atomic():
                Attendance.objects.create(visit=visit, engineer=engineer, start=visit.start, end=visit.end)
        except IntegrityError as error:
            if getattr(getattr(error.__cause__, "diag", None), "constraint_name", "") != ONE_PLACE:
                raise
            raise Refused(_clash(engineer, visit), field="engineers") from error


def _clash(engineer: User, visit: Visit) -> str:
    other = (
        Attendance.objects.filter(engineer=engineer, cancelled=False, start__lt=visit.end, end__gt=visit.start)
        .select_related("visit__site")
        .order_by("start")
        .first()
    )
    if other is None:  # the other booking was cancelled between the refusal and this look
        return f"{engineer.name} was booked elsewhere at that time. Try again."
    return f"{engineer.name} is at {other.visit.site.name}, {span(other.start, other.end)}."


@operation
def cancel_visit(visit: Visit, *, reason: str, by: User, now: datetime) -> Visit:
    """Cancel a visit; what was booked for it is approved again and due to be booked. Cancelled already is no error."""
    if not by.may(Right.BOOK):
        raise NotAllowed("Only the office may cancel visits.")
    if not reason.strip():
        raise Refused("Say why the visit is cancelled.", field="reason")
    booked = list(
        Remedial.objects.filter(lines__visit=visit, lines__active=True, stage=Stage.BOOKED)
        .select_for_update(of=("self",))
        .order_by("pk")
    )
    visit = Visit.objects.select_for_update(of=("self",)).get(pk=visit.pk)
    if visit.state == Visit.State.CANCELLED:
        return visit
    visit.state, visit.cancelled_reason = Visit.State.CANCELLED, reason.strip()
    visit.version += 1
    visit.save(update_fields=["state", "cancelled_reason", "version"])
    visit.attendances.update(cancelled=True)
    visit.lines.update(active=False)
    for remedial in booked:
        mark_unbooked(remedial, by=by, now=now)
    facts = {"remedials": [str(remedial.pk) for remedial in booked]}
    record(Verb.CANCELLED, site=visit.site_id, subject=visit, by=by, now=now, facts=facts, words={"reason": reason})
    return visit
