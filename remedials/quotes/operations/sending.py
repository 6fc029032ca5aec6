"""Sending a version of a quote: its document set, kept byte for byte, and from then on never changed."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.core.validators import validate_email
from django.db import transaction

from jobsite import clock
from jobsite.documents import PDF, Made
from jobsite.ledger.files import store_file
from jobsite.ledger.operations import operation
from jobsite.ledger.queries import heads, told_by_form
from jobsite.ledger.rules import Head
from jobsite.people.models import User
from jobsite.premises.models import Site
from jobsite.premises.operations.common import party_in_use
from jobsite.refused import ChangedMeanwhile, Refused
from jobsite.words import day as in_words
from jobsite.words import many
from remedials.quotes.choices import LineKind, SentHow
from remedials.quotes.models import LineRemedial, Offer, Quote
from remedials.quotes.operations.ground import (
    CHANGED,
    count_on,
    held_sites,
    held_work,
    locked_offer,
    must_quote,
    tell,
)
from remedials.quotes.operations.lines import aims
from remedials.quotes.operations.mailing import write_offer_message, write_withdrawal_message
from remedials.quotes.operations.reckoning import must_hold, reckon_anew
from remedials.quotes.queries.document import quote_document
from remedials.quotes.queries.premises import holds_role
from remedials.quotes.queries.said import offer_as_said, terms_in_force
from remedials.quotes.queries.terms import terms_on
from remedials.quotes.states import PASSIVE, WORDS, Move, State, after
from remedials.quotes.verbs import Verb
from remedials.works.models import Remedial
from remedials.works.operations import mark_quoted, mark_to_price_again
from remedials.works.states import WORDS as STAGE_WORDS
from remedials.works.states import Stage

TRIES = 2
CHANGING = "This quote was changed while its document was made: look at it, and send it once more."
RECKONED = (
    "The rate of VAT on {lines} is another today than when it was written. It was reckoned anew: look at the totals, "
    "then send it."
)
QUOTABLE = frozenset({Stage.TO_PRICE, Stage.QUOTED, Stage.DECLINED})


@dataclass(frozen=True)
class ToSend:
    """All that a version says, gathered under the locks. The ledger's heads may go on meanwhile."""

    said: Mapping[str, Any]
    heads: tuple[Head, ...] = field(default=(), compare=False)


def send_offer(offer: Offer, *, id: UUID, how: str, to: str, version: int | None, by: User, now: datetime) -> Offer:
    """Send the draft `offer` by e-mail to the address `to`, or printed, handed to whom `to` names. It is frozen then.

    A version sent before is superseded by it. The remedials that it offers are quoted, with the quote's owner and the
    day on which the answer is chased; those that it offers no longer are to price again. `version`: that of the draft
    that the person saw. The same form (`id`) again: nothing more happens.

    VAT is reckoned by the rates of the day it is sent: where that changes a line it is kept, said, and nothing sent.
    The document takes longer than anybody's save may wait: 1. gather under the locks, 2. set without them, 3. lock again,
    and keep it only where the record still says the same; else begin again. Of two who send at once one is first, and
    the other is told so. Raises NotAllowed, ChangedMeanwhile, Refused.
    """
    if anew := reckon_anew(offer, by=by, now=now):
        raise Refused(RECKONED.format(lines=many(len(anew), "line")))
    for _ in range(TRIES):
        found = _gathered(offer, id=id, how=how, to=to, version=version, by=by, now=now)
        if isinstance(found, Offer):
            return found
        made = quote_document(found.said, heads=found.heads, now=now)
        if sent := _keep(offer, found, made, id=id, how=how, to=to, version=version, by=by, now=now):
            return sent
    raise Refused(CHANGING)


@transaction.atomic
def _gathered(
    offer: Offer, *, id: UUID, how: str, to: str, version: int | None, by: User, now: datetime
) -> Offer | ToSend:
    """The version that the same form sent before, else what it is to say by the record as it is under the locks."""
    must_quote(by)
    held_sites(offer.quote.at_sites.values_list("site", flat=True))
    remedials = held_work(_offered_by_quote(offer.quote_id))
    offer = locked_offer(offer)
    if told_by_form(Verb.SENT, offer.quote, id):
        return offer
    _must_be_the_draft(offer, version)
    party_in_use(offer.quote.party, field="party")
    _must_not_be_former(offer, today=clock.local_day(now))
    _must_be_ready(offer, today=clock.local_day(now))
    _must_be_quotable(offer, remedials)
    _must_reach(how, to)
    sites = sorted(offer.quote.at_sites.values_list("site", flat=True))
    return ToSend(offer_as_said(offer, now=now), heads=tuple(heads(sites)))


def _offered_by_quote(quote: UUID) -> set[UUID]:
    """The remedials in any version of the quote."""
    return set(LineRemedial.objects.filter(line__offer__quote=quote).values_list("remedial", flat=True))


def _must_be_the_draft(offer: Offer, version: int | None) -> None:
    """Raises Refused where it was sent or ended, ChangedMeanwhile where somebody changed it since it was seen."""
    if offer.state != State.DRAFT:
        raise Refused(f"{offer} was sent already: it is {WORDS[State(offer.state)]}. A change is its next version.")
    if version is not None and offer.version != version:
        raise ChangedMeanwhile(f"{CHANGED} Look at it as it stands before you send it.", theirs=offer)


def _must_not_be_former(offer: Offer, *, today: date) -> None:
    """Raises Refused where a site went from this party to another customer: it is not theirs to accept work there."""
    party = offer.quote.party
    for site in Site.objects.filter(quotes=offer.quote_id, former_customers__party=party).exclude(customer=party):
        if not holds_role(site, party.pk, on=today):
            raise Refused(
                f"{site.name} went to another customer, and {party.name} has no part in it any more: "
                "make the quote to whoever has it now.",
                field="party",
            )


def _must_be_ready(offer: Offer, *, today: date) -> None:
    """Raises Refused for what must be put right in the draft first."""
    if not offer.lines.filter(kind=LineKind.WORK).exists():
        raise Refused("Nothing is offered yet: add a line of work first.")
    if offer.valid_until is None:
        raise Refused("Say until when the quote stands.", field="valid_until")
    if offer.valid_until < today:
        raise Refused(
            f"It would have lapsed already: it stands until {in_words(offer.valid_until)}. Choose a later day.",
            field="valid_until",
        )
    must_hold(offer)
    _must_be_for_work(offer)
    _must_bear_a_number(offer, today)


def _must_be_for_work(offer: Offer) -> None:
    """Raises Refused for a call-out whose work is no longer offered: nobody is charged for it with other work."""
    lines = list(offer.lines.all())
    wanted = aims(lines)
    for line in lines:
        if line.key in wanted and wanted[line.key] is None:
            raise Refused(f"“{line.words}” is for work that is not offered any more: take that line out first.")


def _must_bear_a_number(offer: Offer, today: date) -> None:
    """Raises Refused where VAT is charged and the firm's terms name no VAT number."""
    terms = terms_on(today)
    if terms and offer.vat_registered and not terms.vat_number and offer.lines.filter(vat__gt=0).exists():
        raise Refused("It charges VAT, and the firm's rates and terms name no VAT number: enter it there first.")


def _must_be_quotable(offer: Offer, held: list[Remedial]) -> None:
    """Raises Refused naming remedials of the draft that went on without a quote, or that were added this moment."""
    known = {remedial.pk: remedial for remedial in held}
    wanted = _in_lines(offer)
    if wanted - set(known):
        raise Refused(CHANGING)
    gone = [known[key] for key in wanted if Stage(known[key].stage) not in QUOTABLE]
    if gone:
        gone.sort(key=lambda remedial: remedial.number)
        names = "; ".join(f"remedial {row.number} is {STAGE_WORDS[Stage(row.stage)]}" for row in gone)
        raise Refused(f"Some of it cannot be quoted any more: {names}. Take its line out first.")


def _in_lines(offer: Offer) -> set[UUID]:
    return set(LineRemedial.objects.filter(line__offer=offer).values_list("remedial", flat=True))


def _must_reach(how: str, to: str) -> None:
    if how not in SentHow.values:
        raise Refused("Choose how it is sent.", field="how")
    if how == SentHow.PRINTED:
        if not to.strip():
            raise Refused("Say to whom it is handed or posted.", field="to")
        return
    if not to.strip():
        raise Refused("Enter the e-mail address that it is sent to.", field="to")
    try:
        validate_email(to.strip())
    except ValidationError:
        raise Refused("This is no e-mail address: it is written like name@example.com.", field="to") from None


@operation
def _keep(
    offer: Offer, said: ToSend, made: Made, *, id: UUID, how: str, to: str, version: int | None, by: User, now: datetime
) -> Offer | None:
    """Keep what was set and let it take effect; None where the record says something else by now."""
    found = _gathered(offer, id=id, how=how, to=to, version=version, by=by, now=now)
    if isinstance(found, Offer):
        return found
    if found != said:
        return None
    offer = locked_offer(offer)
    former = _supersede(offer, by=by, now=now)
    file = store_file(made.pdf, media_type=PDF, now=now)
    count_on(
        offer, state=_moved(offer, Move.SEND), said=dict(said.said), fingerprint=made.fingerprint, file=file,
        sent_by=by, sent_at=now, sent_how=how, sent_to=to.strip(),
    )  # fmt: skip
    quote, facts = offer.quote, {"form": str(id), "version": offer.number, "how": how}
    quote.chase_on = chase_day(offer, today=clock.local_day(now))
    quote.save(update_fields=["chase_on"])
    facts |= {"fingerprint": made.fingerprint, "file": file.hash, "valid_until": said.said["valid_until"]}
    facts |= {"chase_on": quote.chase_on.isoformat(), "instead_of": former.number if former else None}
    tell(Verb.SENT, quote, by=by, now=now, facts=facts, words={"to": offer.sent_to})
    _move_remedials(offer, former, by=by, now=now)
    if how == SentHow.EMAIL:
        write_offer_message(offer, former=former, now=now)
    return offer


def _moved(offer: Offer, move: Move) -> State:
    """The state that `move` leads to. Raises Refused with the present state where the table has no such move."""
    state = after(State(offer.state), move)
    if state is None:
        raise Refused(f"{offer} cannot {PASSIVE[move]}: it is {WORDS[State(offer.state)]}.")
    return state


def chase_day(offer: Offer, *, today: date) -> date:
    """When the answer to `offer` is chased: some days before it lapses by the firm's terms, not before tomorrow."""
    if offer.valid_until is None:
        raise ValueError("a version that was sent stands until a day")
    notice = timedelta(days=terms_in_force(today).lapse_notice_days)
    return max(offer.valid_until - notice, today + timedelta(days=1))


def _supersede(offer: Offer, *, by: User, now: datetime) -> Offer | None:
    """End the version of the same quote that stands: `offer` comes in its place."""
    standing = Offer.objects.filter(quote=offer.quote_id, state=State.SENT)
    former = standing.select_for_update(of=("self",)).first()
    if former is None:
        return None
    former.quote = offer.quote
    count_on(former, state=_moved(former, Move.SUPERSEDE), ended_at=now, ended_by=by)
    facts = {"version": former.number, "by_version": offer.number}
    tell(Verb.SUPERSEDED, offer.quote, by=by, now=now, facts=facts)
    return former


def _move_remedials(offer: Offer, former: Offer | None, *, by: User, now: datetime) -> None:
    """Those that the version offers are quoted; those that only the former one offered are to price again."""
    quote, offered = offer.quote, _in_lines(offer)
    owner = quote.owner if quote.owner.is_active else by
    if quote.chase_on is None:
        raise ValueError("a quote that is with the customer has a day to chase its answer")
    for remedial in Remedial.objects.filter(pk__in=offered).order_by("pk"):
        mark_quoted(remedial, owner=owner, step_by=quote.chase_on, number=quote.number, by=by, now=now)
    if former is not None:
        back_to_price(former, besides=offered, by=by, now=now)


def back_to_price(offer: Offer, *, besides: set[UUID], by: User, now: datetime) -> None:
    """Inside an operation: what `offer` alone had with the customer is to price again, where no yes came first.

    `besides`: remedials that stay quoted. So do those that another quote offers, to another party.
    """
    theirs = _in_lines(offer) - besides
    others = LineRemedial.objects.filter(remedial__in=theirs, line__offer__state=State.SENT)
    elsewhere = set(others.exclude(line__offer=offer).values_list("remedial", flat=True))
    for remedial in Remedial.objects.filter(pk__in=theirs - elsewhere).order_by("pk"):
        mark_to_price_again(remedial, number=offer.quote.number, by=by, now=now)


@operation
def withdraw_offer(offer: Offer, *, reason: str, by: User, now: datetime) -> Offer:
    """Withdraw a version before all of it was accepted; what was accepted stays accepted, the rest is to price again.

    The customer is told at the address that it was sent to. In law it counts once it has reached them: whoever cannot be
    reached so is told some other way. Withdrawn already: nothing more happens. Raises NotAllowed, Refused.
    """
    must_quote(by)
    held_sites(offer.quote.at_sites.values_list("site", flat=True))
    hold_work([offer])
    return withdrawn(offer, reason=reason, by=by, now=now)


def hold_work(offers: Iterable[Offer]) -> None:
    """Lock the observations and remedials of all of `offers`, before the first of them is locked itself."""
    held_work({key for offer in offers for key in _in_lines(offer)})


def withdrawn(offer: Offer, *, reason: str, by: User, now: datetime) -> Offer:
    """Inside an operation that holds the site and the work of `offer`: withdraw it, see `withdraw_offer`."""
    offer = locked_offer(offer)
    if offer.state == State.WITHDRAWN:
        return offer
    reason = reason.strip()
    if not reason:
        raise Refused("Say why it is withdrawn: the customer is told.", field="reason")
    count_on(offer, state=_moved(offer, Move.WITHDRAW), ended_at=now, ended_by=by, end_reason=reason)
    _chase_no_more(offer.quote)
    tell(Verb.WITHDRAWN, offer.quote, by=by, now=now, facts={"version": offer.number}, words={"reason": reason})
    back_to_price(offer, besides=set(), by=by, now=now)
    write_withdrawal_message(offer, now=now)
    return offer


def _chase_no_more(quote: Quote) -> None:
    quote.chase_on = None
    quote.save(update_fields=["chase_on"])
