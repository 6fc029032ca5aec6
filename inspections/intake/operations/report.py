"""Writes the observations of a checked file as another firm's report, issued as it was."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID

from inspections import operations as inspections
from inspections.choices import InspectionKind
from inspections.intake import queries
from inspections.intake.alike import chosen, said_to_be
from inspections.intake.observations import ObservationRow
from inspections.intake.trouble import key_of
from inspections.models import Inspection, Intake, Observation
from jobsite.ids import new_id
from jobsite.ledger.rows import RefusedRow
from jobsite.people.models import User
from jobsite.premises.models import Board, Circuit
from jobsite.refused import Refused

NAMES = ("edition", "firm_name", "inspector_name", "qualified_person_name", "reference", "extent", "outcome_written")


def write_report(
    intake: Intake,
    rows: Sequence[ObservationRow],
    *,
    by: User,
    now: datetime,
    written: Callable[[int], None],
) -> dict[str, Any]:
    """Start the report, note its observations and limitations, issue it. Raises Refused, naming the row, where it can't."""
    boards = {board.designation: board for board in Board.objects.current().filter(site=intake.site_id)}
    circuits = Circuit.objects.current().filter(site=intake.site_id).select_related("board")
    by_way = {(circuit.board.designation, circuit.way, circuit.phase): circuit for circuit in circuits}
    named = dict.fromkeys(row.board for row in rows if row.board)
    inspection = _start(intake, [boards[name] for name in named], by=by, now=now)
    from_row = {new_id(): row for row in rows}
    noted = [_observation(key, intake, row, boards, by_way) for key, row in from_row.items()]
    _continue(intake, zip(rows, noted, strict=True))
    try:
        inspections.note_observations(inspection, noted, by=by, now=now, written=written)
    except RefusedRow as refused:
        row = from_row[refused.row.pk]
        raise Refused(f"{key_of(row.sheet, row.row)}: {refused.sentence}") from refused
    for what in intake.header.get("limitations", []):
        inspections.add_limitation(inspection, id=new_id(), what=what, unit=intake.unit, by=by, now=now)
    intake.inspection = inspections.issue_inspection(inspection, by=by, now=now)
    return {"observations": len(rows), "inspection": str(inspection.pk)}


def _continue(intake: Intake, noted: Iterable[tuple[ObservationRow, Observation]]) -> None:
    """Let the rows that were said to be earlier observations continue them. Raises Refused where one is closed meanwhile."""
    said = chosen(intake)
    earlier = {row.pk: row for row in said_to_be(intake, said.values())} if said else {}
    for row, observation in noted:
        name = key_of(row.sheet, row.row)
        if name not in said:
            continue
        found = earlier.get(said[name])
        if found is None or found.ended:
            number = f"Observation {found.number}" if found else "The observation"
            raise Refused(f"{name}: {number} that it was said to be is closed meanwhile. Say again what it is.")
        observation.continues = found


def _observation(
    key: UUID,
    intake: Intake,
    row: ObservationRow,
    boards: Mapping[str, Board],
    by_way: Mapping[tuple[str, int, str], Circuit],
) -> Observation:
    return Observation(
        id=key,
        unit=intake.unit,
        text=row.text,
        code=row.code,
        code_written=row.code_written,
        board=boards.get(row.board),
        circuit=by_way[row.board, row.way.number, row.way.phase] if row.way else None,
        place=row.place,
        item=row.item,
        first_recorded_on=row.first_recorded,  # type: ignore[misc]  # None until the draft gives its own day
    )


def _start(intake: Intake, boards: Sequence[Board], *, by: User, now: datetime) -> Inspection:
    inspected_on = queries.header_day(intake, "inspected_on")
    if inspected_on is None:
        raise Refused("The report's particulars lack the day of the inspection. Send the file again with it.")
    return inspections.start_inspection(
        intake.site,
        id=new_id(),
        units=[intake.unit],
        boards=boards,
        kind=InspectionKind.PERIODIC,
        other_firm=True,
        inspected_on=inspected_on,
        next_due_on=queries.header_day(intake, "next_due_on"),
        remedy_limit_days=intake.header.get("remedy_limit_days"),
        file=intake.file,
        file_name=intake.file_name,
        by=by,
        now=now,
        **{name: intake.header.get(name, "") for name in NAMES},
    )
