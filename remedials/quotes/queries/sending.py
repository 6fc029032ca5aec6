"""What the page of a quote says of how it was sent and is followed up, and its document as it would be sent."""

from datetime import datetime
from typing import Any

from jobsite.addresses import address
from jobsite.documents import Made
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink, User
from jobsite.people.rights import Right
from jobsite.words import day, many, when
from remedials.quotes.models import Offer, Quote
from remedials.quotes.queries.document import quote_document
from remedials.quotes.queries.said import offer_as_said
from remedials.quotes.states import State


def preview(offer: Offer, *, now: datetime) -> Made:
    """The document of a draft as it would be sent now, marked as a draft and kept nowhere."""
    return quote_document(offer_as_said(offer, now=now), heads=(), now=now, draft=True)


def sending_part(quote: Quote, offer: Offer, user: User, now: datetime) -> dict[str, Any]:
    """How the versions of `quote` went out, what can be done about the one with the customer, its private links."""
    sent = list(quote.offers.exclude(state=State.DRAFT).order_by("-number"))
    return {
        "sending": {
            "documents": [_document(quote, one) for one in sent],
            "messages": _messages(sent),
            "links": _links(quote, now=now) if user.may(Right.SHARE_STATUS) else [],
            "make_link": address("quotes:link_make", quote.pk) if sent else "",
            "chase_on": day(quote.chase_on),
        },
        "acts": _acts(quote, offer),
    }


def _acts(quote: Quote, offer: Offer) -> list[dict[str, Any]]:
    """Buttons for the version that is shown, in the order in which they are likely."""
    if offer.state == State.DRAFT:
        return [
            {"label": "Send it", "href": address("quotes:send", quote.pk)},
            {"label": "Look at the document", "href": address("quotes:document", quote.pk, version=offer.number)},
        ]
    if offer.state == State.SENT:
        return [
            {"label": "Chase the answer", "href": address("quotes:chase", quote.pk)},
            {"label": "Give to somebody", "href": address("quotes:take_on", quote.pk)},
            {"label": "Withdraw it", "href": address("quotes:withdraw", quote.pk)},
        ]
    return []


def _document(quote: Quote, offer: Offer) -> dict[str, str]:
    return {
        "words": f"Version {offer.number}, {offer.get_sent_how_display()} to {offer.sent_to}, {when(offer.sent_at)}",
        "address": address("quotes:document", quote.pk, version=offer.number),
        "fingerprint": " ".join(offer.fingerprint[at : at + 4] for at in range(0, 16, 4)),
    }


def _messages(offers: list[Offer]) -> list[dict[str, str]]:
    """What was written to the customer about these versions, the latest first, and how that ended. One statement."""
    rows = Message.objects.filter(reason_ref__in=[offer.pk for offer in offers])
    return [
        {
            "words": f"{row.subject}, to {row.address}",
            "state": row.get_state_display(),
            "when": when(row.settled_at or row.written_at),
            "error": row.error,
            "address": address("messages:message", row.pk),
        }
        for row in rows.order_by("-written_at", "-id")[:20]
    ]


def _links(quote: Quote, *, now: datetime) -> list[dict[str, str]]:
    rows = PrivateLink.objects.filter(purpose=PrivateLink.Purpose.QUOTE, thing=quote.pk).select_related("made_by")
    return [_link(row, now) for row in rows.order_by("-made_at", "pk")]


def _link(link: PrivateLink, now: datetime) -> dict[str, str]:
    open_still = link.withdrawn_at is None and link.expires_at > now
    ended = f"withdrawn {when(link.withdrawn_at)}" if link.withdrawn_at else f"ended {when(link.expires_at)}"
    used = f"opened {many(link.uses, 'time')}, last {when(link.last_used_at)}" if link.uses else "not opened yet"
    return {
        "to": link.sent_to,
        "made": f"{when(link.made_at)} by {link.made_by.name}",
        "used": used,
        "state": f"opens until {day(link.expires_at.date())}" if open_still else ended,
        "withdraw": address("quotes:link_withdraw", link.pk) if open_still else "",
    }
