"""Quotes and their versions as drafts: begun, described, revised, thrown away. Their lines: `lines.py`."""

from collections.abc import Iterable
from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from inspections.queries.facts import facts_on
from jobsite import clock
from jobsite.firm.operations import take_number
from jobsite.ids import part_of
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.ledger.operations_documents import refuse_if_held
from jobsite.ledger.rows import alone
from jobsite.people.models import User
from jobsite.premises.models import Party, Site
from jobsite.refused import ChangedMeanwhile, Refused
from remedials.quotes.choices import LineKind, Says
from remedials.quotes.models import Line, LineRemedial, Offer, Quote, QuoteSite
from remedials.quotes.operations.ground import (
    CHANGED,
    count_on,
    held_remedials,
    held_sites,
    locked_draft,
    locked_quote,
    must_quote,
    tell,
)
from remedials.quotes.operations.lines import MOST_LINES as MOST_LINES  # noqa: PLC0414 - one door to all of drafting
from remedials.quotes.operations.lines import add_lines as add_lines  # noqa: PLC0414
from remedials.quotes.operations.lines import aim_call_outs, append, copied
from remedials.quotes.operations.lines import edit_line as edit_line  # noqa: PLC0414
from remedials.quotes.operations.lines import group_by_danger as group_by_danger  # noqa: PLC0414
from remedials.quotes.operations.lines import move_line as move_line  # noqa: PLC0414
from remedials.quotes.operations.lines import order_lines as order_lines  # noqa: PLC0414
from remedials.quotes.operations.lines import remove_lines as remove_lines  # noqa: PLC0414
from remedials.quotes.operations.reckoning import must_hold
from remedials.quotes.operations.repricing import take_prices as take_prices  # noqa: PLC0414
from remedials.quotes.queries.offering import is_consumer, standing_in, terms_of, works_of
from remedials.quotes.states import State
from remedials.quotes.verbs import Verb
from remedials.works.models import Remedial
from remedials.works.operations.ground import must_be_active, needed, person, same_form

DESCRIBED = (
    "consumer", "reverse_charge", "customer_vat_number", "cis_reportable", "end_user", "text_before", "text_after",
    "valid_until", "work_until",
)  # fmt: skip
OF_QUOTE = ("name", "owner")


@operation
def begin_quote(
    *,
    id: UUID,
    party: Party,
    name: str,
    by: Actor,
    now: datetime,
    remedials: Iterable[Remedial] = (),
    sites: Iterable[Site] = (),
    owner: User | None = None,
    variation_of: Quote | None = None,
    variation_why: str = "",
    consumer: bool | None = None,
    together: bool = False,
    like: bool = False,
) -> Offer:
    """Begin a quote to `party` with a line for each of `remedials` (see `add_lines`), by the terms of today.

    `id`: the quote's, which the form made; sending it twice makes one. `variation_of`: the quote on whose job it was
    found; `variation_why` says what and by whom. `consumer` None: by what the party is.
    Raises NotAllowed, and Refused for an archived site or party, no words, a remedial that another open quote offers.
    """
    must_quote(by)
    remedials = list(remedials)
    site_keys = {r.site_id for r in remedials} | {site.pk for site in sites}
    held_sites(site_keys)
    alone(id)
    if made := Quote.objects.filter(pk=id).first():
        offer = same_form(made, made.party_id == party.pk).offers.order_by("number").first()
        return offer or _no_more(made)
    found = held_remedials(r.pk for r in remedials)
    _may_begin(party, site_keys, owner, variation_of, variation_why)
    quote = Quote.objects.create(
        id=id,
        number=take_number("quote"),
        party=party,
        name=needed(name, "Say what the quote is about.", field="name"),
        owner=owner or person(by),
        variation_of=variation_of,
        variation_why=variation_why.strip(),
        made_by=person(by),
        made_at=now,
    )
    QuoteSite.objects.bulk_create(QuoteSite(quote=quote, site_id=key) for key in sorted(site_keys))
    offer = _first_version(quote, consumer=consumer, by=by, now=now)
    if found:
        works = sorted(works_of(found), key=lambda work: (work.rank, work.remedial.number))
        append(offer, works, together=together, like=like, now=now)
    count_on(offer)
    facts = {
        "number": quote.number,
        "party": str(party.pk),
        "sites": sorted(str(key) for key in site_keys),
        "remedials": sorted(str(r.pk) for r in found),
        "variation_of": str(variation_of.pk) if variation_of else None,
    }
    tell(Verb.BEGUN, quote, by=by, now=now, facts=facts, words={"name": quote.name, "why": quote.variation_why})
    return offer


def _no_more(quote: Quote) -> Offer:
    raise Refused(f"Quote {quote.number} was made by this form and thrown away: open the form again.")


def _may_begin(party: Party, sites: set[UUID], owner: User | None, variation_of: Quote | None, why: str) -> None:
    """Raises Refused where no such quote may be begun."""
    if not sites:
        raise Refused("A quote is about a site: choose one.", field="sites")
    if Party.objects.filter(pk=party.pk, archived_at__isnull=False).exists():
        raise Refused(f"{party.name} is archived: bring them back first.", field="party")
    must_be_active(owner)
    if variation_of is not None and not why.strip():
        raise Refused("Say what was found on site, and by whom.", field="variation_why")


def _first_version(quote: Quote, *, consumer: bool | None, by: Actor, now: datetime) -> Offer:
    """The first draft, with the texts and the validity of the terms of today."""
    today = clock.local_day(now)
    if consumer is None:
        consumer = is_consumer(quote.party, on=today)
    terms = terms_of(today)
    return Offer.objects.create(
        id=part_of(quote.pk, "version 1"),
        quote=quote,
        consumer=consumer,
        vat_registered=terms.vat_registered if terms else True,
        text_before=terms.text_before if terms else "",
        text_after=terms.text_after if terms else "",
        valid_until=today + timedelta(days=terms.valid_days if terms else 30),
        made_by=person(by),
        made_at=now,
        version=0,  # counted on once its lines stand
    )


@operation
def describe_offer(offer: Offer, *, version: int, by: Actor, now: datetime, **fields: Any) -> Offer:
    """Change a draft's particulars; `fields` are those of DESCRIBED and, of its quote, name and owner.

    Raises NotAllowed, ChangedMeanwhile, Refused; a wrong field name is a mistake in our code (TypeError).
    """
    if unknown := set(fields) - set(DESCRIBED) - set(OF_QUOTE):
        raise TypeError(f"not to be described: {sorted(unknown)}")
    must_quote(by)
    offer = locked_draft(offer)
    quote = offer.quote
    if "name" in fields:
        fields["name"] = needed(fields["name"], "Say what the quote is about.", field="name")
    must_be_active(fields.get("owner"))
    mine = {n: v for n, v in fields.items() if n in DESCRIBED and getattr(offer, n) != v}
    its = {n: v for n, v in fields.items() if n in OF_QUOTE and getattr(quote, n) != v}
    if not mine and not its:
        return offer
    if offer.version != version:
        raise ChangedMeanwhile(CHANGED, theirs=offer)
    for name, value in mine.items():
        setattr(offer, name, value)
    must_hold(offer)
    for name, value in its.items():
        setattr(quote, name, value)
    quote.save(update_fields=list(its)) if its else None
    count_on(offer, **mine)
    words = {n: v for n, v in (mine | its).items() if isinstance(v, str) and n != "customer_vat_number"}
    tell(
        Verb.DESCRIBED, quote, by=by, now=now,
        facts={"version": offer.number, "changed": sorted(mine | its)}, words=words,
    )  # fmt: skip
    return offer


@operation
def revise_quote(quote: Quote, *, id: UUID, by: Actor, now: datetime) -> Offer:
    """Begin the next version from the last that was sent; that one stays in force until the next is sent.

    Lines go on with their keys: unanswered and refused ones. Those accepted stay with the version in which they were,
    and so do those that another was chosen instead of. `id`: the version's, which the form made.
    Raises NotAllowed, and Refused where a draft exists already, nothing was sent yet, or nothing is left to offer.
    """
    must_quote(by)
    held_sites(quote.at_sites.values_list("site", flat=True))
    offered = LineRemedial.objects.filter(line__offer__quote=quote).values_list("remedial", flat=True)
    held_remedials(offered)
    quote = locked_quote(quote.pk)
    if made := Offer.objects.filter(pk=id).first():
        return same_form(made, made.quote_id == quote.pk)
    last = quote.offers.order_by("-number").first()
    if last is None or last.state == State.DRAFT:
        raise Refused(f"{last or quote} is still a draft: change that.")
    last.quote = quote
    lines = _lines_to_go_on(last)
    if not any(line.kind == LineKind.WORK for line in lines):
        raise Refused(f"Nothing of version {last.number} is left to offer. What else was found is a variation.")
    offer = _next_version(last, id=id, by=by, now=now)
    _carry_on(lines, offer, now=now)
    facts = {"version": offer.number, "from": last.number, "lines": len(lines)}
    tell(Verb.REVISED, quote, by=by, now=now, facts=facts)
    return offer


def _lines_to_go_on(last: Offer) -> list[Line]:
    """The lines of the last version that are still to be answered, without those that another quote offers meanwhile."""
    settled = last.lines.filter(answers__stands=True, answers__says__in=[Says.YES, Says.NOT_CHOSEN])
    links = LineRemedial.objects.filter(line__offer=last)
    elsewhere = standing_in([link.remedial_id for link in links], besides=last.quote_id)
    gone = set(settled.values_list("pk", flat=True))
    gone |= {link.line_id for link in links if link.remedial_id in elsewhere}
    return [line for line in last.lines.select_related("site") if line.pk not in gone]


def _next_version(last: Offer, *, id: UUID, by: Actor, now: datetime) -> Offer:
    today = clock.local_day(now)
    terms = terms_of(today)
    kept = {name: getattr(last, name) for name in DESCRIBED if name != "valid_until"}
    return Offer.objects.create(
        id=id,
        quote=last.quote,
        number=last.number + 1,
        vat_registered=terms.vat_registered if terms else last.vat_registered,
        valid_until=today + timedelta(days=terms.valid_days if terms else 30),
        made_by=person(by),
        made_at=now,
        **kept,
    )


def _carry_on(lines: list[Line], offer: Offer, *, now: datetime) -> None:
    """Copy `lines` into `offer` with the remedials they offer; what they need and is not among them was accepted.

    A call-out whose work does not go on does not go on either.
    """
    keys, facts = {line.key for line in lines}, facts_on(clock.local_day(now))
    new = {line.pk: copied(line, offer, needs=_still_needed(line, keys), facts=facts, now=now) for line in lines}
    Line.objects.bulk_create(new.values())
    links = LineRemedial.objects.filter(line__in=list(new))
    LineRemedial.objects.bulk_create(
        LineRemedial(line=new[link.line_id], remedial_id=link.remedial_id) for link in links
    )
    aim_call_outs(offer)


def _still_needed(line: Line, keys: set[UUID]) -> list[UUID]:
    """Of a call-out all, since it is aimed anew: one that named lines must not turn into one for any work."""
    return line.needs if line.kind == LineKind.CALL_OUT else [key for key in line.needs if key in keys]


@operation
def drop_draft(offer: Offer, *, by: Actor, now: datetime) -> Quote | None:
    """Throw a draft away: the quote as it was before, None where it was its first version and all of it is gone.

    Its number is never used again. Raises NotAllowed, and Refused once it was sent.
    """
    must_quote(by)
    offer = locked_draft(offer)
    quote, alone_in_it = offer.quote, offer.number == 1
    if alone_in_it and (variation := quote.variations.first()):
        raise Refused(f"{variation} is a variation of this quote: it stays.")
    for site in quote.sites.order_by("pk"):
        refuse_if_held(site.pk)
    facts = {"number": quote.number, "version": offer.number, "lines": offer.lines.count()}
    tell(Verb.DROPPED, quote, by=by, now=now, facts=facts, words={"name": quote.name})
    offer.delete()
    if not alone_in_it:
        return quote
    quote.delete()
    return None
