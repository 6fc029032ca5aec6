"""Private links: to whom, what they open, until when, how often they were opened; of a site, of a customer, of the firm."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from jobsite.addresses import address
from jobsite.messages.models import Message
from jobsite.paging import Slice, keyset
from jobsite.people.models import PrivateLink, User
from jobsite.premises.models import Party, Site, Unit
from jobsite.sorting import sort_key
from jobsite.words import many, when

ORDER = ("-made_at", "-id")
OPEN, ENDED = "open", "ended"
SOME = 200  # parties and sites of one name, at most
ON_PAGE = 10  # on the page of a customer; all of them are a step away
Purpose = PrivateLink.Purpose


def links_of(site: Site, *, now: datetime) -> list[dict[str, Any]]:
    """All links of a site, the latest first, those that open something before those that don't. Four statements at most."""
    rows = list(PrivateLink.objects.filter(site=site.pk).select_related("made_by").order_by(*ORDER))
    return sorted(_shown(rows, now), key=lambda row: not row["opens"])


def links_of_party(party: Party, *, now: datetime) -> dict[str, Any]:
    """The links of a customer that open something, the latest first, and how many more there are. Six statements at most."""
    opens = _which(of_party(party.pk), OPEN, now).select_related("made_by").order_by(*ORDER)
    rows = list(opens[: ON_PAGE + 1])
    return {"rows": _shown(rows[:ON_PAGE], now), "more": len(rows) > ON_PAGE}


def of_party(party: UUID) -> QuerySet[PrivateLink]:
    """What was given to a party, and what opens a site of theirs and names nobody."""
    theirs = Site.objects.filter(customer=party).values("pk")
    return PrivateLink.objects.filter(Q(party=party) | Q(party__isnull=True, site__in=theirs))


def all_links(
    user: User,
    *,
    now: datetime,
    words: str = "",
    which: str = OPEN,
    purpose: str = "",
    customer: UUID | None = None,
    after: str = "",
) -> Slice:
    """A page of the firm's links, the latest first: `which` are those that open something, those that ended, or all ("").

    `words`: a part of whom it was given to, of a customer's or a site's name. Eight statements at most.
    """
    rows = PrivateLink.objects.none() if user.subcontractor else PrivateLink.objects.select_related("made_by")
    if customer is not None:
        rows = rows & of_party(customer).select_related("made_by")
    if purpose in Purpose.values:
        rows = rows.filter(purpose=purpose)
    if words.strip():
        rows = rows.filter(_named(words.strip()))
    found = keyset(_which(rows, which, now), ORDER, after=after)
    return Slice(_shown(found.rows, now), found.next)


def _which(rows: QuerySet[PrivateLink], which: str, now: datetime) -> QuerySet[PrivateLink]:
    if which == OPEN:
        return rows.filter(withdrawn_at__isnull=True, expires_at__gt=now)
    if which == ENDED:
        return rows.filter(Q(withdrawn_at__isnull=False) | Q(expires_at__lte=now))
    return rows


def _named(words: str) -> Q:
    parties = Party.objects.filter(sort__contains=sort_key(words)).values_list("pk", flat=True)[:SOME]
    sites = Site.objects.filter(sort__contains=sort_key(words)).values_list("pk", flat=True)[:SOME]
    return Q(sent_to__icontains=words) | Q(party__in=list(parties)) | Q(site__in=list(sites))


def _shown(rows: list[PrivateLink], now: datetime) -> list[dict[str, Any]]:
    """`rows` in words; four statements, whatever their number."""
    names = _Names(rows)
    return [_row(row, names, now) for row in rows]


class _Names:
    """The names of the sites, units and parties of some links, and the messages that brought them."""

    def __init__(self, rows: list[PrivateLink]) -> None:
        self.site = _names(Site, {row.site for row in rows})
        self.unit = _names(Unit, {row.unit for row in rows})
        self.party = _names(Party, {row.party for row in rows})
        brought = Message.objects.filter(link__in=[row.pk for row in rows]).order_by("written_at") if rows else []
        self.message = {message.link: message for message in brought}


def _names(model: Any, keys: set[UUID | None]) -> dict[UUID, str]:
    keys = keys - {None}
    return dict(model.objects.filter(pk__in=keys).values_list("pk", "name")) if keys else {}


def _row(row: PrivateLink, names: _Names, now: datetime) -> dict[str, Any]:
    if row.withdrawn_at:
        state = f"withdrawn {when(row.withdrawn_at)}"
    else:
        state = f"until {when(row.expires_at)}" if row.expires_at > now else f"ended {when(row.expires_at)}"
    opens = row.withdrawn_at is None and row.expires_at > now
    message = names.message.get(row.pk)
    party = names.party.get(row.party, "") if row.party else ""
    return {
        "purpose": row.get_purpose_display(),
        "thing": _thing(row),
        "site": names.site.get(row.site, "") if row.site else "",
        "site_href": address("premises:links", row.site) if row.site else "",
        "of": _of(row, names),
        "to": ", ".join(filter(None, dict.fromkeys((row.sent_to, party)))) or "not noted",
        "mail": f"e-mail {message.get_state_display()}" if message else "",
        "mail_href": address("messages:message", message.pk) if message else "",
        "mail_loud": bool(message and message.state in LOUD),
        "made": f"{when(row.made_at)}, {row.made_by}",
        "state": state,
        "used": f"{many(row.uses, 'time')}, last {when(row.last_used_at)}" if row.last_used_at else "not yet",
        "opens": opens,
        "css": "" if opens else "gone",
        "withdraw": address("premises:link_withdraw", row.pk) if opens else "",
    }


PAGES = {
    Purpose.QUOTE: "quotes:quote",
    Purpose.VISIT: "visits:visit",
    Purpose.TIMES: "visits:times_offer",
    Purpose.COPY: "proof:copy",
}
LOUD = (Message.State.FAILED, Message.State.UNKNOWN, Message.State.RETURNED)


def _of(row: PrivateLink, names: _Names) -> str:
    if row.purpose == Purpose.PORTFOLIO:
        return "all sites and units of the customer"
    if row.unit:
        return names.unit.get(row.unit, "a unit that is no longer there")
    return "the whole site" if row.purpose == Purpose.STATUS else ""


def _thing(row: PrivateLink) -> str:
    """The office's page of what the link opens besides a site; "" where there is none."""
    name = PAGES.get(Purpose(row.purpose))
    return address(name, row.thing) if name and row.thing else ""
