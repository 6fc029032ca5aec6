"""Everything open by whom it waits on: what was asked, when, what was promised, when it is chased next, and by whom."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.db.models import Exists, Max, OuterRef, Q

from jobsite import clock
from jobsite.addresses import address
from jobsite.people.models import User
from jobsite.people.names import as_customers_read
from jobsite.people.rights import Right
from jobsite.premises.models import Party
from jobsite.sorting import sort_key
from jobsite.words import day, days_late, joined, near_day, span
from remedials.quotes.models import Offer
from remedials.quotes.states import State
from remedials.visits.choices import Answered
from remedials.visits.models import TimesOffer, Visit
from remedials.visits.queries.visits import begins
from remedials.works.models import Remedial, Waiting
from remedials.works.states import Stage

HEADS = (
    "Waits on",
    "Kind",
    "For what",
    "Reference",
    "Site",
    "Asked on",
    "Promised for",
    "Chase next on",
    "Late",
    "Our owner",
)
KINDS = {
    "waiting": "something asked for",
    "visit": "the time of a visit",
    "times": "a choice of times",
    "quote": "an answer to a quote",
}
CHASED = ("waiting", "quote")  # a visit's time is asked for again where it is confirmed
MOST_WORDS = 8


@dataclass(frozen=True)
class Wait:
    """One thing that somebody outside holds up. `chased`: a chase may move its day."""

    kind: str
    key: UUID
    on_whom: str
    for_what: str
    href: str
    site: str
    asked_on: date
    next_on: date
    reference: str = ""
    promised_for: date | None = None
    owner: User | None = None
    email: str = ""
    site_key: UUID | None = None

    @property
    def group(self) -> str:
        """Whom it waits on, folded: "THE SHOP" and "the shop" are one."""
        return sort_key(self.on_whom)

    @property
    def due(self) -> date:
        """From when it is late: the day that was promised, or the day to chase, whichever is first."""
        return min(self.next_on, self.promised_for) if self.promised_for else self.next_on

    @property
    def token(self) -> str:
        """What a form calls it."""
        return f"{self.kind}:{self.key}"


def all_waits(user: User, *, today: date) -> list[Wait]:
    """All that `user` may see, the latest first. Four statements at most."""
    found = [*_waitings(user), *_visits(user, today), *_times(user)]
    if user.may(Right.PRICE):
        found += _quotes(user)
    return sorted(found, key=lambda wait: (wait.due, wait.group, wait.asked_on, str(wait.key)))


def _waitings(user: User) -> Iterator[Wait]:
    rows = Waiting.objects.visible_to(user).filter(ended_at=None)
    for row in rows.select_related("site", "observation", "remedial", "owner"):
        thing = f"Remedial {row.remedial.number}" if row.remedial else f"Observation {row.observation.number}"  # type: ignore[union-attr]
        page = ("desk:remedial", row.remedial_id) if row.remedial_id else ("desk:observation", row.observation_id)
        yield Wait(
            "waiting", row.pk, row.on_whom, row.for_what, address(*page), row.site.name, row.asked_on, row.chase_on,
            joined(row.reference, thing), row.promised_for, row.owner, site_key=row.site_id,
        )  # fmt: skip


def _visits(user: User, today: date) -> Iterator[Wait]:
    """Visits whose time the customer was asked about and has not confirmed, until their day as in the list of what is due."""
    rows = Visit.objects.visible_to(user).filter(
        state=Visit.State.BOOKED, answered__in=[Answered.ASKED, Answered.CANNOT], start__gte=begins(today)
    )
    rows = rows.annotate(asked_at=Max("confirmations__at", filter=Q(confirmations__answered=Answered.ASKED)))
    for row in rows.select_related("site__customer", "booked_by"):
        asked = clock.local_day(row.asked_at or row.booked_at)  # type: ignore[attr-defined]
        what = f"whether {span(row.start, row.end)} suits"
        if row.answered == Answered.CANNOT:
            what = f"another time: they cannot {span(row.start, row.end)}"
        yield Wait(
            "visit", row.pk, row.site.customer.name, what, address("visits:visit", row.pk), row.site.name, asked,
            row.confirm_by or clock.local_day(row.start) - timedelta(days=1), f"Visit {row.number}", None, row.booked_by,
            row.site.customer.email, row.site_id,
        )  # fmt: skip


def _times(user: User) -> Iterator[Wait]:
    """Times that were offered and of which none is chosen yet, while any of their work is still to be booked."""
    to_book = Remedial.objects.filter(times_offers=OuterRef("pk"), stage=Stage.APPROVED)
    rows = TimesOffer.objects.visible_to(user).filter(Exists(to_book), state="open")
    for row in rows.select_related("site__customer", "party", "made_by"):
        party = row.party or row.site.customer
        yield Wait(
            "times", row.pk, party.name, "which of the times offered suits", address("desk:site", row.site_id),
            row.site.name, clock.local_day(row.made_at), row.answer_by, "", None, row.made_by, party.email, row.site_id,
        )  # fmt: skip


def _quotes(user: User) -> Iterator[Wait]:
    """Quotes that are with the customer. No prices here."""
    rows = Offer.objects.visible_to(user).filter(state=State.SENT)
    for row in rows.select_related("quote__party", "quote__owner").defer("said"):
        quote = row.quote
        sent = clock.local_day(row.sent_at or row.made_at)
        yield Wait(
            "quote", quote.pk, quote.party.name, f"an answer to “{quote.name}”", address("quotes:quote", quote.pk), "",
            sent, quote.chase_on or row.valid_until or sent, f"Quote {quote.number}", None, quote.owner, quote.party.email,
        )  # fmt: skip


def narrowed(waits: Iterable[Wait], *, kind: str = "", owner: str = "", words: str = "") -> list[Wait]:
    """Those of one kind, of one of our people (a key), and that have all of `words` in what stands in their row."""
    wanted = [sort_key(word) for word in words.split()[:MOST_WORDS]]
    return [
        wait
        for wait in waits
        if kind in {"", wait.kind}
        and (not owner or (wait.owner is not None and str(wait.owner.pk) == owner))
        and all(word in sort_key(f"{wait.on_whom} {wait.for_what} {wait.reference} {wait.site}") for word in wanted)
    ]


def groups_of(waits: Iterable[Wait], *, today: date) -> list[dict[str, Any]]:
    """The waits by whom they wait on, the group with the latest first."""
    found: dict[str, list[Wait]] = {}
    for wait in waits:
        found.setdefault(wait.group, []).append(wait)
    return [
        {
            "name": rows[0].on_whom,
            "late": days_late(rows[0].due, today),
            "chase": address("desk:waits_chase", on=group) if any(w.kind in CHASED for w in rows) else "",
            "rows": [_row(wait, today) for wait in rows],
        }
        for group, rows in found.items()
    ]


def _row(wait: Wait, today: date) -> dict[str, Any]:
    return {
        "what": wait.for_what,
        "href": wait.href,
        "reference": wait.reference,
        "site": wait.site,
        "asked": near_day(wait.asked_on, today),
        "promised": near_day(wait.promised_for, today),
        "next": near_day(wait.next_on, today),
        "late": days_late(wait.due, today),
        "owner": wait.owner.name if wait.owner else "nobody",
    }


def cells(waits: Iterable[Wait], *, today: date) -> Iterator[list[Any]]:
    """The waits as cells for a file."""
    for w in waits:
        yield [
            w.on_whom, KINDS[w.kind], w.for_what, w.reference, w.site, w.asked_on, w.promised_for, w.next_on,
            days_late(w.due, today), w.owner.name if w.owner else "",
        ]  # fmt: skip


@dataclass(frozen=True)
class Ready:
    """A chase that is ready to send: to whom it goes, what it says, what it is about."""

    name: str
    waits: list[Wait]
    email: str
    party: UUID | None
    subject: str
    words: str


def ready(user: User, group: str, *, today: date) -> Ready | None:
    """The chase of all that waits on `group` (its folded name); None where nothing does. Six statements at most."""
    waits = [wait for wait in all_waits(user, today=today) if wait.group == group]
    if not waits:
        return None
    party = Party.objects.filter(sort=group, archived_at=None).order_by("pk").first()
    known = next((wait.email for wait in waits if wait.email), "")
    lines = "\n".join(f"- {line_of(wait)}" for wait in waits)
    return Ready(
        name=waits[0].on_whom,
        waits=waits,
        email=known or (party.email if party else ""),
        party=party.pk if party else None,
        subject=f"What we wait for: {waits[0].for_what}" if len(waits) == 1 else f"{len(waits)} things we wait for",
        words=f"Dear {waits[0].on_whom},\n\nwe still wait for:\n\n{lines}\n\nPlease let us know when we may expect it.\n\n{as_customers_read().name(user.name)}\n",
    )


def line_of(wait: Wait) -> str:
    """What was asked, when, under which reference, for which site: "the asbestos register (ref. R-7), asked on 2 Feb 2026"."""
    about = joined(wait.reference, wait.site and f"at {wait.site}")
    promised = f"promised for {day(wait.promised_for)}" if wait.promised_for else ""
    return joined(f"{wait.for_what} ({about})" if about else wait.for_what, f"asked on {day(wait.asked_on)}", promised)
