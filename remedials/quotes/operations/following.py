"""Following up what is with the customer: the answer chased, somebody else taking it on, links handed over."""

from datetime import date, datetime
from uuid import UUID

from jobsite.ledger.operations import operation
from jobsite.ledger.queries import told_by_form
from jobsite.ledger.rows import made_before
from jobsite.people.models import PrivateLink, User
from jobsite.people.operations import link_going_out
from jobsite.refused import Refused
from remedials.quotes.models import Offer, Quote
from remedials.quotes.operations.ground import held_remedials, held_sites, locked_quote, must_quote, tell
from remedials.quotes.operations.mailing import link_ends
from remedials.quotes.states import State
from remedials.quotes.verbs import Verb
from remedials.works.models import Remedial
from remedials.works.operations import take_on
from remedials.works.operations.ground import must_be_active, needed, not_in_the_past
from remedials.works.states import Stage


@operation
def chase_quote(quote: Quote, *, id: UUID, heard: str, chase_on: date, by: User, now: datetime) -> Quote:
    """Note what was heard when the answer to a quote was chased, and when it is chased next; its remedials go along.

    The same form (`id`) again: nothing more happens. Raises NotAllowed, Refused where nothing of it is with the customer.
    """
    quote, remedials = _held(quote, by)
    if told_by_form(Verb.CHASED, quote, id):
        return quote
    _must_be_out(quote)
    heard = needed(heard, "Say what was heard.", field="heard")
    not_in_the_past(chase_on, now=now, field="chase_on")
    quote.chase_on = chase_on
    quote.save(update_fields=["chase_on"])
    facts = {"form": str(id), "chase_on": chase_on.isoformat()}
    tell(Verb.CHASED, quote, by=by, now=now, facts=facts, words={"heard": heard})
    _pass_to(remedials, quote, by=by, now=now)
    return quote


@operation
def take_on_quote(quote: Quote, *, owner: User, chase_on: date, by: User, now: datetime) -> Quote:
    """Give a quote that is with the customer to `owner`, who chases its answer on `chase_on`; its remedials go along.

    So do its open questions. Where nothing but those is left of it, `chase_on` is the day to reply by.
    The same again: nothing more happens. Raises NotAllowed, Refused.
    """
    quote, remedials = _held(quote, by)
    questions = list(quote.questions.filter(open=True).select_for_update(of=("self",)).order_by("pk"))
    out = quote.offers.filter(state=State.SENT).exists()
    if not questions:
        _must_be_out(quote)
    must_be_active(owner)
    must_quote(owner)
    not_in_the_past(chase_on, now=now, field="chase_on")
    days = {quote.chase_on} if out else {question.reply_by for question in questions}
    if {quote.owner_id, *(question.owner_id for question in questions)} == {owner.pk} and days == {chase_on}:
        return quote
    quote.owner, quote.chase_on = owner, chase_on if out else None
    quote.save(update_fields=["owner", "chase_on"])
    for question in questions:
        question.owner, question.reply_by = owner, question.reply_by if out else chase_on
        question.save(update_fields=["owner", "reply_by"])
    facts = {"owner": str(owner.pk), "chase_on": chase_on.isoformat(), "questions": len(questions)}
    tell(Verb.TAKEN_ON, quote, by=by, now=now, facts=facts)
    if out:
        _pass_to(remedials, quote, by=by, now=now)
    return quote


def _held(quote: Quote, by: User) -> tuple[Quote, list[Remedial]]:
    """The quote and what it has with the customer, locked. Raises NotAllowed."""
    must_quote(by)
    held_sites(quote.at_sites.values_list("site", flat=True))
    offered = Remedial.objects.filter(offered_in__line__offer__quote=quote, offered_in__line__offer__state=State.SENT)
    remedials = held_remedials(offered.values_list("pk", flat=True))
    return locked_quote(quote.pk), [remedial for remedial in remedials if remedial.stage == Stage.QUOTED]


def _must_be_out(quote: Quote) -> Offer:
    standing = quote.offers.filter(state=State.SENT).first()
    if standing is None:
        raise Refused(f"Nothing of quote {quote.number} is with the customer: there is no answer to chase.")
    return standing


def _pass_to(remedials: list[Remedial], quote: Quote, *, by: User, now: datetime) -> None:
    """The remedials' own rows of the due list say the same as the quote."""
    if quote.chase_on is None:
        raise ValueError("a quote that is with the customer has a day to chase its answer")
    for remedial in remedials:
        take_on(remedial, owner=quote.owner, step_by=quote.chase_on, by=by, now=now)


@operation
def make_quote_link(quote: Quote, *, id: UUID, given_to: str, by: User, now: datetime) -> tuple[PrivateLink, str]:
    """Make a private link to hand over, for whoever got the quote printed; its token is shown once and kept nowhere.

    The same form (`id`) again answers with an empty token. Raises NotAllowed, Refused where nothing was sent.
    """
    must_quote(by)
    quote = locked_quote(quote.pk)
    site = quote.at_sites.order_by("site").values_list("site", flat=True).first()
    if site is None:
        raise Refused("This quote names no site.")
    if made := made_before(PrivateLink, id, thing=quote.pk):
        return made, ""
    given_to = needed(given_to, "Say to whom it is given.", field="given_to")
    offer = quote.offers.exclude(state=State.DRAFT).order_by("-number").first()
    if offer is None:
        raise Refused("Nothing was sent yet: a link would open an empty page.")
    ends = link_ends(offer)
    if ends <= now:
        raise Refused("This quote lapsed long ago: make its next version first.")
    return link_going_out(
        id=id, purpose=PrivateLink.Purpose.QUOTE, site=site, sent_to=given_to, expires_at=ends, by=by, now=now,
        party=quote.party_id, thing=quote.pk,
    )  # fmt: skip
