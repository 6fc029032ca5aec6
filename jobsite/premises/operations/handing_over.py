"""A site goes to another customer: it was sold, or another agent manages it. Its history stays with the site."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta

from django.conf import settings
from django.db.models import Q
from django.utils.module_loading import import_string

from jobsite import clock
from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.messages.operations import drop_waiting
from jobsite.people.operations import withdraw_links_of
from jobsite.premises import policy
from jobsite.premises.models import FormerCustomer, Party, PartyAtUnit, Site
from jobsite.premises.operations.common import CHANGED, ground, party_in_use
from jobsite.premises.operations.units import end_role, give_role
from jobsite.premises.verbs import Verb
from jobsite.refused import ChangedMeanwhile, Refused


@operation
def hand_over_site(
    site: Site,
    *,
    to: Party,
    on: date,
    reason: str,
    version: int,
    by: Actor,
    now: datetime,
    roles: Iterable[str] = (),
) -> Site:
    """From `on` the site is of the customer `to`; what the former customer was at its units ends the day before.

    `roles`: what `to` becomes at the units where the former customer had that part (owner, agent, payer, approver). Private
    links of the former customer, and those that name nobody, are withdrawn, and messages to the former customer that still
    wait are dropped: what was said to them stays on record, what comes is said to the other. What the floors above offered to
    the former customer ends (the setting WHEN_SITE_CHANGES_HANDS). Sent twice: nothing happens.
    Raises Refused without a reason, for a party that is archived, for a day that is still to come, and for one before the
    former customer's own first day.
    """
    site = ground(site.pk, by, policy.may_keep_site)
    former = site.customer
    if former.pk == to.pk:
        return site
    if site.version != version:
        raise ChangedMeanwhile(CHANGED, theirs=site)
    to = party_in_use(to, "to")
    if not reason.strip():
        raise Refused("Say why: sold, another agent.", field="reason")
    if on > clock.local_day(now):
        raise Refused("That day is still to come: hand it over when it is there.", field="on")
    until = on - timedelta(days=1)
    _parts_over(site, former, to, set(roles), on, by=by, now=now)
    FormerCustomer.objects.create(site=site, party=former, until=until, reason=reason.strip(), recorded_at=now)
    site.customer, site.version = to, site.version + 1
    site.save(update_fields=["customer", "version"])
    links, dropped = (
        withdraw_links_of(site.pk, keep_others_than=former.pk, by=by, now=now),
        drop_waiting(site.pk, to=former.pk, now=now),
    )
    facts = {"from": str(former.pk), "to": str(to.pk), "on": on.isoformat()}
    for name in settings.WHEN_SITE_CHANGES_HANDS:
        facts |= import_string(name)(site, former, by=by, now=now)
    record(
        Verb.SITE_HANDED_OVER, site=site.pk, subject=site, by=by, now=now,
        facts=facts | {"links_withdrawn": links, "messages_dropped": dropped}, words={"reason": reason.strip()},
    )  # fmt: skip
    return site


def _parts_over(site: Site, former: Party, to: Party, roles: set[str], on: date, *, by: Actor, now: datetime) -> None:
    lasting = Q(until__isnull=True) | Q(until__gte=on)
    standing = PartyAtUnit.objects.filter(lasting, unit__site=site, party=former).select_related("unit")
    for part in standing.order_by("unit__sort", "role", "pk"):
        if part.since >= on:
            raise Refused(f"{former} is entered from {part.since:%d %b %Y} on: choose a later day.", field="on")
        end_role(part, until=on - timedelta(days=1), by=by, now=now)
        if part.role in roles:
            give_role(part.unit, id=new_id(), party=to, role=part.role, since=on, by=by, now=now)
