"""What another firm's report missed: added on its review as an observation of our own."""

from datetime import datetime
from uuid import UUID

from inspections import policy
from inspections.choices import Code, InspectionState
from inspections.models import Inspection, Observation
from inspections.operations import clocks, ground
from inspections.operations.deciding import dates_of
from inspections.operations.next_inspections import next_due_of
from inspections.verbs import Verb
from jobsite import clock
from jobsite.firm.operations import take_number
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.premises.models import Board, Circuit, Unit
from jobsite.refused import Refused


@operation
def add_missed(
    report: Inspection,
    *,
    id: UUID,
    unit: Unit,
    text: str,
    code: str,
    by: User,
    now: datetime,
    board: Board | None = None,
    circuit: Circuit | None = None,
    place: str = "",
) -> Observation:
    """Add what another firm's issued report missed, as our own observation of today with its code and clocks.

    The report itself stays as it is. Raises NotAllowed without competence on the day, Refused for a report of our own,
    a draft, without words or code, and at an archived site.
    """
    ground.must(policy.may_decide_codes(by, now=now), policy.why_not_decide(by, now=now))
    site = ground.locked_site(report.site)
    if made := ground.made_before(Observation, id, missed_in_id=report.pk):
        return made
    report = ground.locked(report)
    if not report.other_firm or report.state != InspectionState.ISSUED:
        raise Refused("Only another firm's report that is taken in can have missed something.")
    if code not in Code.values:
        raise Refused("Choose a code: C1, C2, C3 or FI.", field="code")
    today = clock.local_day(now)
    observation = Observation(id=id, site=site, unit=unit, circuit=circuit, place=place.strip(), missed_in=report)
    observation.board = ground.settle_place(site.pk, unit, board, circuit)
    observation.text = ground.said(text, "Say what was observed.", "text")
    observation.code = observation.code_written = code
    observation.reviewed, observation.recorded_at, observation.recorded_by = True, now, by
    observation.recorded_on = observation.first_recorded_on = today
    clocks.set_clocks(observation, next_due=next_due_of(unit))
    clocks.set_step(observation, by=by, now=now)
    observation.number = take_number("observation")
    observation.save(force_insert=True)
    facts = {"report": str(report.pk), "number": observation.number, "unit": str(unit.pk), "code": code}
    facts |= {"board": ground.key(observation.board), "circuit": ground.key(circuit)} | dates_of(observation)
    words = {"text": observation.text, "place": observation.place}
    record(Verb.MISSED, site=site.pk, subject=observation, by=by, now=now, facts=facts, words=words)
    return observation
