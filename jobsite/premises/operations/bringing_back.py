"""What was taken out in error is there again: circuits, supplies, second sources, units. Boards: see `boards`."""

from datetime import datetime
from typing import TypeVar
from uuid import UUID

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked
from jobsite.premises import policy
from jobsite.premises.models import Circuit, SecondSource, Supply, Unit
from jobsite.premises.operations.common import ground, must_be_there, plainly, tell_of_units
from jobsite.premises.verbs import Verb

Row = TypeVar("Row", Circuit, Supply, SecondSource, Unit)


@operation
def bring_back_circuit(circuit: Circuit, *, by: Actor, now: datetime) -> Circuit:
    """Undo that a circuit was taken out. Refused where its board was taken out or its way is taken."""
    site = ground(circuit.site_id, by)
    circuit = locked(circuit)
    if circuit.retired_at is None:
        return circuit
    must_be_there(circuit.board, circuit.board.designation)
    return _back(circuit, Verb.CIRCUIT_BROUGHT_BACK, site.pk, by=by, now=now)


@operation
def bring_back_supply(supply: Supply, *, by: Actor, now: datetime) -> Supply:
    """Undo that a supply was taken out. Refused where another has its name by now."""
    site = ground(supply.site_id, by)
    return _back(locked(supply), Verb.SUPPLY_BROUGHT_BACK, site.pk, by=by, now=now)


@operation
def bring_back_second_source(source: SecondSource, *, by: Actor, now: datetime) -> SecondSource:
    """Undo that a second source was taken out. Refused where the board or the circuit it came in on was taken out."""
    site = ground(source.site_id, by)
    source = locked(source)
    if source.retired_at is None:
        return source
    must_be_there(source.board, source.board.designation)
    if source.circuit is not None:
        must_be_there(source.circuit, f"Way {source.circuit.way_name}")
    return _back(source, Verb.SOURCE_BROUGHT_BACK, site.pk, by=by, now=now)


@operation
def bring_back_unit(unit: Unit, *, by: Actor, now: datetime) -> Unit:
    """Put a unit on the site's list again; its dates are counted anew. Refused where another has its name by now."""
    site = ground(unit.site_id, by, policy.may_keep_site)
    unit = locked(unit)
    if unit.retired_at is None:
        return unit
    unit = _back(unit, Verb.UNIT_BROUGHT_BACK, site.pk, by=by, now=now)
    site.units.filter(whole_site=True).update(whole_site=False)
    tell_of_units([unit], by=by, now=now)
    return unit


def _back(row: Row, verb: str, site: UUID, *, by: Actor, now: datetime) -> Row:
    if row.retired_at is None:
        return row
    row.retired_at = None
    with plainly():
        row.save(update_fields=["retired_at"])
    record(verb, site=site, subject=row, by=by, now=now)
    return row
