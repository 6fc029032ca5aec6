"""What was said to whom and why, as ready strings."""

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Count, Min, Q, QuerySet
from django.urls import reverse

from jobsite.messages.models import Message
from jobsite.messages.operations.deciding import AGAIN
from jobsite.messages.operations.returns import DELIVERED
from jobsite.messages.queries import came_back, warning
from jobsite.paging import Slice, keyset
from jobsite.people.models import User
from jobsite.premises.models import Party, Site
from jobsite.words import many, when

ORDER = ("-written_at", "-id")
STATE = Message.State
LATE = timedelta(minutes=15)  # so long after its turn a message that waits is told of; our own choice
SOME = 200  # people and parties of one name, at most


def seen_messages(user: User) -> QuerySet[Message]:
    """Messages that `user` may read: all for the firm's own people, none for a subcontractor."""
    return Message.objects.none() if user.subcontractor else Message.objects.all()


def messages(
    user: User,
    *,
    state: str = "",
    to: str = "",
    danger: str = "",
    site: UUID | None = None,
    person: UUID | None = None,
    after: str = "",
) -> Slice:
    """A page of messages, the latest first, narrowed by state, danger, site, person, or `to`: a number, name or address.

    Seven statements at most.
    """
    rows = seen_messages(user)
    if state in STATE.values:
        rows = rows.filter(state=state)
    if site is not None:
        rows = rows.filter(site=site)
    if person is not None:
        rows = rows.filter(to_id=person)
    if danger:
        rows = rows.filter(danger=danger == "yes")
    if to := to.strip():
        rows = rows.filter(_to(to))
    found = keyset(rows, ORDER, after=after)
    names = _Names(found.rows)
    return Slice([_row(message, names) for message in found.rows], found.next)


def _to(words: str) -> Q:
    """Whom: the number of one message, or a part of a name or an address."""
    if words.isdecimal() and len(words) < 19:
        return Q(number=int(words))
    people = list(User.objects.filter(name__icontains=words).values_list("pk", flat=True)[:SOME])
    parties = list(Party.objects.filter(name__icontains=words).values_list("pk", flat=True)[:SOME])
    return Q(address__icontains=words) | Q(to_id__in=people + parties)


def held_up(*, now: datetime) -> str:
    """What to say above the list where messages wait longer than they should; "" where none does. Two statements at most."""
    late = Message.objects.filter(state=STATE.WAITING, next_try_at__lt=now - LATE)
    found = late.aggregate(count=Count("pk"), since=Min("next_try_at"))
    if not found["count"]:
        return ""
    error = late.exclude(error="").order_by("-danger", "next_try_at").values_list("error", flat=True).first()
    why = f" {error}" if error else " Is the clockwork running?"
    return f"{many(found['count'], 'message')} should have gone out since {when(found['since'])}.{why}"


class _Names:
    """The names of the sites and people that some messages are about, and addresses that came back: four statements."""

    def __init__(self, rows: list[Message]) -> None:
        sites = {row.site for row in rows if row.site}
        people = {row.to_id for row in rows}
        self.site = dict(Site.objects.filter(pk__in=sites).values_list("pk", "name")) if sites else {}
        self.to = dict(User.objects.filter(pk__in=people).values_list("pk", "name"))
        self.to |= dict(Party.objects.filter(pk__in=people - set(self.to)).values_list("pk", "name"))
        self.back = came_back(row.address for row in rows if row.state == STATE.WAITING)


def _row(message: Message, names: _Names) -> dict[str, Any]:
    tried = f", tried {many(message.attempts, 'time')}" if message.state == STATE.WAITING and message.attempts else ""
    return {
        "number": str(message.number),
        "when": when(message.settled_at or message.written_at),
        "to": names.to.get(message.to_id, ""),
        "address": message.address,
        "subject": message.subject,
        "href": reverse("messages:message", args=[message.pk]),
        "site": names.site.get(message.site, "") if message.site else "",
        "site_href": reverse("premises:site_page", args=[message.site]) if message.site else "",
        "state": message.get_state_display() + tried,
        "error": message.returned_why if message.state == STATE.RETURNED else message.error or message.delayed_why,
        "loud": message.state in AGAIN,
        "danger": message.danger,
        "again": reverse("messages:again", args=[message.pk]) if message.state in AGAIN else "",
        "back": names.back.get(message.address.lower(), "") if message.state == STATE.WAITING else "",
        "css": "gone" if message.state == STATE.DROPPED else "",
    }


def message_page(message: Message) -> dict[str, Any]:
    """One message: its words, why it was written, how that went, and what a person may do. Six statements at most."""
    row = _row(message, _Names([message]))
    waits = message.state == STATE.WAITING
    may_go = waits or (message.state in AGAIN and message.state != STATE.RETURNED and not message.address_refused)
    facts = [
        ("Number", str(message.number)),
        ("Why", message.why),
        ("File that goes with it", message.attachment),
        ("Written", when(message.written_at)),
        ("Attempts", str(message.attempts)),
        ("Next attempt", when(message.next_try_at) if waits else ""),
        ("No longer needed since" if message.state == STATE.DROPPED else "Settled", when(message.settled_at)),
        ("Why not needed" if message.state == STATE.DROPPED else "What went wrong", message.error),
        ("Delayed on its way", message.delayed_why),
        ("Came back", when(message.returned_at)),
        ("What the mail server said", message.returned_why),
    ]
    return row | {
        "back": warning(message.address) if may_go else "",
        "body": message.body,
        "facts": [(name, value) for name, value in facts if value],
        "others": _others(message),
        "send_to": reverse("messages:send_to", args=[message.pk]) if message.state in AGAIN else "",
        "came_back": reverse("messages:came_back", args=[message.pk]) if message.state in DELIVERED else "",
    }


def _others(message: Message) -> list[dict[str, str]]:
    """The message that this one takes the place of, and those that a person sent in its place. One statement."""
    either = Q(instead_of=message.pk) | (Q(pk=message.instead_of) if message.instead_of else Q(pk__isnull=True))
    return [
        {
            "words": ("In the place of" if row.pk == message.instead_of else "Sent anew as")
            + f" message {row.number}, to {row.address}: {row.get_state_display()}",
            "href": reverse("messages:message", args=[row.pk]),
        }
        # Sent anew it goes to the same person or party: by them there is an index.
        for row in Message.objects.filter(either, to_id=message.to_id).order_by("written_at", "id")
    ]
