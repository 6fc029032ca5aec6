"""Our part at a site ends: a closing letter that lists what is open, its delivery, and what ends with that."""

from collections.abc import Mapping
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

from jobsite import clock
from jobsite.documents import PDF, Made, make_document
from jobsite.firm.operations import take_number
from jobsite.firm.queries import the_firm
from jobsite.ledger.actor import Actor
from jobsite.ledger.files import read_file, store_file
from jobsite.ledger.models import StoredFile
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked, made_before
from jobsite.messages.models import Message
from jobsite.messages.operations import Complete, as_written, drop_waiting_about, write_messages
from jobsite.people.models import User
from jobsite.people.names import words_as_customers_read
from jobsite.people.operations import withdraw_links_of
from jobsite.premises.models import Party, Site
from jobsite.premises.operations import archive_site
from jobsite.premises.operations.common import ground
from jobsite.premises.policy import may_keep_site
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused
from jobsite.words import day, joined
from remedials.due.models import Leaving
from remedials.due.queries.leaving import on_record, standing_at, what_blocks, with_the_customer
from remedials.due.rules.closing import CAUTION, DANGEROUS, HOW, NOTHING_OPEN, no_longer, opening
from remedials.due.verbs import Verb
from remedials.quotes.operations.mailing import withdrawal_occasion
from remedials.quotes.operations.sending import hold_work, withdrawn
from remedials.works.operations.ground import must_be_active, needed

TEMPLATE = Path(__file__).resolve().parent.parent / "documents" / "closing-letter.typ"
FILLED_BY, REASON = "closing-letter", "letter"
TITLE = "What is open, and the end of our part"
MEANWHILE = "The record changed while the letter was made: look at what it lists now, and write it again."
DAYS_TO_DELIVER = timedelta(days=7)


# --- writing it -------------------------------------------------------------------------------------------------------


def write_letter(
    site: Site, *, id: UUID, why: str, to_name: str, to_address: str, reason: str, owner: User, deliver_by: date,
    by: User, now: datetime,
) -> Leaving:  # fmt: skip
    """Write the closing letter of `site` and keep it byte for byte; until it is delivered nothing else changes.

    `why`: a value of Leaving.Why. `reason`: for our own record, not printed. `owner` sees to its delivery by `deliver_by`.
    It is set while no lock is held, and kept only if the record says the same by then. The same form again: its letter.
    Raises NotAllowed, and Refused while something must be settled first, another letter stands, or `owner` left the firm.
    """
    to_name = needed(to_name, "Say to whom the letter goes.", field="to_name")
    to_address = to_address.strip()
    data = on_record(site)
    made = letter_document(site, data, why=why, to_name=to_name, to_address=to_address, now=now)
    return _keep(
        site, made, data, id=id, why=why, to_name=to_name, to_address=to_address, owner=owner, deliver_by=deliver_by,
        reason=needed(reason, "Say why our part here ends.", field="reason"), by=by, now=now,
    )  # fmt: skip


@operation
def _keep(
    site: Site, made: Made, data: dict[str, Any], *, id: UUID, owner: User, deliver_by: date, by: User, now: datetime,
    **fields: Any,
) -> Leaving:  # fmt: skip
    site = _ground(site, by)
    if before := made_before(Leaving, id, site_id=site.pk):
        return before
    if standing_at(site):
        raise Refused("A closing letter for this site stands already: deliver it, or take it back first.")
    _nothing_blocks(site, now=now)
    if deliver_by < clock.local_day(now):
        raise Refused("This day is past: choose one on which it can still be delivered.", field="deliver_by")
    if on_record(site) != data:
        raise Refused(MEANWHILE)
    must_be_active(owner)
    row = Leaving(
        id=id, number=take_number("closing letter"), site=site, open_items=data, owner=owner, deliver_by=deliver_by,
        **fields,
    )  # fmt: skip
    row.letter = store_file(made.pdf, media_type=PDF, now=now)
    row.written_by, row.written_at = by, now
    row.save(force_insert=True)
    facts = {
        "number": row.number, "why": row.why, "file": row.letter_id, "fingerprint": made.fingerprint,
        "deliver_by": deliver_by.isoformat(), "owner": str(row.owner_id),
        "codes": [item["code"] for item in data["items"]],
    }  # fmt: skip
    words = {"to": row.to_name, "address": row.to_address, "reason": row.reason}
    record(Verb.LEAVING_WRITTEN, site=site.pk, subject=row, by=by, now=now, facts=facts, words=words)
    return row


def _ground(site: Site, by: Actor) -> Site:
    return ground(site.pk, by, may_keep_site)


def _nothing_blocks(site: Site, *, now: datetime) -> None:
    if blocks := what_blocks(site, now=now):
        raise Refused("This must be settled first: " + " ".join(block["words"] for block in blocks))


def letter_document(
    site: Site, data: Mapping[str, Any], *, why: str, to_name: str, to_address: str, now: datetime
) -> Made:
    """The letter as a PDF: `data` is what `on_record` says. The same facts at the same instant make the same bytes."""
    firm, today = the_firm(), clock.local_day(now)
    data = words_as_customers_read().everywhere(
        dict(data)
    )  # here, and not in what is kept: that tells only of the record
    items = data["items"]
    facts = {key: value for key, value in data.items() if key not in ("items", "quotes")} | {
        "firm": [line for line in (firm.name, *firm.address.splitlines(), firm.phone, firm.email) if line],
        "to": [to_name, *(line.strip() for line in to_address.splitlines() if line.strip())],
        "on": day(today),
        "greeting": f"Dear {to_name},",
        "opening": opening(why, place=_place(site), customer=site.customer.name),
        "dangers": [item for item in items if item["code"] in DANGEROUS or not item["code"]],
        "others": [item for item in items if item["code"] and item["code"] not in DANGEROUS],
        "nothing": "" if items else NOTHING_OPEN,
        "no_longer": no_longer(data["quotes"]),
        "caution": CAUTION.format(day=day(today)),
        "ring": joined(firm.phone, firm.email, by=" or "),
        "signed": firm.name,
    }
    about = f"Closing letter, {_place(site)}"
    return make_document(TEMPLATE, facts, title=TITLE, about=about, firm=firm.name, now=now)


def _place(site: Site) -> str:
    return joined(site.name, site.one_line)


# --- sending it by e-mail ---------------------------------------------------------------------------------------------


@operation
def send_letter(leaving: Leaving, *, email: str, by: User, now: datetime) -> Message:
    """Send the letter to `email`: a message that waits like any other. It is delivered only when somebody says so.

    To the same address again: nothing more happens. Raises NotAllowed, Refused.
    """
    leaving = _undelivered(leaving, by)
    email = needed(email, "Write the e-mail address.", field="email")
    firm = the_firm()
    body = (
        f"Dear {leaving.to_name},\n\nOur part at {_place(leaving.site)} ends. The letter that is attached lists what our "
        "record shows as open there, the dangers first. Please read it, and give a copy to whoever is responsible for the "
        f"premises.\n\nQuestions? Reply to this, or ring {firm.phone}.\n\n{firm.name}\n"
    )
    message = Message(
        occasion=f"{REASON} {leaving.pk} {email.lower()}", to_kind=Message.To.CUSTOMER, to_id=leaving.site.customer_id,
        address=email, subject=f"{TITLE}: {leaving.site.name}", body=body, site=leaving.site_id, reason_kind=REASON,
        reason_ref=leaving.pk, filled_by=FILLED_BY, attachment="closing-letter.pdf", written_at=now, next_try_at=now,
        why=f"The closing letter {leaving.number}, sent by {by.name}.",
    )  # fmt: skip
    if not write_messages([message]):
        return Message.objects.get(occasion=message.occasion)
    facts, words = {"number": leaving.number, "message": str(message.pk)}, {"to": email}
    record(Verb.LEAVING_MAILED, site=leaving.site_id, subject=leaving, by=by, now=now, facts=facts, words=words)
    message.refresh_from_db(fields=["number"])
    return message


def letter_stands(message: Message) -> bool:
    """Whether the letter that `message` brings still stands: one that was taken back goes to nobody."""
    return Leaving.objects.filter(pk__in=[message.reason_ref], taken_back_at__isnull=True).exists()


def complete(message: Message) -> Complete:
    """A letter's message with the letter as it was kept."""
    row = Leaving.objects.select_related("letter").filter(pk__in=[message.reason_ref]).first()
    if row is None or row.letter is None:
        return as_written(message)
    return Complete(message.body, ((message.attachment, read_file(row.letter), row.letter.media_type),))


def messages_of(leaving: Leaving) -> list[Message]:
    """The e-mails with this letter, newest first. One statement."""
    rows = Message.objects.filter(reason_kind=REASON, reason_ref=leaving.pk, filled_by=FILLED_BY)
    return list(rows.order_by("-written_at", "-pk"))


# --- its delivery, and what ends with it ------------------------------------------------------------------------------


@operation
def deliver_letter(
    leaving: Leaving, *, how: str, on: date, to: str, version: int, by: User, now: datetime,
    proof: StoredFile | None = None,
) -> Leaving:  # fmt: skip
    """Say that the letter was delivered on that day, `how` (a key of HOW) and to whom: our part at the site ends.

    1. What was in the letter must still be all that is open there, and nothing may block since.
    2. Messages to customers about the site that wait are dropped, private links to it are withdrawn.
    3. Quotes with the customer are withdrawn. The letter says so; who is to do work elsewhere by one is told besides.
    4. The site is archived: all of it leaves the lists, and its whole record stays.
    The same again: nothing more happens. Raises NotAllowed, ChangedMeanwhile, Refused.
    """
    site = Site.objects.select_for_update(of=("self",)).get(pk=leaving.site_id)
    if not may_keep_site(by, site):
        raise NotAllowed("Only the office may say that a closing letter was delivered.")
    leaving = locked(leaving)
    to = needed(to, "Say who was given it, or where it was left.", field="to")
    if leaving.delivered_on == on and (leaving.delivered_how, leaving.delivered_to) == (how, to):
        return leaving
    leaving = _undelivered(leaving, by)
    if leaving.version != version:
        raise ChangedMeanwhile("Somebody else changed this letter meanwhile.", theirs=leaving)
    _delivery_holds(leaving, how, on, proof, now=now)
    _nothing_blocks(site, now=now)
    if on_record(site) != leaving.open_items:
        raise Refused("What is open here changed since the letter was written: take it back and write another.")
    leaving.delivered_on, leaving.delivered_how, leaving.delivered_to, leaving.proof = on, how, to, proof
    leaving.version += 1
    leaving.save(update_fields=["delivered_on", "delivered_how", "delivered_to", "proof", "version"])
    facts = _part_ends(site, by=by, now=now)
    facts |= {"on": on.isoformat(), "how": how, "proof": proof.hash if proof else None}
    record(Verb.LEAVING_DELIVERED, site=site.pk, subject=leaving, by=by, now=now, facts=facts, words={"to": to})
    archive_site(site, by=by, now=now)
    return leaving


def _undelivered(leaving: Leaving, by: Actor) -> Leaving:
    """The letter, locked with its site. Raises NotAllowed, and Refused where it was delivered or taken back."""
    _ground(leaving.site, by)
    leaving = locked(leaving)
    if leaving.taken_back_at:
        raise Refused("This closing letter was taken back: write another.")
    if leaving.delivered_on:
        raise Refused(f"This closing letter was delivered on {day(leaving.delivered_on)} already.")
    return leaving


def _delivery_holds(leaving: Leaving, how: str, on: date, proof: StoredFile | None, *, now: datetime) -> None:
    if how not in HOW:
        raise Refused("Say how it was delivered.", field="how")
    if on > clock.local_day(now):
        raise Refused("This day is still to come: say so when it was delivered.", field="on")
    if on < clock.local_day(leaving.written_at):
        raise Refused(
            f"The letter was written on {day(clock.local_day(leaving.written_at))}: choose no day before.", field="on"
        )
    if how == "post" and proof is None:
        raise Refused("Add the proof of posting or of delivery.", field="proof")
    if how == "email":
        sent = [m for m in messages_of(leaving) if m.state == Message.State.SENT and m.settled_at]
        if not sent:
            raise Refused(
                "No e-mail with this letter was sent: send it first, or deliver it some other way.", field="how"
            )
        if on < min(clock.local_day(m.settled_at) for m in sent if m.settled_at):
            raise Refused("The e-mail was sent later than that.", field="on")


def _part_ends(site: Site, *, by: User, now: datetime) -> dict[str, Any]:
    """Inside an operation: messages, links and quotes end; facts for the entry."""
    offers = with_the_customer(site)
    hold_work(offers)
    for offer in offers:
        withdrawn(offer, reason=f"Our part at {site.name} ended.", by=by, now=now)
    elsewhere = [offer for offer in offers if offer.quote.at_sites.exclude(site=site).exists()]
    kept = [withdrawal_occasion(offer) for offer in elsewhere]
    return {
        "quotes_withdrawn": [offer.quote.number for offer in offers],
        "messages_dropped": drop_waiting_about(site.pk, now=now, besides=kept),
        "links_withdrawn": withdraw_links_of(site.pk, by=by, now=now),
    }


# --- back again -------------------------------------------------------------------------------------------------------


@operation
def take_back(leaving: Leaving, *, by: User, now: datetime) -> Leaving:
    """The letter is not to be delivered after all: our part at the site goes on. Taken back already: nothing happens.

    Raises NotAllowed, and Refused where it was delivered.
    """
    if Leaving.objects.filter(pk=leaving.pk, taken_back_at__isnull=False).exists():
        if not may_keep_site(by, leaving.site):
            raise NotAllowed("Only the office may take a closing letter back.")
        return locked(leaving)
    leaving = _undelivered(leaving, by)
    _ended(leaving, Verb.LEAVING_TAKEN_BACK, by=by, now=now)
    return leaving


def _ended(leaving: Leaving, verb: Verb, *, by: Actor, now: datetime) -> None:
    leaving.taken_back_at, leaving.version = now, leaving.version + 1
    leaving.save(update_fields=["taken_back_at", "version"])
    record(verb, site=leaving.site_id, subject=leaving, by=by, now=now, facts={"number": leaving.number})


def came_back(site: Site, *, by: Actor, now: datetime) -> None:
    """Inside the bringing back of `site`: the letter with which our part there ended is past."""
    if leaving := standing_at(site):
        _ended(leaving, Verb.CAME_BACK, by=by, now=now)


def not_for_another(site: Site, former: Party, *, by: Actor, now: datetime) -> dict[str, Any]:
    """Inside the handing over of `site`: a closing letter that was written for the former customer is taken back."""
    leaving = standing_at(site)
    if leaving is None:
        return {}
    _ended(leaving, Verb.LEAVING_TAKEN_BACK, by=by, now=now)
    return {"closing_letter": leaving.number}


def not_while_leaving(gone: Site, into: Site) -> None:
    """Inside the merging of two sites. Raises Refused while a closing letter of either stands: it lists one of them only."""
    for site in (gone, into):
        if leaving := standing_at(site):
            where = "bring that site back" if leaving.delivered_on else "take it back"
            raise Refused(f"Closing letter {leaving.number} of {site.name} stands: {where} first.", field="into")
