"""Two meters over the same interval: what they counted, kept with the defect, and what their ratio points to."""

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from inspections import policy
from inspections.models import MeterComparison, MeterFigure, Observation
from inspections.operations import ground
from inspections.standards import metering
from inspections.verbs import Verb
from jobsite import clock
from jobsite.firm.queries import policy_on
from jobsite.ledger.operations import operation, record
from jobsite.people.models import Instrument, User
from jobsite.refused import Refused

NOT_YOURS = "Your rights do not cover comparing meters."
RATIO_PLACES = Decimal("0.000001")


@dataclass(frozen=True)
class Counted:
    """What was read of one meter: `start` and `end` of its register, or the `energy` that it shows; in `unit`."""

    what: str
    unit: str
    start: Decimal | None = None
    end: Decimal | None = None
    energy: Decimal | None = None
    instrument: Instrument | None = None


@operation
def compare_meters(
    observation: Observation,
    *,
    id: UUID,
    relied_on: Counted,
    in_doubt: Counted,
    began_at: datetime,
    ended_at: datetime,
    three_phase: bool,
    by: User,
    now: datetime,
    source_wh: Decimal | None = None,
    note: str = "",
    answers: MeterComparison | None = None,
) -> MeterComparison:
    """Keep what two meters counted from `began_at` to `ended_at`, with what their ratio points to as common practice.

    `source_wh`: what a second source gave in the interval, in Wh. `answers`: the earlier comparison that this one puts
    right; one is answered once. Raises Refused for an interval that isn't over, for figures that cannot be, for an
    observation that is closed, and at an archived site.
    """
    ground.must(policy.may_inspect(by), NOT_YOURS)
    site = ground.held_site(observation.site)
    observation = ground.locked(observation)
    if made := ground.made_before(MeterComparison, id, observation_id=observation.pk):
        return made
    ground.must_be_in_use(site)
    ground.still_open(observation, "there is nothing to investigate")
    _check_interval(began_at, ended_at, now)
    _check_answer(observation, answers)
    tolerance = policy_on(clock.local_day(now)).meter_tolerance_percent
    energies = _energy(relied_on, "relied"), _energy(in_doubt, "doubt")
    compared = metering.compare(*energies, three_phase=three_phase, tolerance_percent=tolerance, source_wh=source_wh)
    row = MeterComparison(id=id, site_id=observation.site_id, observation=observation, answers=answers)
    row.began_at, row.ended_at, row.three_phase, row.source_wh = began_at, ended_at, three_phase, source_wh
    row.tolerance_percent, row.found, row.sentence = tolerance, compared.found.value, compared.sentence
    row.ratio = None if compared.ratio is None else compared.ratio.quantize(RATIO_PLACES)
    row.points_to = [fault.key for fault in compared.points_to]
    row.note, row.taken_by, row.taken_at = note.strip(), by, now
    row.save(force_insert=True)
    for one, energy, relied in ((relied_on, energies[0], True), (in_doubt, energies[1], False)):
        _keep(row, one, energy, relied_on=relied)
    words = {"relied_on": relied_on.what, "in_doubt": in_doubt.what, "note": row.note}
    record(
        Verb.METERS_COMPARED, site=row.site_id, subject=row, by=by, now=now, facts=_facts(row, energies), words=words
    )
    return row


def _check_interval(began_at: datetime, ended_at: datetime, now: datetime) -> None:
    if ended_at <= began_at:
        raise Refused("The interval ends after it begins.", field="ended_at")
    if ended_at > now:
        raise Refused("This time is still to come: read both meters first.", field="ended_at")


def _check_answer(observation: Observation, answers: MeterComparison | None) -> None:
    if answers is None:
        return
    if answers.observation_id != observation.pk:
        raise Refused("That comparison belongs to another observation.", field="answers")
    if MeterComparison.objects.filter(answers=answers).exists():
        raise Refused("That comparison was answered already: answer the latest one.", field="answers")


def _energy(one: Counted, field: str) -> metering.Energy:
    if not one.what.strip():
        raise Refused("Say which meter or monitor it is, and where it measures.", field=f"{field}_what")
    try:
        if one.energy is not None:
            return metering.from_figure(one.energy, one.unit)
        if one.start is None or one.end is None:
            raise Refused("Enter start and end of the register, or the energy that it shows.", field=f"{field}_energy")
        return metering.from_registers(one.start, one.end, one.unit)
    except ValueError as wrong:
        where = "energy" if one.energy is not None else "end"
        raise Refused(str(wrong), field=f"{field}_{where}") from wrong


def _keep(row: MeterComparison, one: Counted, energy: metering.Energy, *, relied_on: bool) -> None:
    figure = MeterFigure(comparison=row, relied_on=relied_on, what=one.what.strip(), unit=one.unit, wh=energy.wh)
    figure.instrument = one.instrument
    if one.energy is None:
        figure.start, figure.end = one.start, one.end
    figure.save(force_insert=True)


def _facts(row: MeterComparison, energies: tuple[metering.Energy, metering.Energy]) -> dict[str, Any]:
    facts = {
        "observation": str(row.observation_id),
        "began_at": row.began_at.isoformat(),
        "ended_at": row.ended_at.isoformat(),
        "relied_on_wh": f"{energies[0].wh:f}",
        "in_doubt_wh": f"{energies[1].wh:f}",
        "three_phase": row.three_phase,
        "tolerance_percent": str(row.tolerance_percent),
        "found": row.found,
        "points_to": row.points_to,
    }
    facts |= {"answers": str(row.answers_id)} if row.answers_id else {}
    return facts | ({"source_wh": f"{row.source_wh:f}"} if row.source_wh is not None else {})
