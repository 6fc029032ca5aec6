"""What is kept about one customer: what would be erased, what stays and why, what must be settled first."""

from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Q, QuerySet

from inspections.models import DangerNotice, Inspection, PaperDocument
from jobsite.addresses import address
from jobsite.ledger.documents import holds_on, with_what_went_over
from jobsite.ledger.models import Document, Entry, Words
from jobsite.ledger.rules import FIRM_CHAIN
from jobsite.messages.models import Message
from jobsite.premises.models import Party, Site
from jobsite.words import when
from remedials.due.models import Leaving
from remedials.quotes.models import Answer, Offer
from remedials.quotes.states import State
from remedials.status.models import Bundle
from remedials.status.privacy.naming import Person
from remedials.status.privacy.places import PLACES, Subject, changed_rows, naming
from remedials.visits.models import Attempt
from remedials.works.models import Approval, Remedial
from remedials.works.states import Stage

WORDS = "Words beside the record that name them"
ARCHIVES, MOST_NAMED = ("bundle", "assessor"), 20
OPEN_WORK = (Stage.APPROVED, Stage.BOOKED)


def subject_of(party: Party, *, instead: str) -> Subject:
    """Whose data: with all sites where they are or were something. Two statements."""
    own = frozenset(party.sites.values_list("pk", flat=True))
    others = Site.objects.filter(Q(former_customers__party=party) | Q(units__parties__party=party))
    person = Person(party.name, party.email, party.phone, party.address, instead, titles=not party.organisation)
    return Subject(party, person, own | frozenset(others.values_list("pk", flat=True)), own)


def words_naming(who: Subject) -> QuerySet[Words]:
    """Words that name them beside the ledger of their sites, of what went over to those, and of the firm, and all of their own."""
    chains = Entry.objects.filter(chain__in=[*with_what_went_over(who.sites), FIRM_CHAIN])
    own = Entry.objects.filter(subject=who.party.pk)
    return Words.objects.filter(
        Q(entry__in=own.values("pk")) | Q(naming(who, "text"), entry__in=chains.values("pk"))
    )  # fmt: skip


def erased_of(who: Subject) -> dict[str, int]:
    """How many rows of each kind would change, by label; those with none left out."""
    found = {place.label: sum(1 for _ in changed_rows(place, who)) for place in PLACES}
    found[WORDS] = words_naming(who).count()
    return {label: rows for label, rows in found.items() if rows}


def stays_of(who: Subject) -> list[dict[str, Any]]:
    """What stays although it may name them: kind, how many, why. Twelve statements, and some for what went over."""
    party, sites = who.party, who.sites
    claims = "A claim can be brought for years: who was told what must be shown (Article 17(3)(e), from memory)."
    vat = "VAT records are kept six years, and a contract can be argued about for as long (Article 17(3)(b), from memory)."
    safety = "It says how safe an installation is, for whoever lives there next; it is frozen, and a name that stands in its text stays."
    given = "Checked by its bytes: one with a name taken out would no longer be the one that was given."
    quotes = Offer.objects.filter(quote__party=party).exclude(state=State.DRAFT)
    archives = _archives(who)
    named = [*archives[:MOST_NAMED], *([f"{len(archives) - MOST_NAMED} more"] if len(archives) > MOST_NAMED else [])]
    drawn = f"{given} Whoever of the firm may draw one can still take these away: {'; '.join(named)}."
    others = Document.objects.filter(Q(site__in=sites) | Q(party=party.pk))
    rows = [
        ("Reports of their sites", Inspection.objects.filter(site__in=sites).count(), safety),
        ("Danger notices at their sites", DangerNotice.objects.filter(site__in=sites).count(), claims),
        ("Quotes that were sent to them", quotes.count(), vat),
        ("What they answered to quotes", Answer.objects.filter(party=party).count(), vat),
        ("Their approvals of work", Approval.objects.filter(party=party).count(), vat),
        ("Documents made for papers", PaperDocument.objects.filter(paper__site__in=sites).count(), given),
        ("Closing letters, with what they list", Leaving.objects.filter(site__in=sites).count(), given),
        (
            "Letters that asked to be let in",
            Attempt.objects.filter(site__in=sites, letter__isnull=False).count(),
            given,
        ),
        ("Archives drawn before, which may name them", len(archives), drawn),
        ("Other documents handed out", others.exclude(kind__in=ARCHIVES).count(), given),
        ("Addresses of their sites", len(who.own), "An installation must be found; the record belongs to the place."),
    ]
    return [{"label": label, "rows": count, "why": why} for label, count, why in rows if count]


def _archives(who: Subject) -> list[str]:
    """The archives that were drawn of their sites, or with work there, the latest first: by number, as a name may be theirs."""
    jobs = list(Remedial.objects.filter(site__in=who.sites).values_list("number", flat=True))
    theirs = Q(site__in=with_what_went_over(who.sites)) | Q(jobs__overlap=jobs) | Q(party=who.party)
    rows = Bundle.objects.filter(theirs).exclude(document=None).select_related("document").order_by("-asked_at", "-pk")
    return [f"{row.document.title}, drawn {when(row.document.made_at)}" for row in rows if row.document]


def blocks_of(party: Party, sites: frozenset[UUID], *, today: date) -> list[dict[str, str]]:
    """What must be settled before anything is erased, each with where. Seven statements at most."""
    found = [_block(f"{site.name} is still theirs: hand it over, or end your part there.", "desk:site", site.pk)
             for site in party.sites.current().order_by("sort", "pk")]  # fmt: skip
    roles = party.roles.filter(Q(until__isnull=True) | Q(until__gte=today), unit__site__archived_at=None)
    found += [
        _block(f"{role.get_role_display()} at {role.unit.site.name}: end that first.", "desk:site", role.unit.site_id)
        for role in roles.select_related("unit__site").order_by("pk")
    ]
    found += [
        _block(
            f"Quote {offer.quote.number} is {'with them: withdraw it, or wait for the answer' if offer.state == State.SENT else 'a draft: send it, or drop it'}.",
            "quotes:quote", offer.quote_id,
        )
        for offer in Offer.objects.filter(quote__party=party, state__in=(State.SENT, State.DRAFT)).select_related("quote")
    ]  # fmt: skip
    works = Remedial.objects.filter(approvals__party=party, approvals__taken_back_at=None, stage__in=OPEN_WORK)
    found += [
        _block(f"Remedial {work.number}, which they approved, is not done.", "desk:remedial", work.pk)
        for work in works.distinct().order_by("number")
    ]
    if Message.objects.filter(to_id=party.pk, state=Message.State.SENDING).exists():
        found.append({"words": "An e-mail to them is being sent just now: try again in a minute.", "href": ""})
    return found + held_of(sites)


def held_of(sites: frozenset[UUID]) -> list[dict[str, str]]:
    """The holds that stand in the way. One statement for the firm's, one for each site's at most."""
    found = {hold.pk: hold for site in [None, *sorted(sites)] for hold in holds_on(site)}
    return [
        {"words": f"Held, and nothing may be erased: {hold.reason}", "href": address("proof:holds")}
        for hold in found.values()
    ]


def _block(words: str, name: str, key: Any) -> dict[str, str]:
    return {"words": words, "href": address(name, key)}
