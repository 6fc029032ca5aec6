"""What is past its time goes, a bounded number of rows at a time, and never what is held."""

from collections.abc import Callable, Mapping
from datetime import datetime
from typing import Any
from uuid import UUID

from allauth.usersessions.models import UserSession
from django.contrib.sessions.models import Session
from django.db.models import Exists, OuterRef, QuerySet

from jobsite import clock
from jobsite.firm.queries import the_firm
from jobsite.ledger.actor import CLOCK
from jobsite.ledger.models import Entry, Words
from jobsite.ledger.operations import operation, record
from jobsite.ledger.operations_documents import no_hold_meanwhile
from jobsite.people.models import SignIn
from jobsite.people.signin.limits import EVENTS_KEPT
from remedials.status.privacy.queries.past import PAST, Held, before_of, held_now, months_in_force, past_offers
from remedials.status.verbs import Verb
from remedials.visits.models import TimesOffer

AT_ONCE = 2_000
"""Rows of one kind in one run: a first run over years of data must not hold up the others."""
GONE = "erased"
"""What stands where a text was that the database does not let be empty."""

WITHOUT: Mapping[str, Mapping[str, Any]] = {
    "messages": {"address": "", "subject": GONE, "body": "", "error": "", "delayed_why": "", "returned_why": ""},
    "links": {"sent_to": ""},
    "attempts": {"whom": GONE, "said": ""},
    "times": {"whom": GONE, "words": ""},
    "contacts": {"contact": "", "phone": "", "email": "", "best_times": "", "mind": "", "loses_power_badly": False},
    "access": {"access_notes": ""},
    "codes": {"sealed": b""},
}


BESIDE: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "messages": ("pk", ("to", "why")),
    "links": ("pk", ("sent_to",)),
    "attempts": ("pk", ("whom", "said", "reply")),
    "times": ("visit_id", ("whom", "words")),
    "access": ("pk", ("access_notes",)),
}
"""What stands beside the ledger in the same words: the field with the key that its entries are about, and the words' names."""


@operation
def shed(*, now: datetime) -> dict[str, int]:
    """Erase what is past its time by the firm's own months: how many rows of each kind, those with none left out.

    What belongs to a held site stays, and all of it while everything is held. Done again: nothing more is found. What a run
    does not get to the next one does. Sessions that ended go in any case: they are no record of anything.
    """
    _forget_sessions(now)
    no_hold_meanwhile()
    held, found = held_now(), dict[str, int]()
    if held.everything:
        return found
    today = clock.local_day(now)
    for kind, months in months_in_force().items():
        if months is None:
            continue
        before = before_of(today, months)
        if rows := _shed(kind, before, held) + (_offers(before, held) if kind == "times" else 0):
            found[kind] = rows
    if found:
        record(Verb.DATA_SHED, site=None, subject=the_firm(), by=CLOCK, now=now, facts={"rows": found})
    return found


def _forget_sessions(now: datetime) -> None:
    """Sessions that ended, and from which machine their person signed in; what happened at the door too long ago."""
    SignIn.objects.filter(at__lt=now - EVENTS_KEPT).delete()
    Session.objects.filter(expire_date__lt=now).delete()
    alive = Session.objects.filter(session_key=OuterRef("session_key"))
    UserSession.objects.filter(~Exists(alive)).delete()


def _shed(kind: str, before: datetime, held: Held) -> int:
    rows = PAST[kind](before, held)
    if kind in BESIDE and held.sites:
        rows = rows.exclude(_told_where_held(BESIDE[kind][0], held))
    special: Callable[[QuerySet[Any]], int] | None = _SPECIAL.get(kind)
    some = rows.model._default_manager.filter(pk__in=list(rows.order_by("pk").values_list("pk", flat=True)[:AT_ONCE]))  # noqa: SLF001
    if kind in BESIDE:
        field, names = BESIDE[kind]
        _words_gone(list(some.values_list(field, flat=True)), names, before if field != "pk" else None)
    return special(some) if special else some.update(**WITHOUT[kind])


def _told_where_held(field: str, held: Held) -> Exists:
    """Whether an entry about the row stands in a held chain: the database keeps its words, and with them the row stays."""
    return Exists(Entry.objects.filter(chain__in=held.sites, subject=OuterRef(field)))


def _words_gone(subjects: list[UUID], names: tuple[str, ...], before: datetime | None) -> None:
    """The words beside the entries about `subjects`; with `before` only those told until then, since others may follow.

    The chain keeps their salted digests, and holds.
    """
    entries = Entry.objects.filter(subject__in=subjects)
    if before:
        entries = entries.filter(at__lt=before)
    Words.objects.filter(entry__in=entries.values("pk"), name__in=names).delete()


def _offers(before: datetime, held: Held) -> int:
    """What customers wrote when they were offered times, with their names beside the ledger."""
    keys = list(
        past_offers(before, held)
        .exclude(_told_where_held("pk", held))
        .order_by("pk")
        .values_list("pk", flat=True)[:AT_ONCE]
    )
    _words_gone(keys, ("name", "words"), None)
    return TimesOffer.objects.filter(pk__in=keys).update(words="")


def _attempts(rows: QuerySet[Any]) -> int:
    """A reply has its day, and only together they may be empty or not."""
    rows.exclude(reply="").update(reply=GONE)
    return rows.update(**WITHOUT["attempts"])


_SPECIAL: dict[str, Callable[[QuerySet[Any]], int]] = {"attempts": _attempts}
