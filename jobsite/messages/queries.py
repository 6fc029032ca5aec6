"""What is known of addresses, and of what a person sent anew to another one."""

from collections.abc import Iterable
from uuid import UUID

from django.db.models import Q
from django.db.models.functions import Lower

from jobsite.messages.models import Message
from jobsite.words import day, london

STATE = Message.State


def came_back(addresses: Iterable[str]) -> dict[str, str]:
    """For each of `addresses` (in small letters) of which the last message came back or was refused: so in words.

    A later one that a mail server took clears it. One statement, none for no address.
    """
    low = {address.lower() for address in addresses if address}
    if not low:
        return {}
    settled = Q(state__in=[STATE.SENT, STATE.RETURNED]) | Q(state=STATE.FAILED, address_refused=True)
    rows = Message.objects.annotate(low=Lower("address")).filter(settled, low__in=low)
    last = rows.order_by("low", "-written_at", "-id").distinct("low")
    return {row.low: _words(row) for row in last if row.state != STATE.SENT}


def first_of(message: Message) -> UUID:
    """The key of the message that `message` was at first: a person may have sent it anew. One statement for each time."""
    key, before = message.pk, message.instead_of
    while before:
        key = before
        before = Message.objects.filter(pk=key).values_list("instead_of", flat=True).first()
    return key


def sent_last(keys: Iterable[UUID], *, reason_kind: str) -> dict[UUID, Message]:
    """For each of `keys`, of messages with that reason: itself, or that by which a person last sent it anew.

    One statement, none for no key.
    """
    wanted = set(keys)
    if not wanted:
        return {}
    reasons = Message.objects.filter(pk__in=wanted).values("reason_ref")
    rows = list(Message.objects.filter(reason_kind=reason_kind, reason_ref__in=reasons).order_by("number"))
    by_key, anew = {row.pk: row for row in rows}, {row.instead_of: row for row in rows if row.instead_of}
    found = {}
    for key in wanted & set(by_key):
        last = by_key[key]
        while later := anew.get(last.pk):
            last = later
        found[key] = last
    return found


def warning(address: str) -> str:
    """What to say beside `address` before anything more is written there; "" where nothing came back. One statement."""
    return came_back([address]).get(address.lower(), "")


def _words(row: Message) -> str:
    if row.state == STATE.RETURNED and row.returned_at:
        return (
            f"The last message to {row.address} came back on {day(london(row.returned_at).date())}: {row.returned_why}"
        )
    on = day(london(row.settled_at).date()) if row.settled_at else ""
    return f"The last message to {row.address} was refused on {on}: {row.error}"
