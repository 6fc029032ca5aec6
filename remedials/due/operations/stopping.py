"""How a customer stops reminders: a signed address in each of them, without a row for it and without their own in it.

What danger, the law or their own work asks for is no reminder, bears no such address and is never stopped.
"""

from dataclasses import dataclass, replace
from datetime import datetime
from urllib.parse import urlsplit
from uuid import UUID

from django.core.signing import BadSignature, Signer
from django.urls import reverse

from jobsite.ids import key_in
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation, record
from jobsite.ledger.rows import locked
from jobsite.messages.models import Message
from jobsite.messages.operations import Complete
from jobsite.people.invitations import full_address
from jobsite.people.models import User
from jobsite.premises.models import Party
from jobsite.premises.policy import may_keep_customers
from jobsite.refused import NotAllowed
from remedials.due.models import NoReminders
from remedials.due.queries.stopping import standing
from remedials.due.verbs import Verb

SALT = "remedials.due.no-reminders"
FOOT = (
    "\nNo more reminders like this one: {address}\n"
    "Warnings of danger, what the law asks for and news of your own work still reach you.\n"
)


@dataclass(frozen=True)
class Receiver:
    """Whoever has a reminder, and so the address to stop them: an actor who may do that and nothing else."""

    message: Message
    actor_kind = "link"

    @property
    def actor_id(self) -> UUID:
        return self.message.pk

    def may(self, right: str) -> bool:
        """Nothing that a right is needed for."""
        return False


def token_of(message: Message) -> str:
    """The part of the address that names a reminder: its key, signed."""
    return _signer().sign(message.pk.hex)


def reminder_of(token: str) -> Message | None:
    """The reminder whose receiver has `token`; None for a token that is not ours."""
    try:
        key = key_in(_signer().unsign(token))
    except BadSignature:
        return None
    return Message.objects.filter(pk=key, reminder=True).first() if key else None


def _signer() -> Signer:
    return Signer(sep=".", salt=SALT)


def with_way_to_stop(message: Message, complete: Complete) -> Complete:
    """`complete`, of a reminder with the address that stops them in its foot and its headers.

    The headers are List-Unsubscribe (RFC 2369, section 3.2) and, where the address is https as it demands,
    List-Unsubscribe-Post (RFC 8058, section 3.1): mail programs show a button of their own for it.
    """
    if not message.reminder:
        return complete
    where = full_address(reverse("due:stop", args=[token_of(message)]))
    headers: tuple[tuple[str, str], ...] = (("List-Unsubscribe", f"<{where}>"),)
    if urlsplit(where).scheme == "https":
        headers += (("List-Unsubscribe-Post", "List-Unsubscribe=One-Click"),)
    return replace(complete, body=complete.body + FOOT.format(address=where), headers=complete.headers + headers)


@operation
def stop_reminders(party: Party, *, address: str, by: Actor, now: datetime) -> NoReminders:
    """From now on `party` gets no reminders; what waits is dropped when its turn comes. Stopped already: nothing happens.

    `address`: the one that said so. Raises NotAllowed where `by` neither keeps customers nor has a reminder to them.
    """
    _must(by, party)
    party = locked(party)
    if row := standing(party.pk):
        return row
    person = by if isinstance(by, User) else None
    row = NoReminders.objects.create(party=party, address=address, said_at=now, noted_by=person)
    facts = {"party": str(party.pk)}
    record(Verb.NO_REMINDERS, site=None, subject=row, by=by, now=now, facts=facts, words={"address": address})
    return row


@operation
def remind_again(party: Party, *, by: Actor, now: datetime) -> None:
    """`party` gets reminders again. Raises NotAllowed as `stop_reminders`; not stopped: nothing happens."""
    _must(by, party)
    party = locked(party)
    row = standing(party.pk)
    if row is None:
        return
    row.lifted_at = now
    row.save(update_fields=["lifted_at"])
    record(Verb.REMINDERS_AGAIN, site=None, subject=row, by=by, now=now, facts={"party": str(party.pk)})


def _must(by: Actor, party: Party) -> None:
    receiver = isinstance(by, Receiver) and by.message.to_id == party.pk
    if not (receiver or may_keep_customers(by)):
        raise NotAllowed("Only the office may say for a customer whether they want reminders.")
