"""The e-mail that asks whether the time of a visit suits. The private link is put in when it goes out, and kept nowhere."""

from datetime import datetime, timedelta

from django.db import transaction
from django.urls import reverse

from jobsite.firm.queries import the_firm
from jobsite.ids import new_id
from jobsite.messages.models import Message
from jobsite.messages.operations import Complete, note_link, write_messages
from jobsite.people.invitations import full_address
from jobsite.people.models import PrivateLink
from jobsite.people.operations import link_going_out, renew_token
from jobsite.words import span
from remedials.visits.choices import Answered
from remedials.visits.models import Confirmation, Visit
from remedials.visits.operations.telling import ASKED

MARKER = "[private link]"
FILLED_BY = REASON = ASKED
OPENS_AFTER = timedelta(days=30)  # so long after the visit its link still says what became of it


def write_question(visit: Visit, asked: Confirmation, *, now: datetime) -> None:
    """Inside the operation that asks: the e-mail to whom it asks."""
    firm, times = the_firm(), span(visit.start, visit.end)
    off = f"The power goes off: {visit.outage}\n\n" if visit.outage else ""
    note = f"{asked.words}\n\n" if asked.words else ""
    body = (
        f"Hello,\n\nwe plan to come to {visit.site.name}, {visit.site.one_line}, on {times}.\n\n{off}{note}"
        "Does that suit? Please say so on this private page. Opening it answers nothing:\n\n"
        f"{MARKER}\n\nWhoever has this address can answer for you. Or reply to this, or ring {firm.phone}.\n\n{firm.name}\n"
    )
    message = Message(
        occasion=f"visit asked {asked.pk}", to_kind=Message.To.CUSTOMER, to_id=visit.site.customer_id, address=asked.whom,
        subject=f"Does {times} suit for our visit to {visit.site.name}?", body=body, site=visit.site_id,
        filled_by=FILLED_BY, reason_kind=REASON, reason_ref=asked.pk, written_at=now, next_try_at=now,
        why="The customer was asked whether the time of a visit suits.",
    )  # fmt: skip
    write_messages([message])


def still_asked(message: Message) -> bool:
    """Whether the question still stands: the visit is at that time, and nobody has answered yet."""
    asked = Confirmation.objects.select_related("visit").filter(pk__in=[message.reason_ref]).first()
    if asked is None:
        return False
    visit = asked.visit
    return (visit.state, visit.answered, visit.start) == (Visit.State.BOOKED, Answered.ASKED, asked.start)


def complete(message: Message, *, now: datetime) -> Complete:
    """What goes out for a question: with the private link in its words."""
    asked = Confirmation.objects.select_related("visit", "recorded_by").get(pk__in=[message.reason_ref])
    token = _token(asked, message, now=now)
    return Complete(message.body.replace(MARKER, full_address(reverse("visits:asked", args=[token]))))


@transaction.atomic
def _token(asked: Confirmation, message: Message, *, now: datetime) -> str:
    link = PrivateLink.objects.filter(pk=message.link, withdrawn_at__isnull=True).first() if message.link else None
    if link is not None:
        return renew_token(link, now=now)
    if asked.recorded_by is None or message.site is None:
        raise ValueError("a question that is sent has somebody who asked and a site")
    link, token = link_going_out(
        id=new_id(), purpose=PrivateLink.Purpose.VISIT, site=message.site, sent_to=message.address,
        expires_at=asked.visit.end + OPENS_AFTER, by=asked.recorded_by, now=now, party=message.to_id,
        thing=asked.visit_id,
    )  # fmt: skip
    note_link(message, link.pk)
    return token
