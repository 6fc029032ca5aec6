"""What quotes say about a site that is to leave the lists."""

from datetime import date
from uuid import UUID

from django.db.models import Q

from jobsite.premises.models import PartyAtUnit, Site
from remedials.quotes.models import Offer
from remedials.quotes.states import State


def holds_role(site: Site, party: UUID, *, on: date) -> bool:
    """Whether `party` is something at a unit of `site` on that day. One statement."""
    roles = PartyAtUnit.objects.filter(Q(until__isnull=True) | Q(until__gte=on), unit__site=site, party=party)
    return roles.filter(since__lte=on).exists()


def why_not_archive(site: Site) -> str:
    """Why `site` may not leave the lists: a version that was sent and neither answered nor withdrawn. One statement."""
    sent = Offer.objects.filter(state=State.SENT.value, quote__sites=site).select_related("quote")
    offer = sent.order_by("quote__number").first()
    if offer is None:
        return ""
    return f"{offer} was sent and is not answered: withdraw it, or record the answer, first."
