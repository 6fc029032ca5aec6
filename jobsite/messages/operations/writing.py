"""Writing messages: a row first, once for its occasion."""

from collections.abc import Iterable, Mapping
from datetime import datetime
from types import MappingProxyType
from uuid import UUID

from django.db.models import Exists, F, OuterRef, Q, TextField, Value
from django.db.models.functions import Replace

from jobsite.messages.models import Message

STATE = Message.State


def write_messages(messages: Iterable[Message]) -> int:
    """Keep `messages` to be sent; one whose occasion was written before is left as it is.

    Called inside the operation whose occasion it is, so that both are kept or neither. Returns how many are new.
    """
    rows = list(messages)
    known = set(Message.objects.filter(occasion__in=[m.occasion for m in rows]).values_list("occasion", flat=True))
    new = [m for m in rows if m.occasion not in known]
    Message.objects.bulk_create(new, ignore_conflicts=True)
    return len(new)


def move_messages(site: UUID, *, into: UUID, same: Mapping[UUID, UUID] = MappingProxyType({})) -> int:
    """Inside an operation: what was said about `site` is about `into` from now on. Returns how many there were.

    `same`: which of its things are which of the other's, by key. What was said about the one is not said again about the
    other; what was said about both stays as it was written.
    """
    for mine, theirs in same.items():
        _said_of(mine, theirs)
    return Message.objects.filter(site=site).update(site=into)


def _said_of(mine: UUID, theirs: UUID) -> None:
    named = {
        name: Replace(F(name), Value(str(mine)), Value(str(theirs)), output_field=TextField())
        for name in ("occasion", "about")
    }
    about_mine = Message.objects.filter(reason_ref=mine).annotate(
        new_occasion=named["occasion"], new_about=named["about"]
    )
    known = Message.objects.filter(occasion=OuterRef("new_occasion"))
    in_its_week = Message.objects.filter(
        reminder=True,
        about=OuterRef("new_about"),
        to_id=OuterRef("to_id"),
        quiet_until__gt=OuterRef("written_at"),
        written_at__lt=OuterRef("quiet_until"),
    )
    said_once = about_mine.exclude(Exists(known)).exclude(Q(reminder=True) & Exists(in_its_week))
    for message in said_once:
        message.occasion, message.about = message.new_occasion, message.new_about
        message.save(update_fields=["occasion", "about"])
    about_mine.update(reason_ref=theirs)


def drop_waiting(site: UUID, *, to: UUID, now: datetime) -> int:
    """Inside the handing over of `site`: what waits to be sent to `to` about it is no longer needed. Returns how many there were."""
    waiting = Message.objects.filter(site=site, to_id=to, state=STATE.WAITING)
    return waiting.update(state=STATE.DROPPED, settled_at=now, error="The site went over to another customer.")


def drop_waiting_about(site: UUID, *, now: datetime, besides: Iterable[str] = ()) -> int:
    """Inside the end of our part at `site`: what waits to be sent to customers about it is no longer needed, but for these.

    `besides`: occasions of messages that go out all the same. Returns how many there were.
    """
    waiting = Message.objects.filter(site=site, to_kind=Message.To.CUSTOMER, state=STATE.WAITING)
    dropped = waiting.exclude(occasion__in=list(besides))
    return dropped.update(state=STATE.DROPPED, settled_at=now, error="Our part at the site ended.")


def note_link(message: Message, link: UUID) -> None:
    """Note which private link goes out with `message`; its token is kept nowhere."""
    message.link = link
    message.save(update_fields=["link"])
