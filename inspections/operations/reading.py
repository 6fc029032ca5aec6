"""Readings: the value as the instrument showed it, judged by the limit for that circuit, never changed afterwards."""

from datetime import datetime
from decimal import ROUND_DOWN, Decimal
from typing import Any
from uuid import UUID

from inspections import policy
from inspections.choices import Quantity
from inspections.models import Reading
from inspections.operations import ground
from inspections.queries.limits import loop_limit_for
from inspections.standards.editions import edition_in_force
from inspections.standards.impedance import EnterLimit, Limit, LoopLimits
from inspections.standards.judging import Above, Doubt, Verdict, judge_loop
from inspections.verbs import Verb
from jobsite import clock
from jobsite.ledger.operations import operation, record
from jobsite.people.models import Instrument, User
from jobsite.premises.models import Circuit
from jobsite.refused import Refused

PLACES = Decimal("0.001")
LIMIT_PLACES = Decimal("0.0001")
MOST_LIMIT = 1_000_000  # ohms: what the column holds


@operation
def take_reading(
    circuit: Circuit,
    *,
    id: UUID,
    value: Decimal,
    above_range: bool,
    instrument: Instrument,
    by: User,
    now: datetime,
    limit_entered: Decimal | None = None,
    limit_source: str = "",
    already_corrected: bool = False,
    as_read: bool = False,
) -> Reading:
    """Keep an earth fault loop impedance read on a circuit, in ohms, with its limit, the basis and the verdict.

    `above_range`: the instrument showed ">" the value. `limit_entered`: from the standard or the maker, named in
    `limit_source`; the factor for a cold conductor is used on it unless it is `already_corrected`. `as_read`: the person
    was asked about an unlikely value and says that the instrument showed it. A reading of an instrument out of its check
    is kept and flagged. Raises Refused where no limit is known (field "limit_entered"), for what no instrument shows and
    for an unlikely value (field "value").
    """
    ground.must(policy.may_inspect(by), "Your rights do not cover taking readings.")
    circuit = Circuit.objects.select_for_update(of=("self",), no_key=True).get(pk=circuit.pk)
    if made := ground.made_before(Reading, id, circuit_id=circuit.pk):
        return made
    if instrument.archived_at:
        raise Refused(f"{instrument} is not in use any more: choose another instrument.", field="instrument")
    day = clock.local_day(now)
    limits = _limits(circuit, day, limit_entered, limit_source, already_corrected)
    verdict, limit = _judged(value, above_range, limits, as_read)
    reading = Reading(id=id, site_id=circuit.site_id, circuit=circuit, quantity=Quantity.LOOP_IMPEDANCE)
    reading.value, reading.above_range = value.quantize(PLACES), above_range
    reading.limit = limit.ohms_exact.quantize(LIMIT_PLACES, ROUND_DOWN)
    reading.basis, reading.limit_entered = _basis(verdict, day), limit_entered is not None
    reading.verdict, reading.instrument = verdict.result.value, instrument
    reading.instrument_in_check, reading.taken_by, reading.taken_at = instrument.in_check_on(day), by, now
    reading.save(force_insert=True)
    facts, words = _facts(reading), {"limit_source": limit_source.strip()}
    record(Verb.READ, site=reading.site_id, subject=reading, by=by, now=now, facts=facts, words=words)
    return reading


def _limits(
    circuit: Circuit, day: Any, limit_entered: Decimal | None, limit_source: str, already_corrected: bool
) -> LoopLimits:
    try:
        return loop_limit_for(
            circuit,
            on=day,
            limit_entered=limit_entered,
            limit_source=limit_source,
            already_corrected=already_corrected,
        )
    except ValueError as wrong:
        field = "limit_source" if limit_entered and not limit_source.strip() else "limit_entered"
        raise Refused(str(wrong), field=field) from wrong


def _judged(value: Decimal, above_range: bool, limits: LoopLimits, as_read: bool) -> tuple[Verdict, Limit]:
    try:
        judged = judge_loop(Above(value) if above_range else value, limits, as_read=as_read)
    except ValueError as wrong:
        raise Refused(str(wrong), field="value") from wrong
    if isinstance(judged, EnterLimit):
        raise Refused(judged.reason, field="limit_entered")
    if isinstance(judged, Doubt):
        raise Refused(f"{judged.question} If the instrument showed exactly this, say so and save again.", field="value")
    if value != value.quantize(PLACES):
        raise Refused("Write the reading with at most three places after the point.", field="value")
    if judged.limit is None or not LIMIT_PLACES <= judged.limit.ohms_exact < MOST_LIMIT:
        raise Refused("No limit is as small or as large as that: check what you entered.", field="limit_entered")
    return judged, judged.limit


def _basis(verdict: Verdict, day: Any) -> str:
    """The basis of the limit, the edition it is judged by, and what the verdict warns of."""
    return " ".join([f"{verdict.basis}; {edition_in_force(day).label}.", *verdict.warnings])


def _facts(reading: Reading) -> dict[str, Any]:
    return {
        "circuit": str(reading.circuit_id),
        "quantity": str(reading.quantity),
        "value": str(reading.value),
        "above_range": reading.above_range,
        "limit": str(reading.limit),
        "limit_entered": reading.limit_entered,
        "verdict": reading.verdict,
        "instrument": str(reading.instrument_id),
        "instrument_in_check": reading.instrument_in_check,
    }
