"""A board is changed for a new one: the new one stands where the old one stood, in the supply and at the site."""

from collections.abc import Iterable
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import F, Q

from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked, made_before
from jobsite.premises.models import Board, Circuit, CircuitLink, Feed
from jobsite.premises.operations.boards import COLUMNS as BOARD_COLUMNS
from jobsite.premises.operations.circuits import COLUMNS as CIRCUIT_COLUMNS
from jobsite.premises.operations.common import ground, must_be_there, particulars, plainly
from jobsite.premises.operations.verifying import BELIEVED
from jobsite.premises.verbs import Verb
from jobsite.refused import Refused

# What stays true of a circuit behind a new board; its device and its label are the new board's and not known yet.
STAYS = ("unit", "way", "phase", "arrangement", "line_mm2", "cpc_mm2", "length_m", "points", "must_not_lose_power")


@operation
def replace_board(
    board: Board, *, id: UUID, designation: str, main_switch: str, reason: str, by: Actor, now: datetime
) -> Board:
    """Record that `board` was changed for a new one; returns that.

    The new board has its place, phases, units, feeds and second sources, and its circuits without device and label: what
    each was, and what it feeds, is believed until somebody verifies it at the new board. The old one is taken out with
    its circuits; what is open on it stays there, to be closed by whoever did the work. Raises Refused without a reason.
    """
    site = ground(board.site_id, by)
    if made := made_before(Board, id, site_id=site.pk):
        return made
    board = must_be_there(locked(board), board.designation)
    if not reason.strip():
        raise Refused("Say what was done: consumer unit changed.", field="reason")
    with plainly():
        circuits = list(board.circuits.current().order_by("way", "phase"))
        board.circuits.current().update(retired_at=now)
        # First out, then in: the new board may have the old one's name.
        board.retired_at = now
        board.save(update_fields=["retired_at"])
        new = _new(board, id, designation, main_switch)
        board.replaced_by = new
        board.save(update_fields=["replaced_by"])
        over = {circuit.pk: _copied(circuit, new) for circuit in circuits}
        _supply_over(board, new, over)
    facts = {"replaced_by": str(new.pk), "circuits": len(over)}
    words = {"reason": reason.strip()}
    record(Verb.BOARD_REPLACED, site=site.pk, subject=board, by=by, now=now, facts=facts, words=words)
    _told(Verb.BOARD_ADDED, [new], BOARD_COLUMNS, by=by, now=now)
    _told(Verb.CIRCUIT_ADDED, over.values(), CIRCUIT_COLUMNS, by=by, now=now)
    return new


def _told(verb: str, rows: Iterable[Board | Circuit], columns: Iterable[str], *, by: Actor, now: datetime) -> None:
    for row in rows:
        facts, words = particulars(row, *columns)
        record(verb, site=row.site_id, subject=row, by=by, now=now, facts=facts, words=words)


def _new(board: Board, id: UUID, designation: str, main_switch: str) -> Board:
    new = Board(id=id, site=board.site, designation=designation, place=board.place, phases=board.phases)
    new.main_switch, new.own_earthing = main_switch, board.own_earthing
    new.save(force_insert=True)
    new.units.set(board.units.all())
    return new


def _copied(circuit: Circuit, board: Board) -> Circuit:
    kept: dict[str, Any] = {name: getattr(circuit, name) for name in STAYS}
    copy = Circuit(id=new_id(), site=board.site, board=board, **kept)
    copy.designation = circuit.designation or circuit.label_found
    copy.spare = circuit.spare
    copy.save(force_insert=True)
    return copy


def _supply_over(board: Board, new: Board, over: dict[UUID, Circuit]) -> None:
    """What fed the old board feeds the new one, and what it fed is fed by the new one; links and sources go along.

    From which way of the new board is believed only: a verified feed is relied on where somebody isolates.
    """
    board.feeds.update(board=new, version=F("version") + 1)
    board.second_sources.current().update(board=new, version=F("version") + 1)
    for old, copy in over.items():
        onward = Feed.objects.filter(from_circuit=old)
        onward.update(from_circuit=copy, version=F("version") + 1, verified=False, **BELIEVED)
        copy.board.second_sources.current().filter(circuit=old).update(circuit=copy)
    for link in CircuitLink.objects.filter(Q(one__in=over) | Q(other__in=over)):
        ends = [over.get(link.one_id, link.one), over.get(link.other_id, link.other)]
        link.one, link.other = sorted(ends, key=lambda circuit: circuit.pk)
        link.save(update_fields=["one", "other"])
