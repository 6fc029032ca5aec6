"""Readings: what the instrument showed, judged by the limit for that place, never changed afterwards."""

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from decimal import ROUND_CEILING, ROUND_DOWN, Decimal
from typing import Any
from uuid import UUID

from inspections import policy
from inspections.choices import InspectionState, Quantity
from inspections.models import Inspection, Reading
from inspections.operations import ground
from inspections.queries.situations import Ground, HowTested, Others, Place, ground_of, others_of
from inspections.standards.devices import sensible
from inspections.standards.editions import Edition
from inspections.standards.facts import Facts
from inspections.standards.limits import Entered, EnterLimit, Limit
from inspections.standards.readings import Doubt, Value, Verdict, judge
from inspections.standards.situation import Situation
from inspections.verbs import Verb
from jobsite import clock
from jobsite.ledger.operations import operation, record
from jobsite.people.models import Instrument, User
from jobsite.premises.models import Board, Circuit, Supply
from jobsite.refused import Refused

NOT_YOURS = "Your rights do not cover taking readings."
MOST_PLACES = 6
PLACES = Decimal("0.000001")
LEAST_LIMIT, MOST_LIMIT = Decimal("0.0001"), 1_000_000
SAY_SO = "If the instrument showed exactly this, say so and save again."

# What is read where.
AT_CIRCUIT = (
    Quantity.R1_R2, Quantity.R2, Quantity.RING_R1, Quantity.RING_RN, Quantity.RING_R2, Quantity.RING_CROSS_RN,
    Quantity.RING_CROSS_R2, Quantity.INSULATION, Quantity.POLARITY, Quantity.LOOP, Quantity.RCD_TIME,
    Quantity.FAULT_CURRENT, Quantity.FUNCTIONAL,
)  # fmt: skip
AT_BOARD = (
    Quantity.LOOP_BOARD, Quantity.FAULT_CURRENT, Quantity.ELECTRODE, Quantity.BONDING, Quantity.POLARITY,
    Quantity.FUNCTIONAL,
)  # fmt: skip
AT_SUPPLY = (Quantity.LOOP_ORIGIN, Quantity.FAULT_CURRENT, Quantity.ELECTRODE, Quantity.BONDING, Quantity.POLARITY)


@dataclass(frozen=True)
class Taken:
    """One value as it was read: where, what, how the test was made.

    `as_read`: the person was asked about an unlikely value and says that the instrument showed it.
    """

    id: UUID
    place: Place
    quantity: Quantity
    value: Value
    test: HowTested = field(default_factory=HowTested)
    as_read: bool = False


class Unlikely(Refused):
    """A value that is asked about: taken once the person says that it is as read."""


class NotTaken(Refused):
    """Several readings of which some cannot be taken, each with its own refusal by its key; none of them was kept."""

    def __init__(self, problems: dict[UUID, Refused]) -> None:
        super().__init__("Nothing was kept yet: look at the readings that are marked.")
        self.problems = problems


@operation
def take_reading(
    place: Place,
    *,
    id: UUID,
    value: Value,
    by: User,
    now: datetime,
    quantity: Quantity = Quantity.LOOP,
    instrument: Instrument | None = None,
    inspection: Inspection | None = None,
    test: HowTested | None = None,
    as_read: bool = False,
    made_at: datetime | None = None,
) -> Reading:
    """Keep one reading; `take_readings` says how. Raises its refusal, with field "value", "limit_entered" or another."""
    taken = Taken(id, place, quantity, value, test or HowTested(), as_read)
    try:
        return take_readings([taken], by=by, now=now, instrument=instrument, inspection=inspection, made_at=made_at)[0]
    except NotTaken as refused:
        raise refused.problems[id] from refused


@operation
def take_readings(
    taken: Sequence[Taken],
    *,
    by: User,
    now: datetime,
    instrument: Instrument | None = None,
    inspection: Inspection | None = None,
    made_at: datetime | None = None,
) -> list[Reading]:
    """Keep readings of one site, taken with one instrument, each with its limit, the basis and the verdict.

    They are judged by the edition of `inspection` (a report that is still being written), else by the one in force on the
    day on which they were taken: `made_at`, where a phone without signal sends them later, else `now`.
    A reading of an instrument out of its check is kept and flagged; a check without a number needs no instrument. All
    are kept or none; those that the same form kept before stay as they are. Raises NotTaken with a refusal for each that
    cannot be, Refused for what they have in common and at an archived site.
    """
    ground.must(policy.may_inspect(by), NOT_YOURS)
    if not taken:
        raise Refused("Nothing was typed: enter at least one reading.")
    site = ground.held_site(taken[0].place.site)
    inspection = ground.locked(inspection) if inspection is not None else None
    places = _locked([one.place for one in taken])
    made = _made_before(taken, instrument)
    new = [one for one in taken if one.id not in made]
    if not new:
        return [made[one.id] for one in taken]
    ground.must_be_in_use(site)
    at = made_at or now
    day = clock.local_day(at)
    _check_common(new, places, instrument, inspection, at=at)
    boards = {place.pk for place in places.values() if isinstance(place, Board)}
    common = ground_of(site.pk, on=day, inspection=inspection, boards=boards)
    rows, problems = _rows(new, places, common)
    if problems:
        raise NotTaken(problems)
    for row in rows:
        row.inspection, row.taken_by, row.taken_at = inspection, by, at
        row.instrument = None if row.ok is not None else instrument
        row.instrument_in_check = row.instrument is None or row.instrument.in_check_on(day)
    Reading.objects.bulk_create(rows)
    sources = {one.id: one.test.entered.source.strip() for one in new if one.test.entered}
    for row in rows:
        words = {"limit_source": sources.get(row.pk, "")}
        record(Verb.READ, site=site.pk, subject=row, by=by, now=now, facts=_facts(row), words=words)
    made |= {row.pk: row for row in rows}
    return [made[one.id] for one in taken]


def _locked(places: Sequence[Place]) -> dict[UUID, Place]:
    """The places by their keys, as they are now and locked. At most one statement for each kind."""
    found: dict[UUID, Place] = {}
    for model in (Supply, Board, Circuit):
        if keys := {place.pk for place in places if isinstance(place, model)}:
            rows: Any = model._default_manager.select_for_update(of=("self",), no_key=True)  # noqa: SLF001
            found |= {row.pk: row for row in rows.filter(pk__in=keys).order_by("pk")}
    return found


def _made_before(taken: Sequence[Taken], instrument: Instrument | None) -> dict[UUID, Reading]:
    """The readings that the same form made, by key. Raises Refused where it was used for something else."""
    made = Reading.objects.in_bulk([one.id for one in taken])
    for one in taken:
        if one.id in made and not _same(made[one.id], one, instrument):
            raise Refused(ground.FORM_USED)
    return made


def _same(row: Reading, one: Taken, instrument: Instrument | None) -> bool:
    at = row.circuit_id or row.board_id or row.supply_id
    tool = instrument.pk if instrument and row.ok is None else None
    return (
        (at, row.quantity, row.read, row.instrument_id) == (one.place.pk, one.quantity.value, one.value, tool)
        and (row.multiple, row.test_volts, row.equipment_connected) == _how(one)
        and _same_limit(row, one.test.entered)
    )


def _how(one: Taken) -> tuple[str, int | None, bool]:
    """How the test was made, as a row keeps it: a multiple of an RCD's test only."""
    multiple = one.test.multiple.value if one.quantity is Quantity.RCD_TIME else ""
    return multiple, one.test.test_volts, one.test.equipment_connected


def _same_limit(row: Reading, entered: Entered | None) -> bool:
    """Whether the limit that a row was judged by was entered like this: its basis keeps the amount and the source."""
    if entered is None or not row.limit_entered:
        return entered is None and not row.limit_entered
    if ": entered from " not in row.basis:
        return True  # Nothing was judged by it.
    said = re.escape(f"{entered.amount:f} {row.unit}: entered from {entered.source.strip()}")
    loop = row.quantity in (Quantity.LOOP, Quantity.LOOP_BOARD)
    after = ", already corrected" if loop and entered.already_corrected else ", conductor" if loop else r"(; |\.|$)"
    return re.match(rf"(\S+ × )?{said}{after}", row.basis) is not None


def _check_common(
    taken: Sequence[Taken],
    places: dict[UUID, Place],
    instrument: Instrument | None,
    inspection: Inspection | None,
    *,
    at: datetime,
) -> None:
    if len(sites := {place.site_id for place in places.values()}) > 1:
        raise Refused("These readings are of several sites: keep each site's for themselves.")
    if instrument is None and any(one.value.ok is None for one in taken):
        raise Refused("Choose the instrument that showed it.", field="instrument")
    if instrument is not None and instrument.archived_at and instrument.archived_at <= at:
        raise Refused(f"{instrument} is not in use any more: choose another instrument.", field="instrument")
    if inspection is not None and {inspection.site_id} != sites:
        raise Refused("This report is of another site.", field="inspection")
    if inspection is not None and inspection.state != InspectionState.DRAFT:
        raise Refused("This report is issued: its readings stand as they are.", field="inspection")


def _rows(
    taken: Sequence[Taken], places: dict[UUID, Place], common: Ground
) -> tuple[list[Reading], dict[UUID, Refused]]:
    """The rows to keep, and what stands in the way by key. What is typed together is judged together."""
    circuits = [place for place in places.values() if isinstance(place, Circuit)]
    others = with_typed(others_of(circuits) if circuits else {}, taken, circuits)
    rows, problems = [], {}
    for one in taken:
        try:
            rows.append(_row(one, places[one.place.pk], common, others.get(one.place.pk, {})))
        except Refused as refused:
            problems[one.id] = refused
    return rows, problems


def with_typed(
    others: dict[UUID, dict[Quantity, Decimal]], taken: Sequence[Taken], circuits: Sequence[Circuit]
) -> dict[UUID, dict[Quantity, Decimal]]:
    """The other readings of circuits with what is typed beside them: a circuit's own, and its board's Zdb."""
    for one in taken:
        if one.value.number is None or one.value.above:
            continue
        if one.place.pk in others:
            others[one.place.pk][one.quantity] = one.value.number
        elif one.quantity is Quantity.LOOP_BOARD:
            for circuit in circuits:
                if circuit.board_id == one.place.pk:
                    others[circuit.pk][one.quantity] = one.value.number
    return others


def _row(one: Taken, place: Place, common: Ground, others: Others) -> Reading:
    if one.quantity not in quantities_at(place):
        raise Refused(f"{one.quantity.label[0].upper()}{one.quantity.label[1:]} is not read here.", field="quantity")
    verdict = judged(one, place, common, others)
    limit = verdict.limit
    row = Reading(id=one.id, site_id=place.site_id, quantity=one.quantity.value, unit=one.quantity.unit)
    row.circuit = place if isinstance(place, Circuit) else None
    row.supply = place if isinstance(place, Supply) else None
    row.board_id = place.board_id if isinstance(place, Circuit) else place.pk if isinstance(place, Board) else None
    row.value, row.above_range, row.no_trip, row.ok = one.value.number, one.value.above, one.value.no_trip, one.value.ok
    row.places = _places(one.value)
    row.multiple, row.test_volts, row.equipment_connected = _how(one)
    row.limit_least, row.limit_most = _kept(limit)
    row.basis, row.limit_entered = _basis(verdict, common.edition), one.test.entered is not None
    row.edition, row.verdict = common.edition.value, verdict.result.value
    return row


def quantities_at(place: Place) -> tuple[Quantity, ...]:
    """What is read at a circuit, a board, or a supply."""
    if isinstance(place, Circuit):
        return AT_CIRCUIT
    return AT_BOARD if isinstance(place, Board) else AT_SUPPLY


def judged(one: Taken, place: Place, common: Ground, others: Others) -> Verdict:
    """The verdict on a reading; raises Refused where it cannot be, is asked about, or needs a limit. No statement."""
    return judged_in(one, common.situation(place, one.test, others), common.facts)


def judged_in(one: Taken, situation: Situation, facts: Facts) -> Verdict:
    """The same, in a situation. Raises Refused as `judged`."""
    try:
        found = judge(one.quantity, one.value, situation, facts=facts, as_read=one.as_read)
    except ValueError as wrong:
        raise Refused(str(wrong), field=_field(one, str(wrong))) from wrong
    if isinstance(found, EnterLimit):
        raise Refused(found.reason, field="limit_entered")
    if one.test.entered and not LEAST_LIMIT < one.test.entered.amount < MOST_LIMIT:
        raise Refused("No limit is as small or as large as that: check what you entered.", field="limit_entered")
    if isinstance(found, Doubt):
        raise Unlikely(f"{found.question} {SAY_SO}", field="value")
    if _places(one.value) is not None and _places(one.value) > MOST_PLACES:  # type: ignore[operator]
        raise Refused("Write the reading with at most six places after the point.", field="value")
    return found


def _field(one: Taken, sentence: str) -> str:
    """Which field a refused value stands in: an entered limit that cannot be is refused as the value is."""
    if "limit is from" in sentence:
        return "limit_source"
    entered = one.test.entered
    return "limit_entered" if entered and not sensible(entered.amount) else "value"


def _places(value: Value) -> int | None:
    if value.number is None:
        return None
    exponent = value.number.as_tuple().exponent
    return max(0, -exponent) if isinstance(exponent, int) else None


def _kept(limit: Limit | None) -> tuple[Decimal | None, Decimal | None]:
    """The bounds as the columns keep them, rounded to the safe side."""
    least, most = (limit.least, limit.most) if limit else (None, None)
    return (
        None if least is None else least.quantize(PLACES, ROUND_CEILING),
        None if most is None else most.quantize(PLACES, ROUND_DOWN),
    )


def _basis(verdict: Verdict, edition: Edition) -> str:
    """The basis of the limit, the edition it is judged by, and what the verdict warns of."""
    basis = verdict.basis
    if basis and edition.label not in basis:
        basis = f"{basis}; {edition.label}"
    return " ".join([*([f"{basis}."] if basis else []), *verdict.warnings])


def _facts(row: Reading) -> dict[str, Any]:
    facts: dict[str, Any] = {"at": str(row.circuit_id or row.board_id or row.supply_id), "quantity": row.quantity}
    facts |= {"value": row.words} | ({"multiple": row.multiple} if row.multiple else {})
    facts |= {"limit_least": _text(row.limit_least), "limit_most": _text(row.limit_most)}
    facts |= {"limit_entered": row.limit_entered, "edition": row.edition, "verdict": row.verdict}
    facts |= {"instrument": ground.key(row.instrument), "instrument_in_check": row.instrument_in_check}
    return facts | ({"inspection": str(row.inspection_id)} if row.inspection_id else {})


def _text(bound: Decimal | None) -> str | None:
    return None if bound is None else f"{bound.normalize():f}"
