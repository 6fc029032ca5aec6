"""What a booking is made of: its sites and work, locked; whether it can be booked; the visits that are left empty."""

from collections.abc import Iterable
from datetime import datetime
from typing import TYPE_CHECKING

from django.db.models import Exists, OuterRef

from inspections.models import Observation
from inspections.operations.ground import must_be_in_use
from jobsite.premises.models import Site, Unit
from jobsite.refused import Refused
from jobsite.words import when
from remedials.visits.choices import LineKind
from remedials.visits.models import Visit, VisitLine
from remedials.works.models import Remedial
from remedials.works.states import WORDS, Stage

if TYPE_CHECKING:
    from remedials.visits.operations.booking import Wanted


def held(site: Site, others: Iterable[Visit] = ()) -> Site:
    """`site` as it is now, locked together with the sites of `others`, in the order of their keys."""
    keys = {site.pk, *(visit.site_id for visit in others)}
    rows = Site.objects.select_for_update(of=("self",), no_key=True).filter(pk__in=keys).order_by("pk")
    return next(row for row in list(rows) if row.pk == site.pk)


def locked_work(site: Site, remedials: Iterable[Remedial], others: Iterable[Visit] = ()) -> list[Remedial]:
    """Those of `remedials` that are of `site`, locked together with what is booked on `others`, in the order of keys."""
    wanted = {remedial.pk for remedial in remedials}
    theirs = set(
        VisitLine.objects.filter(visit__in=others, active=True, remedial__isnull=False).values_list(
            "remedial", flat=True
        )
    )
    rows = Remedial.objects.select_for_update(of=("self",)).filter(pk__in=wanted | theirs).order_by("pk")
    return [row for row in rows if row.pk in wanted and row.site_id == site.pk]


def must_be_bookable(site: Site, found: list[Remedial], wanted: "Wanted", *, move: bool) -> None:
    """Raises Refused where one of those wanted is not of the site, not approved, not open, or on another visit."""
    if site.archived_at:
        raise Refused("This site is archived: bring it back before booking a visit.")
    must_be_in_use(site)
    others: list[Unit | Observation] = [*wanted.units, *wanted.looks, *wanted.call_outs]
    if len(found) < len({remedial.pk for remedial in wanted.remedials}) or not (found or others):
        raise Refused("Choose at least one remedial, all of this site.", field="remedials")
    for remedial in found:
        if remedial.stage == Stage.BOOKED and not move:
            raise Refused(_booked_already(remedial), field="remedials")
        if remedial.stage not in {Stage.APPROVED, Stage.BOOKED}:
            stage = WORDS[Stage(remedial.stage)]
            raise Refused(f"Remedial {remedial.number} cannot be booked: its stage is {stage}.", field="remedials")
    if any(row.site_id != site.pk for row in others):
        raise Refused("Choose only what is of this site.", field="others")
    _not_twice(wanted)


def _not_twice(wanted: "Wanted") -> None:
    """Raises Refused where an inspection, a look or a call-out is no longer to be done, or on a visit to come already."""
    to_come = VisitLine.objects.filter(active=True, settled_at=None).select_related("visit")
    for unit in wanted.units:
        if line := to_come.filter(kind=LineKind.INSPECTION, unit=unit).first():
            raise Refused(f"The inspection of {unit.name} is on visit {line.visit.number} already.", field="others")
    for kind, rows in ((LineKind.LOOK_AGAIN, wanted.looks), (LineKind.CALL_OUT, wanted.call_outs)):
        for seen in rows:
            if seen.ended:
                raise Refused(f"Observation {seen.number} is no longer open.", field="others")
            if line := to_come.filter(kind=kind, observation=seen).first():
                raise Refused(f"Observation {seen.number} is on visit {line.visit.number} already.", field="others")


def _booked_already(remedial: Remedial) -> str:
    visit = Visit.objects.filter(lines__remedial=remedial, lines__active=True).first()
    where = f" for {when(visit.start)} (visit {visit.number})" if visit else ""
    return f"Remedial {remedial.number} is booked already{where}. Say that it moves to this visit, or leave it out."


def visits_left(work: list[Remedial], now: datetime) -> list[Visit]:
    """The visits to come, locked, whose work all moves away. One that has begun, or was part done, took place: it stays."""
    moving = [remedial for remedial in work if remedial.stage == Stage.BOOKED]
    others = VisitLine.objects.filter(visit=OuterRef("pk"), active=True).exclude(remedial__in=moving)
    losing = Visit.objects.filter(lines__remedial__in=moving, lines__active=True, start__gt=now)
    keys = list(losing.filter(~Exists(others)).values_list("pk", flat=True))
    return list(Visit.objects.select_for_update(of=("self",)).filter(pk__in=keys).order_by("pk"))


def work_on(visit: Visit) -> list[Remedial]:
    """The remedials on `visit`, locked. A lock that was waited for brings the remedial as it is, but not its line: look again."""
    on_it = Remedial.objects.filter(lines__visit=visit, lines__active=True)
    work = list(on_it.select_for_update(of=("self",)).order_by("pk"))
    still = set(VisitLine.objects.filter(visit=visit, active=True).values_list("remedial", flat=True))
    return [remedial for remedial in work if remedial.pk in still]


def still_booked(visit: Visit) -> list[Remedial]:
    """Those of `work_on` that are still to be done."""
    return [remedial for remedial in work_on(visit) if remedial.stage == Stage.BOOKED]
