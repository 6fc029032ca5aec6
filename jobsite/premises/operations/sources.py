"""Second sources: solar, batteries, generators, wind turbines."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked, made_before
from jobsite.premises.models import Board, Circuit, SecondSource
from jobsite.premises.operations.common import as_it_is, change, ground, must_be_there, particulars, plainly
from jobsite.premises.supply_words import names_no_place
from jobsite.premises.verbs import Verb
from jobsite.refused import Refused

COLUMNS = (
    "name",
    "kind",
    "board",
    "circuit",
    "rating_kw",
    "phases",
    "isolate_supply_side",
    "isolate_source_side",
    "wait_minutes",
)
NO_PLACE = (
    "Leave this empty where no isolator is known: words here are taken for one that can be switched off and locked."
)


def _fits(board: Board, fields: Mapping[str, Any]) -> None:
    """Refused where board or circuit were taken out, do not belong together or lack a phase, and for "none" as an isolator."""
    circuit, phases = fields.get("circuit"), set(fields.get("phases") or ())
    must_be_there(as_it_is(board), board.designation, "board")
    if circuit is not None:
        must_be_there(as_it_is(circuit), f"Way {circuit.way_name}", "circuit")
        if circuit.board_id != board.pk:
            raise Refused(f"That circuit is not on {board.designation}.", field="circuit")
    if lacking := sorted(phases - set(board.phases)):
        raise Refused(f"{board.designation} has no {' and no '.join(lacking)}.", field="phases")
    for side in ("isolate_supply_side", "isolate_source_side"):
        if fields.get(side) and names_no_place(fields[side]):
            raise Refused(NO_PLACE, field=side)


@operation
def add_second_source(
    board: Board,
    *,
    id: UUID,
    name: str,
    kind: str,
    phases: Sequence[str],
    by: Actor,
    now: datetime,
    circuit: Circuit | None = None,
    rating_kw: Decimal | None = None,
    isolate_supply_side: str = "",
    isolate_source_side: str = "",
    wait_minutes: int | None = None,
) -> SecondSource:
    """Add a source besides the network: rating in kW, where it is isolated on each side, minutes to wait after."""
    site = ground(board.site_id, by)
    board = locked(board)
    if source := made_before(SecondSource, id, site_id=site.pk):
        return source
    sides = {"isolate_supply_side": isolate_supply_side, "isolate_source_side": isolate_source_side}
    _fits(board, {"circuit": circuit, "phases": phases} | sides)
    source = SecondSource(id=id, site=site, board=board, circuit=circuit, name=name, kind=kind, phases=list(phases))
    source.rating_kw, source.wait_minutes = rating_kw, wait_minutes
    source.isolate_supply_side, source.isolate_source_side = isolate_supply_side, isolate_source_side
    with plainly():
        source.save(force_insert=True)
    facts, words = particulars(source, *COLUMNS)
    record(Verb.SOURCE_ADDED, site=site.pk, subject=source, by=by, now=now, facts=facts, words=words)
    return source


@operation
def edit_second_source(source: SecondSource, *, version: int, by: Actor, now: datetime, **fields: Any) -> SecondSource:
    """Change a second source. Raises ChangedMeanwhile where somebody else did in between."""
    site = ground(source.site_id, by)
    source = must_be_there(locked(source), source.name)
    board = fields.get("board", source.board)
    if board.site_id != site.pk:
        raise Refused("A second source stays at its site.", field="board")
    _fits(board, {"circuit": source.circuit, "phases": source.phases} | fields)
    change(source, fields, version=version, verb=Verb.SOURCE_CHANGED, site=site.pk, by=by, now=now)
    return source


@operation
def retire_second_source(source: SecondSource, *, by: Actor, now: datetime, reason: str = "") -> SecondSource:
    """Record that a second source was taken out."""
    site = ground(source.site_id, by)
    source = locked(source)
    if source.retired_at:
        return source
    source.retired_at = now
    source.save(update_fields=["retired_at"])
    record(Verb.SOURCE_RETIRED, site=site.pk, subject=source, by=by, now=now, words={"reason": reason})
    return source
