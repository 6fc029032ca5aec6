"""Sites: opened with their one unit and one supply, changed, archived."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date, datetime
from decimal import Decimal
from typing import Any
from uuid import UUID

from django.conf import settings
from django.utils.module_loading import import_string

from jobsite.firm.operations import take_number
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone, locked, made_before
from jobsite.people.models import User
from jobsite.premises import policy
from jobsite.premises.choices import Earthing, Nation, PremisesKind, Tenure
from jobsite.premises.models import Party, Site, SiteAccess, Supply, Unit
from jobsite.premises.operations.common import (
    NOT_YOURS,
    change,
    ground,
    particulars,
    party_in_use,
    plainly,
    tell_of_units,
)
from jobsite.premises.operations.parties import add_party
from jobsite.premises.operations.supplies import edit_supply
from jobsite.premises.operations.units import edit_unit
from jobsite.premises.verbs import Verb
from jobsite.refused import NotAllowed, Refused
from jobsite.sorting import sort_key

INTAKE = "Intake"  # what the one supply of a plain site is called


@operation
def open_site(
    *,
    id: UUID,
    name: str,
    address: str,
    customer: Party,
    by: Actor,
    now: datetime,
    postcode: str = "",
    nation: str = Nation.ENGLAND,
    kind: str = PremisesKind.HOUSE,
    tenure: str = Tenure.OWNER_OCCUPIED,
    tenancy_granted_on: date | None = None,
    access_notes: str = "",
    latitude: Decimal | None = None,
    longitude: Decimal | None = None,
    phases: Sequence[str] = ("L1",),
    earthing: str = Earthing.UNKNOWN,
    main_fuse_a: int | None = None,
) -> Site:
    """Open a site with its one unit and its one supply: all that a plain house needs. The same `id` gives the same site.

    `main_fuse_a` in amperes. Raises Refused where a name is missing, no phase is given, or the customer is archived.
    """
    if not policy.may_keep_customers(by):
        raise NotAllowed(NOT_YOURS)
    alone(id)
    if site := made_before(Site, id):
        return site
    customer = party_in_use(customer, "customer")
    site = Site(id=id, name=name, address=address, postcode=postcode, nation=nation, customer=customer)
    site.access_notes, site.number = access_notes, take_number("site")
    site.latitude, site.longitude = latitude, longitude
    unit = Unit(site=site, name=name, kind=kind, tenure=tenure, whole_site=True, tenancy_granted_on=tenancy_granted_on)
    supply = Supply(site=site, name=INTAKE, phases=list(phases), earthing=earthing, main_fuse_a=main_fuse_a)
    with plainly():
        site.save(force_insert=True)
        unit.save(force_insert=True)
        supply.save(force_insert=True)
    facts, words = particulars(site, "number", "name", "address", "postcode", "nation", "customer", "access_notes")
    if latitude is not None:
        facts |= particulars(site, "latitude", "longitude")[0]
    of_unit, _ = particulars(unit, "kind", "tenure", "tenancy_granted_on")
    of_supply, _ = particulars(supply, "phases", "earthing", "main_fuse_a")
    facts |= of_unit | of_supply | {"unit": str(unit.pk), "supply": str(supply.pk)}
    record(Verb.SITE_OPENED, site=site.pk, subject=site, by=by, now=now, facts=facts, words=words)
    tell_of_units([unit], by=by, now=now)
    return site


@operation
def open_site_for_new_customer(
    *, customer_id: UUID, customer: Mapping[str, Any], by: Actor, now: datetime, **fields: Any
) -> Site:
    """Open a site and enter its customer (`customer`: what add_party takes) in one step."""
    party = add_party(id=customer_id, by=by, now=now, **customer)
    return open_site(customer=party, by=by, now=now, **fields)


@operation
def edit_site(site: Site, *, version: int, by: Actor, now: datetime, **fields: Any) -> Site:
    """Change a site's own particulars. Raises ChangedMeanwhile where somebody else did in between.

    Raises Refused for a new customer who is archived. In another nation another law holds: dates are counted again.
    """
    site = ground(site.pk, by, policy.may_keep_site)
    if (customer := fields.get("customer")) and customer.pk != site.customer_id:
        party_in_use(customer, "customer")
    nation = site.nation
    changed = change(site, fields, version=version, verb=Verb.SITE_CHANGED, site=site.pk, by=by, now=now)
    if site.nation != nation:
        tell_of_units(site.units.current().order_by("pk"), by=by, now=now)
    if changed and "name" in fields:  # the one unit of a plain site goes by the site's name
        site.units.filter(whole_site=True).update(name=site.name, sort=sort_key(site.name))
    return site


@operation
def edit_plain_site(
    site: Site,
    *,
    version: int,
    unit_version: int,
    supply_version: int,
    of_unit: Mapping[str, Any],
    of_supply: Mapping[str, Any],
    by: Actor,
    now: datetime,
    **fields: Any,
) -> Site:
    """Change a plain site with its one unit and its one supply, all or nothing: its form shows them as the site's own.

    Raises ChangedMeanwhile where somebody else changed any of the three in between.
    """
    site = edit_site(site, version=version, by=by, now=now, **fields)
    edit_unit(site.units.get(whole_site=True), version=unit_version, by=by, now=now, **of_unit)
    supply = site.supplies.current().get()
    edit_supply(supply, version=supply_version, by=by, now=now, **of_supply)
    return site


@operation
def archive_site(site: Site, *, by: Actor, now: datetime) -> Site:
    """Take a site off the lists; nothing of it is lost, and it can be brought back.

    Refused while the floors above say why not (the setting WHY_NOT_ARCHIVE): what is dangerous never drops out of sight.
    """
    site = locked(site)
    if not policy.may_keep_site(by, site):
        raise NotAllowed(NOT_YOURS)
    if site.archived_at:
        return site
    for name in settings.WHY_NOT_ARCHIVE:
        if sentence := import_string(name)(site):
            raise Refused(sentence)
    site.archived_at = now
    site.save(update_fields=["archived_at"])
    record(Verb.SITE_ARCHIVED, site=site.pk, subject=site, by=by, now=now)
    return site


@operation
def bring_back_site(site: Site, *, by: Actor, now: datetime) -> Site:
    """Put an archived site on the lists again: every row of it stands anew (and see the setting WHEN_SITE_COMES_BACK)."""
    site = locked(site)
    if not policy.may_keep_site(by, site):
        raise NotAllowed(NOT_YOURS)
    if site.archived_at is None:
        return site
    if site.merged_into is not None:
        raise Refused(
            f"It was recorded twice and went over to {site.merged_into}: nothing of it is left to bring back."
        )
    site.archived_at = None
    site.save(update_fields=["archived_at"])
    for name in settings.WHEN_SITE_COMES_BACK:
        import_string(name)(site, by=by, now=now)
    record(Verb.SITE_BROUGHT_BACK, site=site.pk, subject=site, by=by, now=now)
    return site


@operation
def grant_access(site: Site, user: User, *, now: datetime) -> None:
    """Let a subcontractor see `site`. Part of what grants it (a visit), whose own entry in the ledger tells of it."""
    SiteAccess.objects.bulk_create([SiteAccess(site=site, user=user, granted_at=now)], ignore_conflicts=True)


@operation
def take_access_back(site: Site, users: Iterable[UUID]) -> list[UUID]:
    """Let those of `users` that `grant_access` let see `site` see it no more; who they were.

    Part of what takes it back (a visit cancelled), whose own entry in the ledger tells of it.
    """
    access = SiteAccess.objects.filter(site=site, user__in=list(users))
    taken = sorted(access.values_list("user", flat=True))
    access.delete()
    return taken
