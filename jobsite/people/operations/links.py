"""Private links: made, withdrawn, used."""

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from django.db.models import F, Q

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import alone, locked, made_before
from jobsite.people.links import new_token, token_hash
from jobsite.people.models import PrivateLink, User
from jobsite.people.rights import Right
from jobsite.people.verbs import Verb
from jobsite.refused import NotAllowed, Refused


@operation
def make_link(
    *,
    id: UUID,
    purpose: str,
    site: UUID | None,
    sent_to: str,
    expires_at: datetime,
    by: User,
    now: datetime,
    unit: UUID | None = None,
    party: UUID | None = None,
    thing: UUID | None = None,
) -> tuple[PrivateLink, str]:
    """Make a private link; returns it and its token, which is not kept and cannot be shown again.

    `site` is None for one that opens all of a customer's sites. Made again with the same key, it answers with an empty token.
    """
    if not by.may(Right.SHARE_STATUS):
        raise NotAllowed("Only the office may share a site's status.")
    alone(id)
    if made := made_before(PrivateLink, id, purpose=purpose, site=site, party=party):
        return made, ""
    if expires_at <= now:
        raise Refused("A link must end in the future.", field="expires_at")
    return link_going_out(
        id=id, purpose=purpose, site=site, sent_to=sent_to, expires_at=expires_at, by=by, now=now, unit=unit,
        party=party, thing=thing,
    )  # fmt: skip


@operation
def link_going_out(
    *,
    id: UUID,
    purpose: str,
    site: UUID | None,
    sent_to: str,
    expires_at: datetime,
    by: User,
    now: datetime,
    unit: UUID | None = None,
    party: UUID | None = None,
    thing: UUID | None = None,
) -> tuple[PrivateLink, str]:
    """Make a private link and its token, for a message whose writer `by` was asked for the right when it was written."""
    token = new_token()
    link = PrivateLink.objects.create(
        id=id,
        token_hash=token_hash(token),
        purpose=purpose,
        site=site,
        unit=unit,
        party=party,
        thing=thing,
        sent_to=sent_to,
        made_by=by,
        made_at=now,
        expires_at=expires_at,
    )
    facts = {"purpose": purpose, "unit": str(unit) if unit else None, "expires_at": expires_at.isoformat()}
    facts |= {"thing": str(thing)} if thing else {}
    record(Verb.LINK_MADE, site=site, subject=link, by=by, now=now, facts=facts, words={"sent_to": sent_to})
    return link, token


@operation
def renew_token(link: PrivateLink, *, now: datetime) -> str:
    """Another token for a link whose former one surely never left the house; the former opens nothing any more."""
    link, token = locked(link), new_token()
    link.token_hash, link.made_at = token_hash(token), now
    link.save(update_fields=["token_hash", "made_at"])
    return token


@operation
def withdraw_link(link: PrivateLink, *, by: Actor, now: datetime) -> PrivateLink:
    """End a private link at once."""
    if not by.may(Right.SHARE_STATUS):
        raise NotAllowed("Only the office may withdraw a link.")
    link = locked(link)
    if link.withdrawn_at is None:
        link.withdrawn_at = now
        link.save(update_fields=["withdrawn_at"])
        record(Verb.LINK_WITHDRAWN, site=link.site, subject=link, by=by, now=now)
    return link


def withdraw_links_of(
    site: UUID, *, by: Actor, now: datetime, whole: bool = False, keep_others_than: UUID | None = None
) -> int:
    """Inside an operation: end private links to `site` and its parts. Returns how many there were.

    `whole`: only those to the site as a whole. `keep_others_than`: those that were given to another party than this stay.
    """
    rows = PrivateLink.objects.select_for_update().filter(site=site, withdrawn_at__isnull=True, expires_at__gt=now)
    if whole:
        rows = rows.filter(unit__isnull=True)
    if keep_others_than is not None:
        rows = rows.filter(Q(party__isnull=True) | Q(party=keep_others_than))
    links = list(rows.order_by("pk"))
    for link in links:
        link.withdrawn_at = now
        link.save(update_fields=["withdrawn_at"])
        record(Verb.LINK_WITHDRAWN, site=site, subject=link, by=by, now=now)
    return len(links)


def end_links_of_party(
    party: UUID, *, site: UUID, unit: UUID | None, ends_at: datetime, by: Actor, now: datetime
) -> int:
    """Inside an operation: what `party` was given of `unit` (None: of the site as a whole) opens until `ends_at` at most.

    Only pages that say how things stand: an answer to a quote or a visit is another matter. Returns how many there were.
    """
    rows = PrivateLink.objects.select_for_update().filter(site=site, party=party, purpose=PrivateLink.Purpose.STATUS)
    rows = rows.filter(unit=unit) if unit else rows.filter(unit__isnull=True)
    links = list(rows.filter(withdrawn_at__isnull=True, expires_at__gt=max(now, ends_at)).order_by("pk"))
    for link in links:
        if ends_at > max(now, link.made_at):
            link.expires_at = ends_at
            link.save(update_fields=["expires_at"])
        else:
            link.withdrawn_at = now
            link.save(update_fields=["withdrawn_at"])
            record(Verb.LINK_WITHDRAWN, site=site, subject=link, by=by, now=now)
    return len(links)


def keep_links_to_unit(site: UUID, unit: UUID, *, but_for: UUID) -> int:
    """Inside an operation: a site of one unit gets more of them, and who was given "the whole" keeps what they could see.

    Only links of the customer `but_for` go on opening the whole site, with what comes to it.
    """
    rows = PrivateLink.objects.filter(site=site, unit__isnull=True, purpose=PrivateLink.Purpose.STATUS)
    return rows.filter(Q(party__isnull=True) | ~Q(party=but_for)).update(unit=unit)


def move_links(site: UUID, *, into: UUID, units: Mapping[UUID, UUID]) -> int:
    """Inside an operation: private links to `site` open `into`, those to one of `units` the unit it went over to."""
    for unit, other in units.items():
        PrivateLink.objects.filter(unit=unit).update(unit=other)
    return PrivateLink.objects.filter(site=site).update(site=into)


def count_use(link: PrivateLink, *, now: datetime) -> None:
    """Note that the link was opened. Reading leaves no entry in the ledger."""
    PrivateLink.objects.filter(pk=link.pk).update(uses=F("uses") + 1, last_used_at=now)
