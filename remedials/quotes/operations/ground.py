"""What every change of a quote begins with: the right, locks in the house's order, the version that was seen.

Locks: sites, remedials, then the quote, then its version (`Offer`). The ledger's subject is the quote; its entries stand
in the chain of each site that it offers work at.
"""

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from inspections.models import Observation
from inspections.operations.ground import held_site, must_be_in_use
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import record
from jobsite.premises.models import Site
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from remedials.quotes import policy
from remedials.quotes.models import Offer, Quote
from remedials.quotes.states import WORDS, State
from remedials.quotes.verbs import Verb
from remedials.works.models import Remedial

NOT_YOURS = "Only the office may price work and make quotes."
CHANGED = "Somebody else changed this quote meanwhile."


def must_quote(by: Actor) -> None:
    """Raises NotAllowed for whoever may not price and quote."""
    if not policy.may_quote(by):
        raise NotAllowed(NOT_YOURS)


def held_sites(keys: Iterable[UUID]) -> list[Site]:
    """The sites, locked in the order of their keys. Raises Refused for an archived one."""
    sites = [held_site(site) for site in Site.objects.filter(pk__in=set(keys)).order_by("pk")]
    for site in sites:
        must_be_in_use(site)
    return sites


def held_remedials(keys: Iterable[UUID]) -> list[Remedial]:
    """The remedials, locked in the order of their keys: two quotes never offer the same one at once."""
    rows = Remedial.objects.select_for_update(of=("self",)).select_related("site", "unit")
    return list(rows.filter(pk__in=set(keys)).order_by("pk"))


def held_work(keys: Iterable[UUID]) -> list[Remedial]:
    """The remedials, locked after their observations: whoever closes or approves one takes its locks in that order."""
    keys = set(keys)
    items = Observation.objects.filter(remedies__remedial__in=keys).values("pk")
    list(Observation.objects.filter(pk__in=items).select_for_update(of=("self",)).order_by("pk"))
    return held_remedials(keys)


def locked_quote(key: UUID) -> Quote:
    """The quote as it is now, locked until the operation ends. Raises Refused where it was thrown away meanwhile."""
    quote = Quote.objects.select_for_update(of=("self",)).filter(pk=key).first()
    if quote is None:
        raise Refused("This quote was thrown away meanwhile.")
    return quote


def locked_offer(offer: Offer) -> Offer:
    """The version as it is now, locked after its quote. Raises Refused where it was thrown away meanwhile."""
    quote = locked_quote(offer.quote_id)
    found = Offer.objects.select_for_update(of=("self",)).filter(pk=offer.pk).first()
    if found is None:
        raise Refused(f"Version {offer.number} of quote {quote.number} was thrown away meanwhile.")
    found.quote = quote
    return found


def locked_draft(offer: Offer, *, version: int | None = None) -> Offer:
    """The draft, locked. Raises Refused once it was sent, ChangedMeanwhile where `version` is not the one it has now."""
    offer = locked_offer(offer)
    if offer.state != State.DRAFT:
        words = WORDS[State(offer.state)]
        raise Refused(f"{offer} is {words}: what was sent never changes. Make the next version instead.")
    if version is not None and offer.version != version:
        raise ChangedMeanwhile(CHANGED, theirs=offer)
    return offer


def count_on(offer: Offer, **fields: Any) -> Offer:
    """Set `fields`, count the offer's `version` on, and write just those."""
    for name, value in fields.items():
        setattr(offer, name, value)
    offer.version += 1
    offer.save(update_fields=[*fields, "version"])
    return offer


def tell(
    verb: Verb,
    quote: Quote,
    *,
    by: Actor,
    now: datetime,
    facts: Mapping[str, Any] | None = None,
    words: Mapping[str, str] | None = None,
) -> None:
    """Note `verb` about `quote` in the ledger of each site it offers work at; in the firm's where it names none."""
    sites: list[UUID | None] = list(quote.at_sites.order_by("site").values_list("site", flat=True))
    for site in sites or [None]:
        record(verb, site=site, subject=quote, by=by, now=now, facts=facts, words=words)
