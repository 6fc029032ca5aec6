"""What customers are written about a quote. The private link is put in when a message goes out, and is kept nowhere."""

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal

from django.db import transaction
from django.urls import reverse

from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.ids import new_id
from jobsite.ledger.files import read_file
from jobsite.messages.models import Message
from jobsite.messages.operations import Complete, as_written, note_link, write_messages
from jobsite.people.invitations import full_address
from jobsite.people.models import PrivateLink
from jobsite.people.operations import link_going_out, renew_token
from jobsite.words import day as in_words
from jobsite.words import money
from remedials.quotes.choices import SentHow
from remedials.quotes.models import Offer
from remedials.quotes.queries.said import terms_in_force
from remedials.quotes.states import State

MARKER = "[private link]"
FILLED_BY = "quote"
REASON, LAPSES = "offer", "offer-lapses"
WITHDRAWN = "Whoever has a quote hears that it is withdrawn."
LAPSE_WHY = (
    "To the customer, once: a quote of ours lapses within the firm's days of notice and is not answered (a polite "
    "reminder). By the terms of quoting."
)
LAPSE_QUIET = timedelta(days=7)
OPENS_AFTER = timedelta(days=365)  # so long after its last day a quote can still be read on its link


def write_offer_message(offer: Offer, *, former: Offer | None, now: datetime) -> None:
    """Inside the operation that sends `offer` by e-mail: the message with the document and the private link."""
    quote, firm = offer.quote, the_firm()
    instead = f"It takes the place of version {former.number}, which no longer stands.\n\n" if former else ""
    body = (
        f"Dear {quote.party.name},\n\nHere is our quote {quote.number}, version {offer.number}: {quote.name}.\n"
        f"{_sum_words(offer)} It stands until {in_words(offer.valid_until)}.\n\n{instead}"
        f"Read it and answer it line by line on this private page. Opening it accepts nothing:\n\n{MARKER}\n\n"
        "Whoever has this address can answer for you: pass it on with care. The same quote is attached to print; it ends "
        f"with a slip to sign and send back.\n\nQuestions? Ask on that page, reply to this, or ring {firm.phone}.\n\n"
        f"{firm.name}\n"
    )
    subject = f"Quote {quote.number}, version {offer.number}: {quote.name}"
    to_write = _message(
        offer, f"quote {offer.pk} sent", subject, body, attachment=document_name(offer), now=now,
        why="The quote was sent by e-mail.",
    )  # fmt: skip
    write_messages(to_write)


def _sum_words(offer: Offer) -> str:
    totals = offer.said["totals"]
    net, to_pay = money(Decimal(totals["net"])), money(Decimal(totals["to_pay"]))
    if offer.reverse_charge or not offer.vat_registered:
        return f"All of it comes to {to_pay}."
    if offer.consumer:
        return f"All of it comes to {to_pay} with VAT."
    return f"All of it comes to {net} without VAT, {to_pay} with VAT."


def document_name(offer: Offer) -> str:
    """The name under which the document of `offer` is sent and downloaded."""
    return f"quote-{offer.quote.number}-version-{offer.number}.pdf"


def write_withdrawal_message(offer: Offer, *, now: datetime) -> None:
    """Inside the operation that withdraws `offer`: the customer is told, where there is an address to tell them at."""
    quote, firm = offer.quote, the_firm()
    body = (
        f"Dear {quote.party.name},\n\nWe withdraw version {offer.number} of our quote {quote.number}: {quote.name}.\n"
        f"Why: {offer.end_reason}\n\nWhat you accepted before stays accepted; nothing else of it can be accepted any "
        f"more. If you have just answered, or have a question, please reply or ring {firm.phone}.\n\n{firm.name}\n"
    )
    subject = f"Quote {quote.number}, version {offer.number} is withdrawn"
    write_messages(_message(offer, withdrawal_occasion(offer), subject, body, now=now, reason="", why=WITHDRAWN))


def withdrawal_occasion(offer: Offer) -> str:
    """The occasion of the message that tells of it."""
    return f"quote {offer.pk} withdrawn"


def _message(
    offer: Offer,
    occasion: str,
    subject: str,
    body: str,
    *,
    why: str,
    now: datetime,
    attachment: str = "",
    reason: str = REASON,
) -> list[Message]:
    """The message to where `offer` was sent, else to the party's own address; none where there is neither."""
    quote = offer.quote
    address = offer.sent_to if offer.sent_how == SentHow.EMAIL else quote.party.email
    if not address:
        return []
    message = Message(
        occasion=occasion,
        to_kind=Message.To.CUSTOMER,
        to_id=quote.party_id,
        address=address,
        subject=subject,
        body=body,
        site=quote.at_sites.order_by("site").values_list("site", flat=True).first(),
        filled_by=FILLED_BY if MARKER in body else "",
        attachment=attachment,
        why=why,
        reason_kind=reason,
        reason_ref=offer.pk,
        written_at=now,
        next_try_at=now,
    )
    return [message]


def lapse_messages(*, today: date, now: datetime) -> list[Message]:
    """For each version that lapses within the firm's days of notice: one polite word to the customer, once.

    It is a reminder, which customers may stop. Not on the day it was sent, and not while a question of theirs waits for us.
    """
    last = today + timedelta(days=terms_in_force(today).lapse_notice_days)
    rows = Offer.objects.filter(state=State.SENT, valid_until__gte=today, valid_until__lte=last)
    rows = rows.filter(sent_at__lt=datetime.combine(today, time(), clock.LONDON)).exclude(quote__questions__open=True)
    offers = list(rows.select_related("quote__party").order_by("pk"))
    known = {_lapses(offer) for offer in offers}
    written = set(Message.objects.filter(occasion__in=known).values_list("occasion", flat=True))
    return [row for offer in offers if _lapses(offer) not in written for row in _lapse_message(offer, now=now)]


def _lapses(offer: Offer) -> str:
    return f"quote {offer.pk} lapses"


def _lapse_message(offer: Offer, *, now: datetime) -> list[Message]:
    quote, firm = offer.quote, the_firm()
    until = in_words(offer.valid_until)
    body = (
        f"Dear {quote.party.name},\n\nOur quote {quote.number}, version {offer.number} ({quote.name}), stands until "
        f"{until}. We have no answer to all of it yet. You can read it and answer it here; opening it accepts nothing:"
        f"\n\n{MARKER}\n\nIf something is not clear, ask on that page, reply to this, or ring {firm.phone}. This is the only "
        f"reminder.\n\n{firm.name}\n"
    )
    subject = f"Quote {quote.number} stands until {until}"
    written = _message(offer, _lapses(offer), subject, body, now=now, reason=LAPSES, why=LAPSE_WHY)
    for message in written:
        message.reminder, message.about, message.quiet_until = True, f"quote {quote.pk}", now + LAPSE_QUIET
    return written


def offer_stands(message: Message, *, today: date) -> bool:
    """Whether the version that `message` brings is still with the customer: what was superseded or withdrawn stays here.

    A reminder besides only while the version can be accepted and no question waits for us.
    """
    rows = Offer.objects.filter(pk__in=[message.reason_ref], state=State.SENT)
    if message.reason_kind == LAPSES:
        rows = rows.filter(valid_until__gte=today).exclude(quote__questions__open=True)
    return rows.exists()


def link_was_withdrawn(message: Message) -> bool:
    """Whether the office withdrew the links of the address since `message` was written: it would bring one back."""
    if message.filled_by != FILLED_BY or message.reason_ref is None:
        return False
    quotes = Offer.objects.filter(pk__in=[message.reason_ref]).values("quote")
    links = PrivateLink.objects.filter(thing__in=quotes, sent_to__iexact=message.address)
    since = links.filter(withdrawn_at__gte=message.written_at)
    return since.exists() and not links.filter(withdrawn_at__isnull=True).exists()


def complete(message: Message, *, now: datetime) -> Complete:
    """What goes out for `message`: of a quote's, with the private link in its words and the document attached.

    The link is made when the mail goes out, and only its hash is kept. When the mail was surely not taken, its link gets
    another token for the next attempt; where that is not known it goes on, and another is made when a person sends again.
    """
    if message.filled_by != FILLED_BY or message.reason_ref is None:
        return as_written(message)
    offer = Offer.objects.select_related("quote__party", "file", "sent_by").get(pk=message.reason_ref)
    body = message.body.replace(MARKER, link_address(_token(offer, message, now=now)))
    if not message.attachment or offer.file is None:
        return Complete(body)
    return Complete(body, ((message.attachment, read_file(offer.file), offer.file.media_type),))


def link_address(token: str) -> str:
    """The address of the page on which a quote is read and answered."""
    return full_address(reverse("quotes:offered", args=[token]))


def link_ends(offer: Offer) -> datetime:
    """When a private link to the quote of `offer` stops opening: it still says for a year that the quote has lapsed."""
    if offer.valid_until is None:
        raise ValueError("a version that was sent stands until a day")
    return datetime.combine(offer.valid_until, time(), UTC) + OPENS_AFTER


@transaction.atomic
def _token(offer: Offer, message: Message, *, now: datetime) -> str:
    link = PrivateLink.objects.filter(pk=message.link, withdrawn_at__isnull=True).first() if message.link else None
    if link is not None:
        return renew_token(link, now=now)
    if offer.sent_by is None or message.site is None:
        raise ValueError("a version that was sent has a sender and a site")
    link, token = link_going_out(
        id=new_id(), purpose=PrivateLink.Purpose.QUOTE, site=message.site, sent_to=message.address,
        expires_at=link_ends(offer), by=offer.sent_by, now=now, party=message.to_id, thing=offer.quote_id,
    )  # fmt: skip
    note_link(message, link.pk)
    return token
