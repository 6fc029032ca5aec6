"""The private link on which a time is chosen: made to hand over, its token shown once."""

from datetime import datetime, timedelta
from uuid import UUID

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.ledger.rows import made_before
from jobsite.people.models import PrivateLink
from jobsite.people.operations.links import link_going_out
from jobsite.refused import Refused
from remedials.visits.models import TimesOffer
from remedials.visits.operations.ground import office, site_in_use
from remedials.visits.queries.visits import begins
from remedials.works.operations.ground import needed, person

OPENS_AFTER = timedelta(days=30)  # so long after the day of the answer it still says what was chosen

NOT_OPEN = "These times are not open any more."


def opens_until(offer: TimesOffer) -> datetime:
    """Until when a link to `offer` opens."""
    return begins(offer.answer_by + timedelta(days=1)) + OPENS_AFTER


@operation
def make_times_link(offer: TimesOffer, *, id: UUID, sent_to: str, by: Actor, now: datetime) -> tuple[PrivateLink, str]:
    """A private link to `offer` and its token, which is kept nowhere. Made again with the same key: an empty token.

    Raises NotAllowed, Refused.
    """
    office(by)
    site_in_use(offer.site)
    if made := made_before(PrivateLink, id, thing=offer.pk):
        return made, ""
    if offer.state != "open":
        raise Refused(NOT_OPEN)
    sent_to = needed(sent_to, "Say whom you give it to.", field="sent_to")
    return link_going_out(
        id=id, purpose=PrivateLink.Purpose.TIMES, site=offer.site_id, sent_to=sent_to, unit=offer.unit_id,
        expires_at=opens_until(offer), by=person(by), now=now,
        party=offer.party_id, thing=offer.pk,
    )  # fmt: skip
