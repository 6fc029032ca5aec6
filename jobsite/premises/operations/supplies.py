"""Supplies: where the network comes in."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked, made_before
from jobsite.premises.choices import Earthing
from jobsite.premises.models import Site, Supply
from jobsite.premises.operations.common import change, ground, must_be_there, particulars, plainly
from jobsite.premises.verbs import Verb
from jobsite.refused import Refused

COLUMNS = (
    "name",
    "phases",
    "voltage",
    "main_fuse_a",
    "earthing",
    "ze_ohm",
    "fault_current_ka",
    "isolator",
    "isolator_kind",
)


@operation
def add_supply(
    site: Site,
    *,
    id: UUID,
    name: str,
    phases: Sequence[str],
    by: Actor,
    now: datetime,
    voltage: int = 230,
    main_fuse_a: int | None = None,
    earthing: str = Earthing.UNKNOWN,
    ze_ohm: Decimal | None = None,
    fault_current_ka: Decimal | None = None,
    isolator: str = "",
    isolator_kind: str = "",
) -> Supply:
    """Add a supply. `voltage`: nominal, in volts to earth; fuse in A, Ze in Ω, fault current in kA.

    `isolator`: the customer's own between the meter and the boards, in words; `isolator_kind`: what it disconnects.
    """
    site = ground(site.pk, by)
    if supply := made_before(Supply, id, site_id=site.pk):
        return supply
    supply = Supply(id=id, site=site, name=name, phases=list(phases), voltage=voltage, main_fuse_a=main_fuse_a)
    supply.earthing, supply.ze_ohm, supply.fault_current_ka = earthing, ze_ohm, fault_current_ka
    supply.isolator, supply.isolator_kind = isolator, isolator_kind
    with plainly():
        supply.save(force_insert=True)
    facts, words = particulars(supply, *COLUMNS)
    record(Verb.SUPPLY_ADDED, site=site.pk, subject=supply, by=by, now=now, facts=facts, words=words)
    return supply


@operation
def edit_supply(supply: Supply, *, version: int, by: Actor, now: datetime, **fields: Any) -> Supply:
    """Change a supply. Refused where a board would be left with a phase that its supply lacks."""
    site = ground(supply.site_id, by)
    supply = must_be_there(locked(supply), supply.name)
    change(supply, fields, version=version, verb=Verb.SUPPLY_CHANGED, site=site.pk, by=by, now=now)
    return supply


@operation
def retire_supply(supply: Supply, *, by: Actor, now: datetime) -> Supply:
    """Record that a supply was taken out. Refused while it feeds a board, and for the last one."""
    site = ground(supply.site_id, by)
    supply = locked(supply)
    if supply.retired_at:
        return supply
    if feed := supply.feeds.select_related("board").first():
        raise Refused(f"{supply.name} still feeds {feed.board.designation}: move that feed first.")
    if not site.supplies.current().exclude(pk=supply.pk).exists():
        raise Refused(f"{supply.name} is the only one left: a site has at least one.")
    supply.retired_at = now
    supply.save(update_fields=["retired_at"])
    record(Verb.SUPPLY_RETIRED, site=site.pk, subject=supply, by=by, now=now)
    return supply
