"""Writes the boards, circuits, feeds and second sources of a checked file, all at once by an operation of premises."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any

from inspections.intake.circuits import CircuitRow
from inspections.intake.plan import BoardRow, FeedRow
from inspections.intake.trouble import key_of
from inspections.intake.ways import LINES, THREE
from inspections.models import Intake
from jobsite import words
from jobsite.ids import new_id
from jobsite.ledger.rows import RefusedRow
from jobsite.people.models import User
from jobsite.premises import operations as premises
from jobsite.premises.models import Board, Circuit, Feed, SecondSource, Supply
from jobsite.refused import Refused

FUSE_KINDS = {"GG": "gG", "GM": "gM"}


class _Ground:
    """The site as it fills up: boards by name, circuits by board and way, supplies by name; the new rows apart.

    `from_row` says of each new row which row of the file it comes from.
    """

    def __init__(self, intake: Intake) -> None:
        self.site = intake.site
        site = intake.site_id
        self.boards = {board.designation: board for board in Board.objects.current().filter(site=site)}
        self.supplies = {supply.name: supply for supply in Supply.objects.current().filter(site=site)}
        circuits = Circuit.objects.current().filter(site=site).select_related("board")
        self.circuits = {(c.board.designation, c.way, c.phase): c for c in circuits}
        self.listed = premises.Listed()
        self.from_row: dict[Any, str] = {}


def write_boards(
    intake: Intake,
    rows: Sequence[BoardRow | CircuitRow],
    *,
    by: User,
    now: datetime,
    written: Callable[[int], None],
) -> dict[str, Any]:
    """Write the rows and return how many there were of each. Raises Refused, naming the row, for one that can't be.

    Everything is only believed: another's list verifies nothing, and a feed that it calls verified is noted as such on
    the board, for our own people to verify.
    """
    ground = _Ground(intake)
    boards = [row for row in rows if isinstance(row, BoardRow)]
    circuits = [row for row in rows if isinstance(row, CircuitRow)]
    for board in boards:
        _add_board(ground, board)
    for circuit in circuits:
        _add_circuit(ground, circuit)
    for board in boards:
        for feed in board.feeds:
            _set_feed(ground, board, feed)
    try:
        premises.add_list(intake.site, ground.listed, units=[intake.unit], by=by, now=now, written=written)
    except RefusedRow as refused:
        raise Refused(f"{ground.from_row[refused.row.pk]}: {refused.sentence}") from refused
    return {"boards": len(boards), "circuits": len(circuits)}


def _add_board(ground: _Ground, row: BoardRow) -> None:
    board = Board(
        id=new_id(),
        site=ground.site,
        designation=row.designation,
        label_found=row.label_found,
        place=row.place,
        phases=list(row.phases),
        main_switch=row.main_switch,
        main_switch_kind=row.main_switch_kind,
        zdb_ohm=row.zdb_ohm,
        fault_current_ka=row.fault_current_ka,
        notes="\n".join(filter(None, [row.notes, *map(_claim, row.feeds)])),
    )
    ground.boards[row.designation] = board
    ground.from_row[board.pk] = key_of(row.sheet, row.row)
    ground.listed.boards.append(board)


def _claim(feed: FeedRow) -> str:
    """What the file says of verifying; it is somebody else's word."""
    if not feed.verified_how:
        return ""
    on = f", {words.day(feed.verified_on)}" if feed.verified_on else ""
    return f"By the list taken in, the feed was verified ({feed.verified_how}{on})."


def _add_circuit(ground: _Ground, row: CircuitRow) -> None:
    circuit = Circuit(
        id=new_id(),
        site=ground.site,
        board=ground.boards[row.board],
        way=row.way.number,
        phase=row.way.phase,
        label_found=row.label_found,
        designation=row.designation,
        device_standard=row.device.standard,
        device_type=FUSE_KINDS.get(row.device.kind, row.device.kind),
        rating_a=row.device.rating_a,
        poles=row.device.poles,
        rcd_kind=row.rcd.kind if row.rcd else "",
        rcd_ma=row.rcd.ma if row.rcd else None,
        rcd_shared=bool(row.rcd and row.rcd.shared),
        arrangement=row.arrangement,
        line_mm2=row.line_mm2,
        cpc_mm2=row.cpc_mm2,
        length_m=row.length_m,
        breaking_capacity_ka=row.breaking_capacity_ka,
        points=row.points,
        must_not_lose_power=row.must_not_lose_power,
        spare=row.spare,
        blanked=row.blanked,
    )
    ground.circuits[row.board, row.way.number, row.way.phase] = circuit
    ground.from_row[circuit.pk] = key_of(row.sheet, row.row)
    ground.listed.circuits.append(circuit)
    if row.source:
        _add_source(ground, row, circuit)


def _add_source(ground: _Ground, row: CircuitRow, circuit: Circuit) -> None:
    if row.source is None:
        return
    source = SecondSource(
        id=new_id(),
        site=ground.site,
        board=ground.boards[row.board],
        name=row.designation or row.label_found or f"Second source on way {row.way}",
        kind=row.source.kind,
        circuit=circuit,
        phases=list(LINES) if row.way.phase == THREE else [row.way.phase],
        rating_kw=row.source.rating_kw,
        isolate_supply_side=row.source.isolate_supply_side,
        isolate_source_side=row.source.isolate_source_side,
        wait_minutes=row.source.wait_minutes,
    )
    ground.from_row[source.pk] = key_of(row.sheet, row.row)
    ground.listed.sources.append(source)


def _set_feed(ground: _Ground, row: BoardRow, feed: FeedRow) -> None:
    made = Feed(
        id=new_id(),
        site=ground.site,
        board=ground.boards[row.designation],
        kind="alternative" if feed.alternative else "normal",
        from_supply=ground.supplies.get(feed.supply),
    )
    if feed.board and feed.way:
        made.from_supply = None
        made.from_circuit = ground.circuits[feed.board, feed.way.number, feed.way.phase]
    ground.from_row[made.pk] = key_of(row.sheet, row.row)
    ground.listed.feeds.append(made)
