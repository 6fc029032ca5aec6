"""Circuits of a board, and what hangs together across boards."""

from collections.abc import Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked, made_before
from jobsite.people.models import User
from jobsite.premises.choices import LINES, FeedKind, Phase
from jobsite.premises.models import Board, Circuit, CircuitLink
from jobsite.premises.operations.common import as_it_is, change, ground, must_be_there, particulars, plainly
from jobsite.premises.operations.verifying import before, keep_verification, stamped
from jobsite.premises.verbs import Verb
from jobsite.refused import NotAllowed, Refused

COLUMNS = (
    "way",
    "phase",
    "board",
    "unit",
    "label_found",
    "designation",
    "verified_how",
    "device_standard",
    "device_type",
    "rating_a",
    "poles",
    "breaking_capacity_ka",
    "rcd_kind",
    "rcd_ma",
    "rcd_shared",
    "arrangement",
    "line_mm2",
    "cpc_mm2",
    "length_m",
    "points",
    "must_not_lose_power",
    "spare",
    "blanked",
)


def fits(board: Board, fields: Mapping[str, Any]) -> None:
    """Refused where the circuit would be on a phase that its board lacks, or serve another site's unit."""
    phase = fields.get("phase")
    if phase == Phase.THREE and len(board.phases) < len(LINES):
        raise Refused(f"{board.designation} has not all three phases.", field="phase")
    if phase in LINES and phase not in board.phases:
        raise Refused(f"{board.designation} has no {phase}.", field="phase")
    unit = fields.get("unit")
    if unit is not None and unit.site_id != board.site_id:
        raise Refused("A circuit serves a unit of its own site only.", field="unit")


@operation
def add_circuit(
    board: Board,
    *,
    id: UUID,
    way: int,
    phase: str,
    by: Actor,
    now: datetime,
    made_at: datetime | None = None,
    **fields: Any,
) -> Circuit:
    """Add a circuit on a way of `board`. `fields`: columns of Circuit; rating in A, RCD in mA, conductors in mm² and m.

    `verified_how` says that `designation` is verified by `by` on the day of `made_at` (`now`, unless given); without it,
    it is believed only.
    """
    site = ground(board.site_id, by)
    board = locked(board)
    if circuit := made_before(Circuit, id, site_id=site.pk):
        return circuit
    if board.retired_at:
        raise Refused(f"{board.designation} was taken out: bring it back before you add a circuit.")
    fields |= {"way": way, "phase": phase}
    fits(board, fields)
    circuit = Circuit(id=id, site=site, board=board)
    was = before(circuit)
    for name, value in stamped(circuit, fields, by=by, now=made_at or now).items():
        setattr(circuit, name, value)
    with plainly():
        circuit.save(force_insert=True)
    keep_verification(circuit, was, by=by, now=now, made_at=made_at)
    facts, words = particulars(circuit, *COLUMNS)
    record(Verb.CIRCUIT_ADDED, site=site.pk, subject=circuit, by=by, now=now, facts=facts, words=words)
    return circuit


@operation
def edit_circuit(
    circuit: Circuit,
    *,
    version: int,
    by: Actor,
    now: datetime,
    made_at: datetime | None = None,
    over_own: bool = False,
    **fields: Any,
) -> Circuit:
    """Change a circuit. Raises ChangedMeanwhile where somebody else did; Refused where the way is taken.

    A board that it feeds must keep all its phases. `made_at`: when, where not `now`. `over_own`: these fields alone were
    asked for, so that what the same person changed since `version` is no conflict (`change`).
    """
    site = ground(circuit.site_id, by)
    circuit = must_be_there(locked(circuit), f"Way {circuit.way_name}")
    fits(circuit.board, {"phase": circuit.phase} | fields)
    was = before(circuit)
    fields = stamped(circuit, fields, by=by, now=made_at or now)
    change(
        circuit, fields, version=version, verb=Verb.CIRCUIT_CHANGED, site=site.pk, by=by, now=now, over_own=over_own
    )  # fmt: skip
    keep_verification(circuit, was, by=by, now=now, made_at=made_at)
    return circuit


@operation
def retire_circuit(circuit: Circuit, *, by: Actor, now: datetime, reason: str = "") -> Circuit:
    """Record that a circuit was taken out. Refused while it feeds a board or carries a second source."""
    site = ground(circuit.site_id, by)
    circuit = locked(circuit)
    if circuit.retired_at:
        return circuit
    if feed := circuit.feeds.select_related("board").first():
        feeds = "may feed" if feed.kind == FeedKind.POSSIBLE else "still feeds"
        raise Refused(f"Way {circuit.way_name} {feeds} {feed.board.designation}: move that feed first.")
    if source := circuit.second_sources.current().first():
        raise Refused(f"{source.name} still comes in on way {circuit.way_name}: move it or take it out first.")
    circuit.retired_at = now
    circuit.save(update_fields=["retired_at"])
    words = {"reason": reason}
    record(Verb.CIRCUIT_RETIRED, site=site.pk, subject=circuit, by=by, now=now, words=words)
    return circuit


@operation
def link_circuits(one: Circuit, other: Circuit, *, id: UUID, kind: str, by: Actor, now: datetime) -> CircuitLink:
    """Record that two circuits of a site share a neutral, or that one is also fed from the other; it works both ways."""
    site = ground(one.site_id, by)
    if other.site_id != site.pk:
        raise Refused("The other circuit is of another site.", field="other")
    if found := made_before(CircuitLink, id, site_id=site.pk):
        return found
    if not isinstance(by, User):
        raise NotAllowed("Only a person can say that circuits hang together.")
    for circuit in (one, other):
        must_be_there(as_it_is(circuit), f"Way {circuit.way_name}", "other")
    first, second = sorted((one, other), key=lambda circuit: circuit.pk)
    noted_on = clock.local_day(now)
    link = CircuitLink(id=id, site=site, one=first, other=second, kind=kind, noted_by=by, noted_on=noted_on)
    with plainly():
        link.save(force_insert=True)
    facts, _ = particulars(link, "one", "other", "kind")
    record(Verb.CIRCUITS_LINKED, site=site.pk, subject=link, by=by, now=now, facts=facts)
    return link


@operation
def unlink_circuits(link: CircuitLink, *, by: Actor, now: datetime) -> None:
    """Record that two circuits do not hang together after all. Again after success: nothing happens."""
    site = ground(link.site_id, by)
    found = CircuitLink.objects.filter(pk=link.pk).first()
    if found is None:
        return
    facts, _ = particulars(found, "one", "other", "kind")
    record(Verb.CIRCUITS_UNLINKED, site=site.pk, subject=found, by=by, now=now, facts=facts)
    found.delete()
