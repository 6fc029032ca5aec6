"""The page of a quote: who, state, versions, lines with their answers, what was done, what comes next."""

from collections.abc import Callable
from datetime import date, datetime
from typing import Any

from django.db.models import Prefetch
from django.urls import NoReverseMatch

from jobsite import clock
from jobsite.addresses import address
from jobsite.ids import new_id
from jobsite.ledger.models import Entry
from jobsite.marks import code_mark
from jobsite.people.models import User
from jobsite.words import day, joined, money, when
from remedials.quotes.models import LineAnswer, Offer, Quote
from remedials.quotes.queries.answered import answered_part
from remedials.quotes.queries.sending import sending_part
from remedials.quotes.queries.sums import comes_to
from remedials.quotes.rules.vat import percent_words
from remedials.quotes.states import STANDING_WORDS, Standing, State
from remedials.quotes.verbs import Verb

Part = Callable[[Quote, Offer, User, datetime], dict[str, Any]]
# What other rooms add to the page: each gives its own names (`sending`, `answers`, `questions` …), which
# `_sending.html`, `_answers.html` and `_questions.html` show, and may give `acts`, buttons that are added to the others.
PARTS: list[Part] = [sending_part, answered_part]
MOST_TOLD = 100


def address_of(name: str, key: object = None, **query: object) -> str:
    """The address of a page that another room has; "" where there is none."""
    try:
        return address(name, key, **query)
    except NoReverseMatch:
        return ""


def quote_page(quote: Quote, user: User, *, now: datetime, version: int | None = None) -> dict[str, Any]:
    """All that the page shows, of the version `version`, else of the one that counts now. Bounded statements."""
    today = clock.local_day(now)
    offers: list[Any] = list(
        Offer.objects.filter(quote=quote).with_standing(today).select_related("sent_by").order_by("-number")
    )
    offer = next((o for o in offers if o.number == version), None) or current_of(offers)
    for one in offers:
        one.quote = quote
    answers = LineAnswer.objects.filter(stands=True).select_related("answer")
    rows = list(
        offer.lines.select_related("site").prefetch_related(
            Prefetch("answers", answers, to_attr="standing"), "offers_remedials__remedial"
        )
    )
    sites = list(quote.sites.order_by("sort", "pk"))
    found: dict[str, Any] = {
        "row": quote,
        "offer": offer,
        "number": str(quote.number),
        "version": str(offer.number),
        "title": f"Quote {quote.number}, version {offer.number}",
        "name": quote.name,
        "party": quote.party.name,
        "party_address": address("premises:party", quote.party_id),
        "sites": [{"name": site.name, "address": address("desk:site", site.pk)} for site in sites],
        "state": STANDING_WORDS[Standing(offer.standing)],
        "owner": str(quote.owner),
        "next": _next(quote, offer, today),
        "particulars": _particulars(offer),
        "lines": [_line(line, several=len(sites) > 1) for line in rows],
        "totals": comes_to(rows, reverse_charge=offer.reverse_charge),
        "versions": [_version(one, offer) for one in offers],
        "variation": _variation(quote),
        "variations": [_named(one) for one in quote.variations.order_by("number")],
        "differs": address("quotes:difference", quote.pk) if len(offers) > 1 else "",
        "history": history_of(quote),
        "acts": _acts(quote, offers, offer),
    }
    for part in PARTS:
        more = part(quote, offer, user, now)
        found["acts"] += more.pop("acts", [])
        found |= more
    return found


def current_of(offers: list[Any]) -> Any:
    """Of the versions, newest first: the one the customer has, else the newest."""
    return next((one for one in offers if one.state == State.SENT), offers[0])


def _next(quote: Quote, offer: Offer, today: date) -> str:
    """What comes next, and who does it."""
    if offer.state == State.DRAFT:
        return f"To be finished and sent by {quote.owner}."
    if offer.state == State.SENT and offer.valid_until and offer.valid_until < today:
        return f"It lapsed on {day(offer.valid_until)}: make the next version, or withdraw it. {quote.owner} has it."
    if offer.state == State.SENT:
        chase = f" {quote.owner} chases it on {day(quote.chase_on)}." if quote.chase_on else ""
        return f"The customer answers, until {day(offer.valid_until)}.{chase}"
    if offer.state == State.ANSWERED:
        return "What was accepted is approved and can be booked."
    return "Nothing: it is at an end."


def _particulars(offer: Offer) -> list[tuple[str, str]]:
    rows = [
        ("For", "a consumer: sums with VAT first" if offer.consumer else "a business: sums without VAT first"),
        ("Valid until", day(offer.valid_until) or "not said yet"),
        ("Work expected by", day(offer.work_until)),
        ("Reverse charge", f"yes, customer's VAT number {offer.customer_vat_number}" if offer.reverse_charge else ""),
        ("Ended", joined(when(offer.ended_at), offer.end_reason)),
    ]
    return [(name, words) for name, words in rows if words]


def _line(line: Any, *, several: bool) -> dict[str, Any]:
    said = line.standing[0] if line.standing else None
    return {
        "id": str(line.pk),
        "key": str(line.key),
        "row": line,
        "mark": code_mark(line.code) if line.code else "",
        "words": line.words,
        "danger": line.danger,
        "site": line.site.name if several and line.site else "",
        "notes": notes_of(line),
        "price": money(line.price),
        "rate": percent_words(line.rate),
        "vat": money(line.vat),
        "remedials": [
            {"number": str(r.number), "address": address("desk:remedial", r.pk)}
            for r in (row.remedial for row in line.offers_remedials.all())
        ],
        "said": said.get_says_display() if said else "",
        "why": joined(said.get_why_not_display() if said.why_not else "", said.words) if said else "",
    }


def notes_of(line: Any) -> list[str]:
    """What else is said of a line: certainty, optional, either-or, visits."""
    return list(
        filter(
            None,
            [
                line.get_certainty_display() if line.certainty != "fixed" else "",
                "optional" if line.optional else "",
                f"either-or {line.either}" if line.either else "",
                f"visits: {line.visits}" if line.visits else "",
            ],
        )
    )


def _version(one: Any, shown: Offer) -> dict[str, Any]:
    return {
        "words": f"Version {one.number}",
        "state": STANDING_WORDS[Standing(one.standing)],
        "on": f"sent {when(one.sent_at)}" if one.sent_at else f"made {when(one.made_at)}",
        "address": address("quotes:quote", one.quote_id, version=one.number),
        "shown": one.pk == shown.pk,
    }


def _named(quote: Quote) -> dict[str, str]:
    return {"words": f"Quote {quote.number}: {quote.name}", "address": address("quotes:quote", quote.pk)}


def _variation(quote: Quote) -> dict[str, str] | None:
    return _named(quote.variation_of) | {"why": quote.variation_why} if quote.variation_of else None


def history_of(quote: Quote) -> list[dict[str, str]]:
    """What was done to the quote, newest first, once where it stands in several sites' chains. Two statements."""
    words = dict(Verb.choices)
    seen, entries = set(), []
    for entry in Entry.objects.filter(subject=quote.pk).order_by("-at", "-number")[:MOST_TOLD]:
        if (entry.operation, entry.verb) not in seen:
            seen.add((entry.operation, entry.verb))
            entries.append(entry)
    people = dict(User.objects.filter(pk__in={e.actor for e in entries}).values_list("pk", "name"))
    kinds = {"link": "the customer, on the link", "clock": "the clock"}
    return [
        {
            "when": when(e.at),
            "who": people.get(e.actor) or kinds.get(e.actor_kind, ""),
            "what": words.get(e.verb, e.verb),
            "version": f"version {e.facts['version']}" if "version" in e.facts else "",
        }
        for e in entries
    ]


def _acts(quote: Quote, offers: list[Offer], offer: Offer) -> list[dict[str, Any]]:
    """The buttons: `href` leads to a page, `post` does it at once (with the key of what it makes in `id`)."""
    newest = offers[0]
    if newest.state == State.DRAFT:
        label = f"Go on with version {newest.number}" if newest.number > 1 else "Go on building"
        shown = [{"label": label, "href": address("quotes:build", quote.pk), "main": offer.state == State.DRAFT}]
        return [*shown, {"label": "Throw the draft away", "href": address("quotes:drop", quote.pk)}]
    return [
        {"label": "Make the next version", "post": address("quotes:revise", quote.pk), "id": str(new_id())},
        {"label": "Found on site: a variation", "href": address("quotes:variation", quote.pk)},
    ]
