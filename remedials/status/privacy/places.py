"""Where a customer is named besides their own row, and what becomes of it there: one table.

`named`: the words go out of these fields, the row stays. `cleared`: these fields are emptied. What is in neither stays,
and stands in `queries.about.stays_of` with its reason.
"""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from inspections.models import MadeSafe, Observation, Paper, PaperRequest, PaperSupply
from jobsite.firm.models import Progress
from jobsite.ledger.models import Hold
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.premises.models import Board, FormerCustomer, Party, Site, Unit
from remedials.due.models import Leaving, NoReminders, Undertaking
from remedials.quotes.models import Question, Remark
from remedials.status.models import Bundle
from remedials.status.privacy.naming import GONE, Person
from remedials.visits.models import (
    AccessTime,
    Attempt,
    CheckIn,
    ClosedDays,
    Confirmation,
    KeyMove,
    OccupierNote,
    SeeTo,
    SiteKey,
    TimesOffer,
    Visit,
    VisitMove,
)
from remedials.works.models import Remedial, Waiting, WayOut


@dataclass(frozen=True, slots=True)
class Subject:
    """Whose data: the party, what names them, the sites where they are or were something, those that are theirs."""

    party: Party
    person: Person
    sites: frozenset[UUID]
    own: frozenset[UUID]


@dataclass(frozen=True, slots=True)
class Place:
    """Rows that may name a customer. `whole`: fields that are theirs from end to end in these rows.

    `one_by_one`: saved each for itself, since its sorting goes with its name.
    """

    label: str
    rows: Callable[[Subject], QuerySet[Any]]
    named: tuple[str, ...] = ()
    whole: tuple[str, ...] = ()
    cleared: Mapping[str, Any] = field(default_factory=dict)
    one_by_one: bool = False


def _messages(who: Subject) -> QuerySet[Any]:
    """E-mails to them: by their key, and by their address unless somebody else has the same, whose proof those are."""
    to_them = Q(to_id=who.party.pk)
    others = Party.objects.filter(email__iexact=who.party.email, erased_at=None).exclude(pk=who.party.pk)
    if who.party.email and not others.exists():
        to_them |= Q(address__iexact=who.party.email)
    return Message.objects.filter(to_them).exclude(state=Message.State.SENDING).exclude(address="", body="")


def _about_them(who: Subject) -> QuerySet[Any]:
    """Also those about no single site: a digest names whoever is to be rung."""
    others = Message.objects.filter(Q(site__in=who.sites) | Q(site=None)).exclude(to_id=who.party.pk)
    return _holding(others, who, "subject", "body")


def _other_links(who: Subject) -> QuerySet[Any]:
    others = PrivateLink.objects.filter(Q(site__in=who.sites) | Q(site=None)).exclude(party=who.party.pk)
    return _holding(others, who, "sent_to")


def _asked(who: Subject) -> QuerySet[Any]:
    """What was said to or about somebody who was asked is theirs as a whole, whether it names them or not."""
    return _holding(Attempt.objects.filter(site__in=who.sites), who, "whom")


def _replied(who: Subject) -> QuerySet[Any]:
    """Those with an answer: it and its day are there together or not at all."""
    return _asked(who).exclude(reply="")


def _reported(who: Subject) -> QuerySet[Any]:
    """Defects that somebody rang about: what stands in a report is frozen with it."""
    rows = Observation.objects.filter(site__in=who.sites, inspection=None)
    return _holding(rows, who, "reported_by", "text", "place", "ended_reason")


def _questions(who: Subject) -> QuerySet[Any]:
    return _holding(Question.objects.filter(quote__party=who.party), who, "closed_why")


def _no_reminders(who: Subject) -> QuerySet[Any]:
    return NoReminders.objects.filter(party=who.party).exclude(address="")


def _anywhere(model: Any, *fields: str) -> Callable[[Subject], QuerySet[Any]]:
    """Rows of `model`, which stand at no site, that hold what names the subject in one of `fields`."""

    def rows(who: Subject) -> QuerySet[Any]:
        return _holding(model.objects.all(), who, *fields)

    return rows


def _links(who: Subject) -> QuerySet[Any]:
    return PrivateLink.objects.filter(Q(party=who.party.pk) | Q(party=None, site__in=who.own)).exclude(sent_to="")


def _notes(who: Subject) -> QuerySet[Any]:
    rows = OccupierNote.objects.filter(site__in=who.sites)
    return _holding(rows, who, "contact", "phone", "email", "best_times", "mind")


def _remarks(who: Subject) -> QuerySet[Any]:
    return Remark.objects.filter(link__party=who.party.pk).exclude(name=who.person.instead)


def _supplies(who: Subject) -> QuerySet[Any]:
    return PaperSupply.objects.filter(party=who.party).exclude(to=who.person.instead)


def _offers(who: Subject) -> QuerySet[Any]:
    return TimesOffer.objects.filter(party=who.party).exclude(words="")


def _at(model: Any, *fields: str, by: str = "site") -> Callable[[Subject], QuerySet[Any]]:
    """Rows of `model` at the subject's sites that hold what names them in one of `fields`."""

    def rows(who: Subject) -> QuerySet[Any]:
        return _holding(model.objects.filter(**{f"{by}__in": who.sites}), who, *fields)

    return rows


def _holding(rows: QuerySet[Any], who: Subject, *fields: str) -> QuerySet[Any]:
    """Those of `rows` that name them in one of `fields`."""
    return rows.filter(naming(who, *fields))


def naming(who: Subject, *fields: str) -> Q:
    """That one of `fields` names them: by what was entered, or by their number with other spaces."""
    held = Q(pk__in=[])
    for name in fields:
        for needle in who.person.needles:
            held |= Q(**{f"{name}__icontains": needle})
        for pattern in who.person.patterns:
            held |= Q(**{f"{name}__iregex": pattern})
    return held


def _words(label: str, model: Any, *fields: str, by: str = "site") -> Place:
    """Free words at their sites, in which they may be named by the way."""
    return Place(label, _at(model, *fields, by=by), named=fields)


EMPTY_NOTE = {"contact": "", "phone": "", "email": "", "best_times": "", "mind": ""}
PLACES: tuple[Place, ...] = (
    Place(
        "E-mails to them",
        _messages,
        named=("error", "delayed_why", "returned_why"),  # a mail server's answer repeats the address
        cleared={"address": "", "subject": "erased", "body": ""},
    ),
    Place("E-mails about them", _about_them, named=("subject", "body")),
    Place("Whom private links were given to; those links end", _links, cleared={"sent_to": ""}),
    Place("Whom to ask to be let in", _notes, cleared=EMPTY_NOTE),
    # In this order: once `whom` is taken out, nobody knows any more whose replies these were.
    Place("Replies when they were asked", _replied, cleared={"reply": GONE}),
    Place("Attempts at which they were asked", _asked, named=("whom",), cleared={"said": ""}),
    Place("Attempts to get in that name them", _at(Attempt, "whom", "said", "reply"), named=("whom", "said", "reply")),
    Place("Answers about a visit", _at(Confirmation, "whom", "words", by="visit__site"), named=("whom", "words")),
    Place("What they wrote when they chose a time", _offers, cleared={"words": ""}),
    Place("Questions they asked about a quote", _remarks, named=("text",), whole=("name",)),
    Place("Whom papers were handed to", _supplies, named=("note",), whole=("to",)),
    Place("Papers that name them", _at(Paper, "named", "how", "to"), named=("named", "how", "to")),
    Place("Who asked for a report", _at(PaperRequest, "who", "how"), named=("who", "how")),
    Place(
        "With whom it was agreed to make something safe",
        _at(MadeSafe, "agreed_with", "key_holder", by="observation__site"),
        named=("agreed_with", "key_holder"),
    ),
    Place("Who declined or cancelled work", _at(WayOut, "who", "reason", by="remedial__site"), named=("who", "reason")),
    Place("What was waited for from them", _at(Waiting, "on_whom", "for_what"), named=("on_whom", "for_what")),
    Place(
        "To whom a closing letter went",
        _at(Leaving, "to_name", "to_address", "delivered_to", "reason"),
        named=("to_name", "delivered_to", "reason"),
        cleared={"to_address": ""},
    ),
    Place("Whose keys were kept", _at(SiteKey, "held_for", "what"), named=("held_for", "what")),
    Place("Why a site was handed over", _at(FormerCustomer, "reason"), named=("reason",)),
    Place(
        "Names of their units",
        lambda who: _holding(Unit.objects.filter(site__in=who.sites), who, "name"),
        named=("name",),
        one_by_one=True,
    ),
    Place("Names of their sites", lambda who: _holding(Site.objects.filter(pk__in=who.own), who, "name"), named=("name",), one_by_one=True),
    Place("Other private links that name them; those end too", _other_links, named=("sent_to",)),
    Place("Who rang about a defect", _reported, named=("reported_by", "text", "place", "ended_reason")),
    Place("That they want no reminders: by which address", _no_reminders, cleared={"address": ""}),
    _words("Words at visits", Visit, "access", "outage", "outage_with", "permits", "locks", "despite", "cancelled_reason"),
    _words("Why visits were moved", VisitMove, "reason", by="visit__site"),
    _words("How somebody who works alone was found safe", CheckIn, "found_safe", by="visit__site"),
    _words("Words at times offered", TimesOffer, "access", "outage", "despite"),
    _words("Words at times of access", AccessTime, "note"),
    _words("Words at closed days", ClosedDays, "why"),
    _words("Words at keys handed over", KeyMove, "note", by="key__site"),
    _words("Where keys hang", SiteKey, "place"),
    _words("What must be seen to first", SeeTo, "what", "met_how"),
    _words("Words at work", Remedial, "work", "see_to_first"),
    _words("How waiting ended", Waiting, "ended_how", "reference"),
    _words("Words at papers", Paper, "about", "superseded_why"),
    _words("Why a paper was not handed over after all", PaperSupply, "taken_back_why", by="paper__site"),
    _words("Notes at boards", Board, "notes"),
    Place("Why their questions about quotes were closed", _questions, named=("closed_why",)),
    Place("Who has something, and why", _anywhere(Undertaking, "reason"), named=("reason",)),
    Place("Why archives of the record were drawn", _anywhere(Bundle, "reason"), named=("reason",)),
    Place("Why something was held", _anywhere(Hold, "reason", "lifted_why"), named=("reason", "lifted_why")),
    Place("Names of long work", _anywhere(Progress, "what", "sentence"), named=("what", "sentence")),
    Place(
        "Access notes of their sites",
        lambda who: Site.objects.filter(pk__in=who.own).exclude(access_notes=""),
        cleared={"access_notes": ""},
    ),
)  # fmt: skip


def changed_rows(place: Place, who: Subject) -> Iterable[Any]:
    """The rows of `place` that change, each with its new words set and not saved yet."""
    for row in place.rows(who).order_by("pk"):
        new: dict[str, Any] = dict(place.cleared)
        new |= {name: who.person.out_of(getattr(row, name)) for name in place.named}
        new |= dict.fromkeys(place.whole, who.person.instead)
        if any(getattr(row, name) != words for name, words in new.items()):
            for name, words in new.items():
                setattr(row, name, words)
            yield row


def fields_of(place: Place) -> list[str]:
    """The columns that a place changes."""
    return [*place.cleared, *place.named, *place.whole]
