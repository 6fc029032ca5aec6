"""Units of a site and who answers for them."""

from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.db.models import Q

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked, made_before
from jobsite.people.operations import end_links_of_party, keep_links_to_unit
from jobsite.premises import policy
from jobsite.premises.choices import PremisesKind, RoleAtUnit, Tenure
from jobsite.premises.models import Party, PartyAtUnit, Site, Unit
from jobsite.premises.operations.common import (
    change,
    ground,
    must_be_there,
    particulars,
    party_in_use,
    plainly,
    tell_of_units,
)
from jobsite.premises.verbs import Verb
from jobsite.refused import Refused

LAW_RESTS_ON = ("kind", "tenure", "tenancy_granted_on")


@operation
def add_unit(
    site: Site,
    *,
    id: UUID,
    name: str,
    by: Actor,
    now: datetime,
    kind: str = PremisesKind.HOUSE,
    tenure: str = Tenure.OWNER_OCCUPIED,
    common_parts: bool = False,
    tenancy_granted_on: date | None = None,
) -> Unit:
    """Add a unit. From the second on, the site is no longer plain: its first unit is shown by its name too."""
    site = ground(site.pk, by, policy.may_keep_site)
    if unit := made_before(Unit, id, site_id=site.pk):
        return unit
    unit = Unit(id=id, site=site, name=name, kind=kind, tenure=tenure, common_parts=common_parts)
    unit.tenancy_granted_on = tenancy_granted_on
    with plainly():
        unit.save(force_insert=True)
        for first in site.units.filter(whole_site=True):
            keep_links_to_unit(site.pk, first.pk, but_for=site.customer_id)
        site.units.filter(whole_site=True).update(whole_site=False)
    facts, words = particulars(unit, "name", "kind", "tenure", "common_parts", "tenancy_granted_on")
    record(Verb.UNIT_ADDED, site=site.pk, subject=unit, by=by, now=now, facts=facts, words=words)
    tell_of_units([unit], by=by, now=now)
    return unit


@operation
def edit_unit(unit: Unit, *, version: int, by: Actor, now: datetime, **fields: Any) -> Unit:
    """Change a unit. Raises ChangedMeanwhile where somebody else did in between.

    What rests on its kind, its tenure or its tenancy is counted again.
    """
    site = ground(unit.site_id, by, policy.may_keep_site)
    unit = must_be_there(locked(unit), unit.name)
    before = [getattr(unit, name) for name in LAW_RESTS_ON]
    change(unit, fields, version=version, verb=Verb.UNIT_CHANGED, site=site.pk, by=by, now=now)
    if before != [getattr(unit, name) for name in LAW_RESTS_ON]:
        tell_of_units([unit], by=by, now=now)
    return unit


@operation
def retire_unit(unit: Unit, *, by: Actor, now: datetime) -> Unit:
    """Take a unit off the site's list. Refused for the last one: a site always has a unit."""
    site = ground(unit.site_id, by, policy.may_keep_site)
    unit = locked(unit)
    if unit.retired_at:
        return unit
    if not site.units.current().exclude(pk=unit.pk).exists():
        raise Refused(f"{unit.name} is the only one left: a site has at least one.")
    unit.retired_at = now
    unit.save(update_fields=["retired_at"])
    record(Verb.UNIT_RETIRED, site=site.pk, subject=unit, by=by, now=now)
    return unit


@operation
def give_role(
    unit: Unit,
    *,
    id: UUID,
    party: Party,
    role: str,
    since: date,
    by: Actor,
    now: datetime,
    limit_pounds: Decimal | None = None,
) -> PartyAtUnit:
    """Enter what `party` is at `unit` from a day on. `limit_pounds`: up to what sum an approver's standing word goes.

    Raises Refused for a party that is archived.
    """
    site = ground(unit.site_id, by, policy.may_keep_site)
    if found := made_before(PartyAtUnit, id, unit_id=unit.pk):
        return found
    if limit_pounds is not None and role != RoleAtUnit.APPROVER:
        raise Refused("Only a party that approves work has a limit.", field="limit_pounds")
    if limit_pounds is not None and limit_pounds < 0:
        raise Refused("A limit cannot be less than nothing.", field="limit_pounds")
    party = party_in_use(party, "party")
    given = PartyAtUnit(id=id, unit=unit, party=party, role=role, since=since, limit_pounds=limit_pounds)
    with plainly():
        given.save(force_insert=True)
    facts, _ = particulars(given, "unit", "party", "role", "since", "limit_pounds")
    record(Verb.ROLE_GIVEN, site=site.pk, subject=given, by=by, now=now, facts=facts)
    return given


@operation
def end_role(role: PartyAtUnit, *, until: date, by: Actor, now: datetime) -> PartyAtUnit:
    """Say until which day (included) a party had its part. Refused where that is before its first day.

    Private links that say how the unit stands end with that day, unless the party is something else there as well.
    """
    site = ground(role.unit.site_id, by, policy.may_keep_site)
    role = locked(role)
    if role.until == until:
        return role
    role.until = until
    with plainly():
        role.save(update_fields=["until"])
    facts: dict[str, Any] = {"until": until.isoformat()}
    if ended := _links_end(site, role, until, by=by, now=now):
        facts["links_end"] = ended
    record(Verb.ROLE_ENDED, site=site.pk, subject=role, by=by, now=now, facts=facts)
    return role


def _links_end(site: Site, role: PartyAtUnit, until: date, *, by: Actor, now: datetime) -> int:
    """End what the party was given of a unit, and of the whole site where it was nothing else at any. How many."""
    if role.party_id == site.customer_id:
        return 0
    later = PartyAtUnit.objects.filter(Q(until__isnull=True) | Q(until__gt=until), party=role.party_id, unit__site=site)
    there = set(later.values_list("unit", flat=True))
    ends_at = datetime.combine(until + timedelta(days=1), time(), clock.LONDON)
    units = ([] if role.unit_id in there else [role.unit_id]) + ([] if there else [None])
    return sum(
        end_links_of_party(role.party_id, site=site.pk, unit=unit, ends_at=ends_at, by=by, now=now) for unit in units
    )
