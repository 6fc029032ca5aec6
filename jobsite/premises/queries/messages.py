"""What was said to whom and why, as ready strings."""

from typing import Any
from uuid import UUID

from django.db.models import QuerySet
from django.urls import reverse

from jobsite.messages.models import Message
from jobsite.paging import Slice, keyset
from jobsite.people.models import User
from jobsite.premises.models import Party, Site
from jobsite.words import when

ORDER = ("-written_at", "-id")
AGAIN = (Message.State.FAILED, Message.State.UNKNOWN)


def seen_messages(user: User) -> QuerySet[Message]:
    """Messages that `user` may read: all for the firm's own people, none for a subcontractor."""
    return Message.objects.none() if user.subcontractor else Message.objects.all()


def messages(user: User, *, state: str = "", site: UUID | None = None, after: str = "") -> Slice:
    """A page of messages, the latest first, narrowed to a state or a site. Four statements at most."""
    rows = seen_messages(user)
    if state in Message.State.values:
        rows = rows.filter(state=state)
    if site is not None:
        rows = rows.filter(site=site)
    found = keyset(rows, ORDER, after=after)
    names = _Names(found.rows)
    return Slice([_row(message, names) for message in found.rows], found.next)


class _Names:
    """The names of the sites and people that some messages are about: three statements."""

    def __init__(self, rows: list[Message]) -> None:
        sites = {row.site for row in rows if row.site}
        people = {row.to_id for row in rows}
        self.site = dict(Site.objects.filter(pk__in=sites).values_list("pk", "name")) if sites else {}
        self.to = dict(User.objects.filter(pk__in=people).values_list("pk", "name"))
        self.to |= dict(Party.objects.filter(pk__in=people - set(self.to)).values_list("pk", "name"))


def _row(message: Message, names: _Names) -> dict[str, Any]:
    return {
        "when": when(message.settled_at or message.written_at),
        "to": names.to.get(message.to_id, ""),
        "address": message.address,
        "subject": message.subject,
        "href": reverse("messages:message", args=[message.pk]),
        "site": names.site.get(message.site, "") if message.site else "",
        "site_href": reverse("premises:site_page", args=[message.site]) if message.site else "",
        "state": message.get_state_display(),
        "error": message.error,
        "danger": message.danger,
        "again": reverse("messages:again", args=[message.pk]) if message.state in AGAIN else "",
        "css": "gone" if message.state == Message.State.DROPPED else "",
    }


def message_page(message: Message) -> dict[str, Any]:
    """One message with its words and its times."""
    times = [
        ("File that goes with it", message.attachment),
        ("Written", when(message.written_at)),
        ("Attempts", str(message.attempts)),
        ("Settled", when(message.settled_at)),
        ("What went wrong", message.error),
    ]
    row = _row(message, _Names([message]))
    return row | {"body": message.body, "times": [(name, value) for name, value in times if value]}
