"""Customers and other parties."""

from datetime import datetime
from typing import Any
from uuid import UUID

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone, locked, made_before
from jobsite.premises import policy
from jobsite.premises.models import Party
from jobsite.premises.operations.common import NOT_YOURS, change, particulars, plainly
from jobsite.premises.verbs import Verb
from jobsite.refused import NotAllowed, Refused

COLUMNS = ("name", "organisation", "email", "phone", "address")


def _may(by: Actor) -> None:
    if not policy.may_keep_customers(by):
        raise NotAllowed(NOT_YOURS)


def _not_erased(party: Party) -> None:
    if party.erased_at:
        raise Refused("The data of this customer were erased. Whoever comes back is entered anew.")


@operation
def add_party(
    *,
    id: UUID,
    name: str,
    by: Actor,
    now: datetime,
    organisation: bool = False,
    email: str = "",
    phone: str = "",
    address: str = "",
) -> Party:
    """Enter a person or an organisation. The same `id` again gives the same row."""
    _may(by)
    alone(id)
    if party := made_before(Party, id):
        return party
    party = Party(id=id, name=name, organisation=organisation, email=email, phone=phone, address=address)
    with plainly():
        party.save(force_insert=True)
    facts, words = particulars(party, *COLUMNS)
    record(Verb.PARTY_ADDED, site=None, subject=party, by=by, now=now, facts=facts, words=words)
    return party


@operation
def edit_party(party: Party, *, version: int, by: Actor, now: datetime, **fields: Any) -> Party:
    """Change what is recorded of a party. Raises ChangedMeanwhile where somebody else did in between."""
    _may(by)
    party = locked(party)
    _not_erased(party)
    change(party, fields, version=version, verb=Verb.PARTY_CHANGED, site=None, by=by, now=now)
    return party


@operation
def archive_party(party: Party, *, by: Actor, now: datetime) -> Party:
    """Take a party off the lists. Refused while it is the customer of a current site or has a part at a unit."""
    _may(by)
    party = locked(party)
    if party.archived_at:
        return party
    if party.sites.current().exists() or party.roles.filter(until__isnull=True).exists():
        raise Refused(f"{party.name} still has a site or a part at a unit. End that first.")
    party.archived_at = now
    party.save(update_fields=["archived_at"])
    record(Verb.PARTY_ARCHIVED, site=None, subject=party, by=by, now=now)
    return party


@operation
def bring_back_party(party: Party, *, by: Actor, now: datetime) -> Party:
    """Put an archived party on the lists again."""
    _may(by)
    party = locked(party)
    if party.archived_at is None:
        return party
    _not_erased(party)
    party.archived_at = None
    party.save(update_fields=["archived_at"])
    record(Verb.PARTY_BROUGHT_BACK, site=None, subject=party, by=by, now=now)
    return party
