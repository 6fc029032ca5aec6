"""What becomes of quotes when a site goes to another customer, or turns out to be one that was recorded twice."""

from datetime import datetime
from typing import Any

from jobsite import clock
from jobsite.people.models import User
from jobsite.premises.models import Party, Site
from remedials.quotes.choices import LineKind
from remedials.quotes.models import Line, Offer, QuoteSite
from remedials.quotes.operations.sending import hold_work, withdrawn
from remedials.quotes.queries.premises import holds_role
from remedials.quotes.states import State


def withdraw_from_former(site: Site, former: Party, *, by: User, now: datetime) -> dict[str, Any]:
    """Inside an operation that gives `site` to another customer: offers there to `former`, and to whoever is neither
    the new customer nor has a part in the site that goes on, are withdrawn, as facts.

    They were made for work at somebody else's premises now, and their prices are nobody else's to see. One that offers work
    at other sites too is withdrawn whole: what was sent never changes. What was accepted stays; drafts stay for the office.
    """
    today = clock.local_day(now)
    standing = Offer.objects.filter(state=State.SENT.value, quote__sites=site).exclude(quote__party=site.customer_id)
    ending = [
        offer
        for offer in standing.select_related("quote").order_by("pk")
        if offer.quote.party_id == former.pk or not holds_role(site, offer.quote.party_id, on=today)
    ]
    hold_work(ending)
    for offer in ending:
        withdrawn(offer, reason=f"{site.name} went to another customer.", by=by, now=now)
    return {"quotes_withdrawn": [offer.quote.number for offer in ending]} if ending else {}


def at_one_site(gone: Site, into: Site) -> None:
    """Inside the merging of `gone` with `into`: a quote for both is for the one, and of two call-outs one names no site.

    The rest goes over with whatever refers to a site.
    """
    both = QuoteSite.objects.filter(site=into).values("quote")
    QuoteSite.objects.filter(site=gone, quote__in=both).delete()
    call_outs = Line.objects.filter(kind=LineKind.CALL_OUT)
    there = call_outs.filter(site=into).values("offer")
    call_outs.filter(site=gone, offer__in=there).update(site=None)
