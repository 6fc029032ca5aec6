"""Messages to a party about a quote, with a private link of that party's own put in when they go out."""

from datetime import datetime
from uuid import UUID

from jobsite.firm.queries import the_firm
from jobsite.messages.models import Message
from jobsite.messages.operations import write_messages
from jobsite.people.models import PrivateLink
from jobsite.premises.models import Party
from remedials.quotes.models import Quote
from remedials.quotes.operations.mailing import FILLED_BY, MARKER, REASON
from remedials.quotes.states import State


def address_of(party: Party | None, link: PrivateLink | None) -> str:
    """Where to write to `party`: to where its link went, where that was an e-mail address, else to its own.

    A link that was withdrawn was withdrawn from whoever has that address: nothing is written there.
    """
    if link is not None and link.withdrawn_at is None and "@" in link.sent_to:
        return link.sent_to
    return party.email if party else ""


def write_to(
    party: UUID | None,
    quote: Quote,
    *,
    occasion: str,
    subject: str,
    words: str,
    why: str,
    now: datetime,
    link: PrivateLink | None = None,
    until_answered: bool = False,
) -> bool:
    """Inside an operation: write `words` to `party`, and the way to its page of `quote`. False where it has no address.

    `why`: the rule by which they are written to. `link`: where it went, they are written to. `until_answered`: it is no longer needed once the version with the customer takes no answer any more.
    """
    to = Party.objects.filter(pk=party).first() if party else None
    offer = quote.offers.exclude(state=State.DRAFT).order_by("number").last()
    address = address_of(to, link)
    if to is None or offer is None or not address:
        return False
    firm = the_firm()
    body = (
        f"Dear {to.name},\n\n{words}\n\nYour page of the quote; opening it accepts nothing:\n\n{MARKER}\n\n"
        f"Whoever has this address can answer for you: pass it on with care.\n\n{firm.name}\n"
    )
    message = Message(
        occasion=occasion,
        to_kind=Message.To.CUSTOMER,
        to_id=to.pk,
        address=address,
        subject=subject,
        body=body,
        filled_by=FILLED_BY,
        why=why,
        reason_kind=REASON if until_answered else "",
        reason_ref=offer.pk,
        site=quote.at_sites.order_by("site").values_list("site", flat=True).first(),
        written_at=now,
        next_try_at=now,
    )
    write_messages([message])
    return True
