"""The e-mail that offers times. The private link is put in when it goes out, and kept nowhere; the e-mail is an attempt."""

from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.urls import reverse

from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.ids import new_id
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.ledger.rows import locked, made_before
from jobsite.messages.models import Message
from jobsite.messages.operations import Complete, note_link, write_messages
from jobsite.people.invitations import full_address
from jobsite.people.models import PrivateLink
from jobsite.people.operations import link_going_out, renew_token
from jobsite.refused import Refused
from jobsite.words import day, span
from remedials.visits.choices import AttemptHow
from remedials.visits.models import Attempt, TimesOffer
from remedials.visits.operations.attempts import log_attempt
from remedials.visits.operations.ground import office, site_in_use
from remedials.visits.operations.times_links import NOT_OPEN, opens_until
from remedials.works.operations.ground import needed

MARKER = "[private link]"
FILLED_BY = REASON = "times-offered"


@operation
def send_times(offer: TimesOffer, *, id: UUID, sent_to: str, email: str, by: Actor, now: datetime) -> Attempt:
    """E-mail the private link of `offer` to `sent_to` at `email`, and log it as an attempt to agree when; the same form again:
    its attempt. Raises NotAllowed, and Refused without an address or for times that are no longer open.
    """
    office(by)
    site = site_in_use(offer.site)
    offer = locked(offer)
    if made := made_before(Attempt, id, site_id=site.pk):
        return made
    sent_to = needed(sent_to, "Say who is to choose.", field="sent_to")
    email = needed(email, "There is no e-mail address: enter one, or pass the link on yourself.", field="email")
    if offer.state != "open" or clock.local_day(now) > offer.answer_by:
        raise Refused(NOT_OPEN)
    times = [span(time.start, time.end) for time in offer.times.all()]
    said = "; ".join([f"answer asked for by {day(offer.answer_by)}", *times])
    row = log_attempt(
        site, id=id, how=AttemptHow.EMAIL, at=now, whom=sent_to, said=f"Times offered: {said}", unit=offer.unit, by=by, now=now
    )  # fmt: skip
    write_messages([_message(offer, row, email, times, now)])
    return row


def _message(offer: TimesOffer, row: Attempt, email: str, times: list[str], now: datetime) -> Message:
    firm, until = the_firm(), day(offer.answer_by)
    ring = f", or ring {firm.phone}" if firm.phone else ""
    off = f"The power goes off: {offer.outage}\n\n" if offer.outage else ""
    body = (
        f"Hello {row.whom},\n\nwe have work to do at {offer.site.name}, {offer.site.one_line}. We could come:\n\n"
        f"{''.join(f'- {one}{chr(10)}' for one in times)}\n{off}Please choose by {until}, on this private page. Opening it "
        f"chooses nothing:\n\n{MARKER}\n\nWhoever has this address can choose. None suits? Say so there{ring}.\n\n"
        f"{firm.name}\n"
    )
    return Message(
        occasion=f"times offered {row.pk}", to_kind=Message.To.CUSTOMER, to_id=offer.party_id or offer.site.customer_id,
        address=email, subject=f"When may we come to {offer.site.name}?", body=body, site=offer.site_id, filled_by=FILLED_BY,
        reason_kind=REASON, reason_ref=offer.pk, written_at=now, next_try_at=now, why="Times for a visit were offered.",
    )  # fmt: skip


def still_open(message: Message, today: date) -> bool:
    """Whether there is still something to choose on the day `today`."""
    return TimesOffer.objects.filter(pk__in=[message.reason_ref], state="open", answer_by__gte=today).exists()


def complete(message: Message, *, now: datetime) -> Complete:
    """What goes out for times offered: with the private link in its words."""
    offer = TimesOffer.objects.select_related("made_by").get(pk__in=[message.reason_ref])
    token = _token(offer, message, now=now)
    return Complete(message.body.replace(MARKER, full_address(reverse("visits:times", args=[token]))))


@transaction.atomic
def _token(offer: TimesOffer, message: Message, *, now: datetime) -> str:
    link = PrivateLink.objects.filter(pk=message.link, withdrawn_at__isnull=True).first() if message.link else None
    if link is not None:
        return renew_token(link, now=now)
    link, token = link_going_out(
        id=new_id(), purpose=PrivateLink.Purpose.TIMES, site=offer.site_id, sent_to=message.address, unit=offer.unit_id,
        expires_at=opens_until(offer), by=offer.made_by, now=now, party=offer.party_id, thing=offer.pk,
    )  # fmt: skip
    note_link(message, link.pk)
    return token
