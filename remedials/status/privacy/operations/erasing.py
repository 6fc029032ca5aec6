"""A customer's personal data are erased where the law allows; the safety record stays, without their name."""

from collections.abc import Collection
from datetime import date, datetime
from uuid import UUID

from django.db.models import Q

from jobsite import clock
from jobsite.firm.operations import take_number
from jobsite.ledger.operations import operation, record
from jobsite.ledger.operations_documents import refuse_if_held
from jobsite.ledger.operations_once import empty_answers
from jobsite.ledger.rows import alone, locked, made_before
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink, User
from jobsite.people.operations import withdraw_link
from jobsite.people.rights import Right
from jobsite.premises.models import Party, Site
from jobsite.refused import NotAllowed, Refused
from remedials.status.models import Erasure
from remedials.status.privacy.places import PLACES, Place, Subject, changed_rows, fields_of, naming
from remedials.status.privacy.queries.about import WORDS, blocks_of, stays_of, subject_of, words_naming
from remedials.status.verbs import Verb

NOT_YOURS = "Only a manager may erase a customer's data or hand them over."
WHYS = ("asked", "objected", "not-needed")
AT_ONCE = 500
DROPPED = "The customer's data were erased."


@operation
def erase_customer(party: Party, *, id: UUID, asked_on: date, why: str, by: User, now: datetime) -> Erasure:
    """Erase what names `party`, wherever the law lets it go, for good; what stays is noted with its reason.

    1. Their sites are locked in order, then they. 2. What is held, or not settled, refuses all of it. 3. Every place of the
    table loses what names them; messages that wait are dropped, private links end. 4. Words beside the ledger that name
    them go: the chain keeps their salted digests, and holds; so do answers kept for requests sent again. 5. They are "Erased customer 1001" from now on, and archived.
    The same form again: what it did. Raises NotAllowed, Refused.
    """
    if not by.may(Right.KEEP_PRIVACY):
        raise NotAllowed(NOT_YOURS)
    alone(id)
    if made := made_before(Erasure, id, party_id=party.pk):
        return made
    if why not in WHYS:
        raise Refused("Say why.", field="why")
    today = clock.local_day(now)
    if asked_on > today:
        raise Refused("That day is still to come.", field="asked_on")
    sites = subject_of(party, instead="").sites
    list(Site.objects.select_for_update(of=("self",)).filter(pk__in=sites).order_by("pk"))
    party = locked(party)
    if party.erased_at:
        raise Refused("The data of this customer were erased already.")
    refuse_if_held(None)
    for site in sorted(sites):
        refuse_if_held(site)
    if blocks := blocks_of(party, sites, today=today):
        raise Refused("This must be settled first: " + " ".join(block["words"] for block in blocks))
    who = subject_of(party, instead=f"Erased customer {take_number('erased customer')}")
    kept = stays_of(who)
    _end_what_is_open(who, by=by, now=now)
    counts = {place.label: _take_out(place, who) for place in PLACES}
    counts[WORDS] = words_naming(who).delete()[0]
    _empty_answers(party, sites)
    _forget(party, who.person.instead, now=now)
    erased = {"why": why, "rows": {label: rows for label, rows in counts.items() if rows}}
    row = Erasure.objects.create(id=id, party=party, asked_on=asked_on, erased=erased, kept=kept, by=by, at=now)
    facts = {"erasure": str(row.pk), "asked_on": asked_on.isoformat(), "why": why, "rows": sum(counts.values())}
    record(Verb.ERASED, site=None, subject=party, by=by, now=now, facts=facts)
    return row


def _end_what_is_open(who: Subject, *, by: User, now: datetime) -> None:
    """Messages to them that wait are dropped.

    Links that were given to them end, those in whose words they are named, and those to their sites that say nobody's key.
    """
    Message.objects.filter(to_id=who.party.pk, state=Message.State.WAITING).update(
        state=Message.State.DROPPED, settled_at=now, error=DROPPED
    )
    theirs = Q(party=who.party.pk) | Q(party=None, site__in=who.own)
    theirs |= Q(naming(who, "sent_to"), site__in=who.sites)
    for link in PrivateLink.objects.filter(theirs, withdrawn_at=None, expires_at__gt=now).order_by("pk"):
        withdraw_link(link, by=by, now=now)


def _empty_answers(party: Party, sites: Collection[UUID]) -> None:
    """Answers that are kept for requests sent again lose their words, where they are about `party` or their sites."""
    told = [text for text in (party.name, party.email, party.phone) if text]
    empty_answers([str(party.pk), *map(str, sorted(sites)), *told])


def _take_out(place: Place, who: Subject) -> int:
    rows = list(changed_rows(place, who))
    for row in rows if place.one_by_one else ():
        row.save(update_fields=fields_of(place))
    if rows and not place.one_by_one:
        type(rows[0]).objects.bulk_update(rows, fields_of(place), batch_size=AT_ONCE)
    return len(rows)


def _forget(party: Party, instead: str, *, now: datetime) -> None:
    party.name, party.email, party.phone, party.address = instead, "", "", ""
    party.erased_at, party.version = now, party.version + 1
    party.archived_at = party.archived_at or now
    party.save(update_fields=["name", "email", "phone", "address", "erased_at", "archived_at", "version"])
