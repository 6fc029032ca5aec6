"""What is past its time, of what nobody holds."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Any
from uuid import UUID

from django.db.models import Exists, OuterRef, Q, QuerySet

from jobsite import clock
from jobsite.ledger.documents import with_what_went_over
from jobsite.ledger.models import Entry, Hold, Words
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.premises.models import Site
from remedials.status.models import Retention
from remedials.status.privacy.rules import SHED, months_before
from remedials.visits.models import AlarmCode, Attempt, Confirmation, OccupierNote, TimesOffer

SETTLED = ("sent", "failed", "unknown", "dropped", "returned")


@dataclass(frozen=True, slots=True)
class Held:
    """Of what nothing may be erased: everything, or these sites."""

    everything: bool
    sites: frozenset[UUID]


def held_now() -> Held:
    """The holds in force; what went over to a held site is held with it. One statement, and one a generation."""
    sites = set(Hold.objects.filter(lifted_at=None).values_list("site", flat=True))
    return Held(None in sites, frozenset(with_what_went_over(site for site in sites if site)))


def months_in_force() -> dict[str, int | None]:
    """How many months each kind is kept: the firm's own, else what the program ships. One statement."""
    own = dict(Retention.objects.values_list("kind", "months"))
    return {kind.key: own.get(kind.key, kind.months) for kind in SHED}


def before_of(today: date, months: int) -> datetime:
    """The instant before which what is kept so many months is past its time on `today`: midnight in London."""
    return datetime.combine(months_before(today, months), time(), clock.LONDON)


def _free(rows: QuerySet[Any], held: Held, field: str = "site") -> QuerySet[Any]:
    """Without those of held sites. One of no site is free."""
    return rows.filter(~Q(**{f"{field}__in": held.sites}) | Q(**{field: None})) if held.sites else rows


def _messages(before: datetime, held: Held) -> QuerySet[Any]:
    return _free(Message.objects.filter(state__in=SETTLED, settled_at__lt=before).exclude(address="", body=""), held)


def _links(before: datetime, held: Held) -> QuerySet[Any]:
    ended = Q(withdrawn_at__lt=before) | Q(expires_at__lt=before)
    return _free(PrivateLink.objects.filter(ended).exclude(sent_to=""), held)


def _attempts(before: datetime, held: Held) -> QuerySet[Any]:
    return _free(Attempt.objects.filter(at__lt=before).exclude(whom="erased", said=""), held)


def _times(before: datetime, held: Held) -> QuerySet[Any]:
    return _free(Confirmation.objects.filter(at__lt=before).exclude(whom="erased", words=""), held, "visit__site")


def past_offers(before: datetime, held: Held) -> QuerySet[TimesOffer]:
    """Times that were offered and answered, of which the words or the name of who answered are still there."""
    entries = Entry.objects.filter(subject=OuterRef(OuterRef("pk"))).values("pk")
    said = Exists(Words.objects.filter(entry__in=entries, name__in=("name", "words")))
    return _free(TimesOffer.objects.filter(~Q(words="") | said, answered_at__lt=before), held)


def _contacts(before: datetime, held: Held) -> QuerySet[Any]:
    out = Q(site__archived_at__lt=before) | Q(unit__retired_at__lt=before)
    # Whether somebody there loses power badly tells of their health as much as words do.
    empty: dict[str, Any] = dict.fromkeys(("contact", "phone", "email", "best_times", "mind"), "")
    empty["loses_power_badly"] = False
    return _free(OccupierNote.objects.filter(out).exclude(**empty), held)


def _access(before: datetime, held: Held) -> QuerySet[Any]:
    return _free(Site.objects.filter(archived_at__lt=before).exclude(access_notes=""), held, "pk")


def _codes(before: datetime, held: Held) -> QuerySet[Any]:
    out = Q(retired_at__lt=before) | Q(site__archived_at__lt=before)
    return _free(AlarmCode.objects.filter(out).exclude(sealed=b""), held)


PAST: dict[str, Callable[[datetime, Held], QuerySet[Any]]] = {
    "messages": _messages,
    "links": _links,
    "attempts": _attempts,
    "times": _times,
    "contacts": _contacts,
    "access": _access,
    "codes": _codes,
}
"""By kind: the rows that are past their time at an instant."""
