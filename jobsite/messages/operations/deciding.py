"""What a person decides about a message that did not arrive."""

from datetime import datetime

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.messages.mail import valid_address
from jobsite.messages.models import Message
from jobsite.messages.verbs import Verb
from jobsite.refused import NotAllowed, Refused

SEE_MESSAGES = "see-messages"  # the right's name as people.rights spells it; that room is above this one
STATE = Message.State
AGAIN = (STATE.FAILED, STATE.UNKNOWN, STATE.RETURNED)


def only_the_office(by: Actor) -> None:
    """Raises NotAllowed for who may not decide about messages."""
    if not by.may(SEE_MESSAGES):
        raise NotAllowed("Only the office may decide about messages.")


@operation
def send_again(message: Message, *, by: Actor, now: datetime) -> Message:
    """A person decides that a message which failed, came back, or whose outcome is not known, goes out again."""
    only_the_office(by)
    message = Message.objects.select_for_update().get(pk=message.pk)
    if message.state == STATE.WAITING:
        return message
    if message.state not in AGAIN:
        raise Refused(f"This message is {message.get_state_display()}; it cannot be sent again.")
    if not message.address:
        raise Refused("To whom this went, and what it said, was erased: it cannot be sent again.")
    if message.state != STATE.FAILED:
        message.link = None  # the first may have arrived: its link goes on, and this one gets another
    message.state, message.settled_at, message.next_try_at, message.attempts = STATE.WAITING, None, now, 0
    message.claim = message.claimed_at = message.handed_at = None
    message.save(
        update_fields=[
            "link", "state", "settled_at", "next_try_at", "attempts", "claim", "claimed_at", "handed_at",
        ]
    )  # fmt: skip
    record(Verb.AGAIN, site=message.site, subject=message, by=by, now=now)
    return message


@operation
def send_to(message: Message, *, address: str, by: Actor, now: datetime) -> Message:
    """A person decides that a message which did not arrive goes to another `address`: a message of its own, once for that.

    It is no reminder of the program's any more, so it is bound to no week. Returns the new message; the same address again:
    the one that was written then. Raises Refused for what is no address, for the same one, and where the first arrived.
    """
    only_the_office(by)
    message = Message.objects.select_for_update().get(pk=message.pk)
    address = address.strip()
    if not valid_address(address):
        raise Refused("This is no e-mail address: it needs a name, an @ and a domain.", field="address")
    occasion = f"{message.occasion} to {address.lower()}"
    if made := Message.objects.filter(occasion=occasion).first():
        return made
    if address.lower() == message.address.lower():
        raise Refused("It went to this very address: enter another, or send it again as it is.", field="address")
    if message.state not in AGAIN:
        raise Refused(f"This message is {message.get_state_display()}; it needs no other address.")
    if not message.address:
        raise Refused("What this said was erased: it cannot be sent to anybody else.")
    new = Message(
        occasion=occasion, to_kind=message.to_kind, to_id=message.to_id, address=address, subject=message.subject,
        body=message.body, danger=message.danger, site=message.site, why=message.why, filled_by=message.filled_by,
        reason_kind=message.reason_kind, reason_ref=message.reason_ref, attachment=message.attachment,
        instead_of=message.pk, written_at=now, next_try_at=now,
    )  # fmt: skip
    new.save(force_insert=True)
    new.refresh_from_db(fields=["number"])
    record(
        Verb.ANEW, site=message.site, subject=message, by=by, now=now, facts={"as": str(new.pk)}, words={"to": address}
    )
    return new
