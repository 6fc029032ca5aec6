"""Filling the costing of remedials from a standard job of the price book."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from inspections.models import Observation
from inspections.standards.quantities import Quantity
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.refused import Refused
from remedials.quotes.models import Costing, StandardJob
from remedials.quotes.operations.pricing import price_remedial
from remedials.works.models import Remedial
from remedials.works.operations import Required, Take, edit_remedial
from remedials.works.operations.ground import locked
from remedials.works.operations.taking import taken
from remedials.works.rules import RETESTS

MOST_TIMES = 200


@operation
def fill_from_job(
    remedial: Remedial,
    *,
    job: StandardJob,
    by: Actor,
    now: datetime,
    times: int = 1,
    version: int | None = None,
    call_out: bool | None = None,
) -> Costing:
    """Price a remedial as a standard job, `times` of it: time and items are multiplied, words and treatment taken over.

    Also asks for the job's certificate, and for its usual retests on the circuits of the remedial's observations. A price
    set by hand before is given up. `call_out` None: as it was. Raises as `price_remedial`, and Refused for a retired job.
    """
    if job.retired_at is not None:
        raise Refused(f"“{job.name}” is retired: choose another job, or bring it back first.", field="job")
    if not 1 <= times <= MOST_TIMES:
        raise Refused(f"Write how many of it, from 1 to {MOST_TIMES}.", field="times")
    remedial = locked(remedial)
    if call_out is None:
        before = Costing.objects.filter(remedial=remedial).values_list("call_out", flat=True).first()
        call_out = True if before is None else before
    costing = price_remedial(
        remedial,
        minutes=job.minutes * times if job.minutes else None,
        crew=job.crew,
        skill=job.skill,
        items=[many(one, times) for one in taken(list(job.items.all()))],
        treatment=job.treatment,
        plain=job.plain,
        call_out=call_out,
        job=job,
        by=by,
        now=now,
        version=version,
    )
    _ask_for(remedial, job, by=by, now=now)
    return costing


@operation
def fill_several(
    remedials: Sequence[Remedial], *, job: StandardJob, times: Mapping[UUID, int], by: Actor, now: datetime
) -> list[Costing]:
    """Price several remedials as one standard job each, all or none; `times` says how many of it by remedial, else 1."""
    ordered = sorted(remedials, key=lambda remedial: remedial.pk)
    return [fill_from_job(remedial, job=job, times=times.get(remedial.pk, 1), by=by, now=now) for remedial in ordered]


def many(one: Take, times: int) -> Take:
    """`times` of an item."""
    return one._replace(quantity=one.quantity * Decimal(times))


def _ask_for(remedial: Remedial, job: StandardJob, *, by: Actor, now: datetime) -> None:
    """Ask for the certificate and the readings of `job`; what was asked for before stays."""
    remedial = locked(remedial)
    rows = remedial.required_readings.select_related("circuit")
    asked = [Required(row.circuit, row.limit_entered, row.limit_source, Quantity(row.quantity)) for row in rows]
    known = {(one.circuit.pk, one.quantity) for one in asked}
    asked += [one for one in _retests(remedial, job) if (one.circuit.pk, one.quantity) not in known]
    certificate = {"certificate_kind": job.certificate_kind} if job.certificate_kind else {}
    edit_remedial(remedial, version=remedial.version, readings=asked, by=by, now=now, **certificate)


def _retests(remedial: Remedial, job: StandardJob) -> list[Required]:
    """The usual retests of `job` on the circuits that the remedial's observations name, an RCD's time only where it has one."""
    usual = dict.fromkeys(quantity for key in job.retests if key in RETESTS for quantity in RETESTS[key][1])
    observations = Observation.objects.filter(remedies__remedial=remedial, circuit__retired_at=None)
    circuits = {o.circuit for o in observations.select_related("circuit") if o.circuit}
    return [
        Required(circuit, quantity=quantity)
        for circuit in sorted(circuits, key=lambda circuit: circuit.pk)
        for quantity in usual
        if quantity is not Quantity.RCD_TIME or circuit.rcd_ma
    ]
