"""A private link that goes to a customer by e-mail. Its token exists only in the mail and, hashed, in the link.

The link is there from the start, so that the office sees it at once and can withdraw it before it went out; until then nobody
has an address that opens it.
"""

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from django.db import transaction
from django.urls import reverse

from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.ids import new_id
from jobsite.ledger.operations import operation
from jobsite.ledger.rows import alone, made_before
from jobsite.messages.models import Message
from jobsite.messages.operations import Complete, note_link, write_messages
from jobsite.people.invitations import full_address
from jobsite.people.models import PrivateLink, User
from jobsite.people.operations import link_going_out, renew_token
from jobsite.people.rights import Right
from jobsite.premises.models import Party, Site, Unit
from jobsite.premises.operations.common import party_in_use
from jobsite.refused import NotAllowed, Refused
from jobsite.words import when

MARKER = "[private link]"
FILLED_BY = REASON = "private link"
PAGES = {
    PrivateLink.Purpose.STATUS: "status:site",
    PrivateLink.Purpose.PORTFOLIO: "status:portfolio",
    PrivateLink.Purpose.COPY: "status:copy",
}
CAUTION = "Whoever has this address can read the page without signing in: pass it on with care."


WHY = "The office sent a private link."


@dataclass(frozen=True)
class Opens:
    """What a private link opens, as its letter says it: the subject, and what the page shows."""

    subject: str
    about: str


def opens_site(site: Site, unit: Unit | None) -> Opens:
    """The page of how a site stands, or a unit of it."""
    where = f"{unit.name}, {site.name}" if unit else site.name
    shows = "what is open, what is done, what comes next"
    about = f"How the electrical installation of {where}, {site.one_line} stands: {shows}."
    return Opens(f"How {where} stands", about)


def opens_portfolio() -> Opens:
    """The page of all sites of a customer."""
    shows = "what is dangerous, what is open, what is due"
    return Opens(
        "How your sites stand", f"How the electrical installations of all your sites stand, each in a line: {shows}."
    )


def letter(party: Party, *, about: str, note: str, expires_at: datetime) -> str:
    """The words that bring a link: `about` says what the page shows, `note` is the office's own word, "" for none."""
    firm = the_firm()
    own = f"{note.strip()}\n\n" if note.strip() else ""
    questions = f"Questions? Reply to this, or ring {firm.phone}." if firm.phone else "Questions? Reply to this."
    return (
        f"Dear {party.name},\n\n{own}{about} Open this private page; no account is needed:\n\n{MARKER}\n\n"
        f"It opens until {when(expires_at)}. {CAUTION}\n\n{questions}\n\n{firm.name}\n"
    )


@operation
def send_link(
    *,
    id: UUID,
    purpose: str,
    party: Party,
    address: str,
    subject: str,
    body: str,
    why: str,
    expires_at: datetime,
    by: User,
    now: datetime,
    site: UUID | None = None,
    unit: UUID | None = None,
    thing: UUID | None = None,
) -> PrivateLink:
    """Make a private link for `party` that goes to `address` with the next run of sending. Sent twice: one link, one mail.

    `body` holds MARKER where the address of the page is put in (`letter`). `site` is None for one that opens all of the
    party's sites. Raises NotAllowed without the right, Refused for a party that is archived and a link that ends today.
    """
    if not by.may(Right.SHARE_STATUS):
        raise NotAllowed("Only the office may share a site's status.")
    if MARKER not in body:
        raise ValueError("the words that bring a link say where it stands")
    alone(id)
    if made := made_before(PrivateLink, id, purpose=purpose, site=site, party=party.pk):
        return made
    party = party_in_use(party, "party")
    if not address:
        raise Refused("Write the address to which it is to go.", field="email")
    if clock.local_day(expires_at) <= clock.local_day(now):
        raise Refused("A link that is sent must open until tomorrow at least.", field="expires_at")
    link, _ = link_going_out(
        id=id, purpose=purpose, site=site, unit=unit, party=party.pk, thing=thing, sent_to=address, expires_at=expires_at,
        by=by, now=now,
    )  # fmt: skip
    message = Message(
        occasion=f"private link {id}", to_kind=Message.To.CUSTOMER, to_id=party.pk, address=address, subject=subject,
        body=body, site=site, filled_by=FILLED_BY, reason_kind=REASON, reason_ref=link.pk, link=link.pk, why=why,
        written_at=now, next_try_at=now,
    )  # fmt: skip
    write_messages([message])
    return link


def still_opens(message: Message, today: date) -> bool:
    """Whether the link that `message` brings is to open something: nobody withdrew it, and it ends later than today."""
    keys = {key for key in (message.reason_ref, message.link) if key}
    links = PrivateLink.objects.filter(pk__in=keys, withdrawn_at__isnull=True)
    return sum(clock.local_day(link.expires_at) > today for link in links) == len(keys)


def complete(message: Message, *, now: datetime) -> Complete:
    """What goes out: with the private link in its words. Another try, or another address, gets a token of its own."""
    return Complete(message.body.replace(MARKER, _address(message, now=now)))


@transaction.atomic
def _address(message: Message, *, now: datetime) -> str:
    link = PrivateLink.objects.get(pk=message.link or message.reason_ref)  # type: ignore[misc]  # it has at least one
    if message.link:
        token = renew_token(link, now=now)
    else:
        # Sent again by a person: the first may have arrived, so that link goes on, and this mail gets another.
        link, token = link_going_out(
            id=new_id(), purpose=link.purpose, site=link.site, unit=link.unit, party=link.party, thing=link.thing,
            sent_to=message.address, expires_at=link.expires_at, by=link.made_by, now=now,
        )  # fmt: skip
        note_link(message, link.pk)
    return link_address(link, token)


def link_address(link: PrivateLink, token: str) -> str:
    """Where `link` opens; "" without a token: it was made before, and is not shown again."""
    return full_address(reverse(PAGES[PrivateLink.Purpose(link.purpose)], args=[token])) if token else ""
