"""Making a remedial from observations, changing it, giving its next step to somebody."""

from collections.abc import Iterable, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any, NamedTuple
from uuid import UUID

from inspections.choices import Quantity
from inspections.models import Observation
from inspections.operations.ground import held_site, must_be_in_use
from jobsite.firm.operations import take_number
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.people.models import User
from jobsite.premises.models import Circuit, Unit
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.works import policy
from remedials.works.models import Remedial, Remedies, RequiredReading
from remedials.works.operations.ground import (
    change,
    iso,
    key,
    keys,
    locked,
    must_be_active,
    needed,
    not_in_the_past,
    note,
    person,
    same_form,
    step_date,
)
from remedials.works.states import Stage
from remedials.works.verbs import Verb

NOT_YOURS = "Only the office may make, change and decide remedials."
CHANGEABLE = frozenset({Stage.TO_PRICE, Stage.QUOTED, Stage.APPROVED, Stage.BOOKED})
EDITABLE = (
    "work", "minutes", "crew", "skill", "power_off", "see_to_first", "photo_required", "certificate_kind", "notifiable",
    "network",
)  # fmt: skip


class Required(NamedTuple):
    """A reading that must pass: on which circuit, its limit where a person enters it, where that is from, what is read."""

    circuit: Circuit
    limit: Decimal | None = None
    source: str = ""
    quantity: Quantity = Quantity.LOOP


Asked = Sequence[Required | tuple[Any, ...]]


@operation
def make_remedial(
    observations: Iterable[Observation],
    *,
    id: UUID,
    work: str,
    by: Actor,
    now: datetime,
    unit: Unit | None = None,
    owner: User | None = None,
    step_by: date | None = None,
    minutes: int | None = None,
    skill: str = "",
    power_off: bool | None = None,
    see_to_first: str = "",
    photo_required: bool = True,
    certificate_kind: str = "",
    notifiable: bool = False,
    network: str = "",
    call_back_of: Remedial | None = None,
    readings: Asked = (),
) -> Remedial:
    """Make a remedial, to price, for open observations of one site; it carries their next step from now on.

    `minutes`: how long the work takes; `power_off`: None where nobody knows yet. Without `owner` the step is `by`'s, without `step_by` it is due by the firm's
    policy. Raises NotAllowed, and Refused for observations that are ended, drafts, of two sites or an archived one, or
    (without `unit`) of two units.
    """
    if not policy.may_plan(by):
        raise NotAllowed(NOT_YOURS)
    wanted = {o.pk for o in observations}
    found = _locked_observations(wanted)
    if made := Remedial.objects.filter(pk=id).first():
        return same_form(made, wanted == set(made.remedies.values_list("observation", flat=True)))
    _must_be_fit(found)
    work = needed(work, "Say what is to be done.", field="work")
    must_be_active(owner)
    remedial = Remedial.objects.create(
        id=id, number=take_number("remedial"), site=found[0].site, unit=_unit_of(found, unit), work=work, minutes=minutes,
        skill=skill, power_off=power_off, see_to_first=see_to_first, photo_required=photo_required,
        certificate_kind=certificate_kind, notifiable=notifiable, network=network, owner=owner or person(by),
        step_by=not_in_the_past(step_by, now=now, field="step_by") if step_by else step_date(found, now=now),
        call_back_of=call_back_of, made_by=person(by), made_at=now,
    )  # fmt: skip
    Remedies.objects.bulk_create(Remedies(remedial=remedial, observation=o) for o in found)
    circuits = _require(remedial, readings)
    facts = {"number": remedial.number, "observations": keys(o.pk for o in found), "readings": circuits}
    facts |= {"owner": key(remedial.owner), "step_by": iso(remedial.step_by)}
    note(Verb.MADE, remedial, by=by, now=now, facts=facts, words={"work": work})
    return remedial


def _locked_observations(wanted: set[UUID]) -> list[Observation]:
    """The observations, locked after their site: it is not archived meanwhile."""
    if first := Observation.objects.filter(pk__in=wanted).select_related("site").order_by("pk").first():
        held_site(first.site)
    rows = Observation.objects.select_for_update(of=("self",)).select_related("site", "unit")
    return list(rows.filter(pk__in=wanted).order_by("pk"))


def _must_be_fit(found: list[Observation]) -> None:
    """Raises Refused where no remedial may be made for these observations together."""
    if not found:
        raise Refused("Choose at least one observation that this remedial puts right.", field="observations")
    if len({o.site_id for o in found}) > 1:
        raise Refused("A remedial belongs to one site: these observations are of several.", field="observations")
    must_be_in_use(found[0].site)
    for o in found:
        if o.ended or o.draft:
            state = o.get_ended_display() if o.ended else "of a report that is not issued yet"
            raise Refused(f"Observation {o.number} needs no remedial: it is {state}.", field="observations")


def _unit_of(observations: list[Observation], unit: Unit | None) -> Unit:
    if unit is None:
        if len({o.unit_id for o in observations}) > 1:
            raise Refused("These observations are of several units: choose whose remedial it is.", field="unit")
        return observations[0].unit
    if unit.site_id != observations[0].site_id:
        raise Refused("This unit is not of the observations' site.", field="unit")
    return unit


def _require(remedial: Remedial, readings: Asked) -> list[dict[str, str]]:
    """Set which readings must pass, and say which as the ledger keeps it.

    One that is asked for still keeps its row: an engineer's open page posts to its key.
    """
    wanted = [Required(*one) for one in readings]
    for one in wanted:
        if one.circuit.site_id != remedial.site_id:
            raise Refused("A reading was asked for on a circuit of another site.", field="circuits")
        if one.limit is not None and not (one.limit > 0 and one.source.strip()):
            raise Refused("A limit is a number above 0 and says where it is from.", field="circuits")
    asked = {(one.circuit.pk, one.quantity.value): one for one in wanted}
    gone = [row.pk for row in remedial.required_readings.all() if (row.circuit_id, row.quantity) not in asked]
    remedial.required_readings.filter(pk__in=gone).delete()
    RequiredReading.objects.bulk_create(
        [_required(remedial, one) for one in asked.values()],
        update_conflicts=True,
        unique_fields=["remedial", "circuit", "quantity"],
        update_fields=["limit_entered", "limit_source"],
    )
    return [{"circuit": str(circuit), "quantity": quantity} for circuit, quantity in sorted(asked)]


def _required(remedial: Remedial, one: Required) -> RequiredReading:
    row = RequiredReading(remedial=remedial, circuit=one.circuit, quantity=one.quantity.value)
    row.limit_entered, row.limit_source = one.limit, one.source.strip()
    return row


@operation
def edit_remedial(
    remedial: Remedial,
    *,
    version: int,
    by: Actor,
    now: datetime,
    readings: Asked | None = None,
    **fields: Any,
) -> Remedial:
    """Change what a remedial asks for, until it is done. `fields` are those of EDITABLE.

    `readings` None leaves the required readings as they are. Raises ChangedMeanwhile where another version was seen,
    Refused once it is done or out of the list; a wrong field name is a mistake in our code (TypeError).
    """
    if unknown := set(fields) - set(EDITABLE):
        raise TypeError(f"not to be edited: {sorted(unknown)}")
    remedial = locked(remedial)
    if not policy.may_plan(by):
        raise NotAllowed(NOT_YOURS)
    if remedial.version != version:
        raise ChangedMeanwhile("Somebody else changed this remedial meanwhile.", theirs=remedial)
    if remedial.stage not in CHANGEABLE:
        raise Refused(f"Remedial {remedial.number} is {remedial.get_stage_display()}: it is not changed any more.")
    if "work" in fields:
        fields["work"] = needed(fields["work"], "Say what is to be done.", field="work")
    changed = {name: value for name, value in fields.items() if getattr(remedial, name) != value}
    circuits = _changed_readings(remedial, readings)
    if not changed and circuits is None:
        return remedial
    words = {name: value for name, value in changed.items() if isinstance(value, str)}
    facts: dict[str, Any] = {"changed": sorted(changed)} | {n: v for n, v in changed.items() if n not in words}
    facts |= {} if circuits is None else {"readings": circuits}
    change(remedial, **changed)
    note(Verb.EDITED, remedial, by=by, now=now, facts=facts, words=words)
    return remedial


def _changed_readings(remedial: Remedial, readings: Asked | None) -> list[dict[str, str]] | None:
    """The readings newly asked for, as the ledger keeps them; None where they stay as they are."""
    if readings is None:
        return None
    columns = ("circuit", "limit_entered", "limit_source", "quantity")
    wanted = {Required(*one) for one in readings}
    if set(remedial.required_readings.values_list(*columns)) == {
        (one.circuit.pk, one.limit, one.source, one.quantity.value) for one in wanted
    }:
        return None
    return _require(remedial, readings)


@operation
def take_on(remedial: Remedial, *, owner: User, step_by: date, by: Actor, now: datetime) -> Remedial:
    """Give the next step of an unfinished remedial to `owner`, due on `step_by`. Raises NotAllowed, Refused."""
    remedial = locked(remedial)
    if not policy.may_plan(by):
        raise NotAllowed(NOT_YOURS)
    if not remedial.step_to_come:
        raise Refused(f"Remedial {remedial.number} is {remedial.get_stage_display()}: no step of it is to come.")
    must_be_active(owner)
    not_in_the_past(step_by, now=now, field="step_by")
    if (remedial.owner_id, remedial.step_by) == (owner.pk, step_by):
        return remedial
    change(remedial, owner=owner, step_by=step_by)
    note(Verb.TAKEN_ON, remedial, by=by, now=now, facts={"owner": key(owner), "step_by": iso(step_by)})
    return remedial
