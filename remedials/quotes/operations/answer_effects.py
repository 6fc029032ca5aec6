"""What an answer does: to remedials, to the offer, and whom it is told."""

from collections.abc import Iterable
from datetime import datetime, timedelta

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.people.models import User
from remedials.quotes.choices import Says, WhyNot
from remedials.quotes.models import Answer, LineAnswer, Offer, Terms
from remedials.quotes.queries.answering import LineNow, carried_elsewhere, to_pay
from remedials.quotes.queries.terms import terms_on
from remedials.quotes.states import Move, State, after
from remedials.works.models import Remedial
from remedials.works.operations import approve_by_answer, decline_by_answer

DAYS_BY_CODE = (("C1", "again_c1_days"), ("C2", "again_c2_days"), ("FI", "again_fi_days"))


def approve(
    offer: Offer, answer: Answer, said: Iterable[tuple[LineNow, LineAnswer]], *, by: Actor, now: datetime
) -> None:
    """Approve the remedials of every line that was accepted; a sum goes with it where the line offers one alone."""
    for line, line_answer in said:
        if line_answer.says != Says.YES:
            continue
        alone = len(line.remedials) == 1
        pounds = to_pay(line.line, reverse_charge=offer.reverse_charge) if alone else None
        for remedial in line.remedials:
            approve_by_answer(
                remedial,
                given_by=answer.name,
                party=answer.party,
                given_on=clock.local_day(answer.given_at),
                pounds=pounds,
                reference=answer.order_number,
                owner=owner_of(offer, by),
                by=by,
                now=now,
            )


def decline(
    offer: Offer,
    answer: Answer,
    said: Iterable[tuple[LineNow, LineAnswer]],
    lines: Iterable[LineNow],
    *,
    by: Actor,
    now: datetime,
) -> list[Remedial]:
    """Decline those remedials of which every line was refused, unless another offer still asks; returns them."""
    refused = {r.pk: (r, given) for line, given in said if given.says != Says.YES for r in line.remedials}
    kept = {r.pk for line in lines if line.accepted or line.answer is None for r in line.remedials}
    kept |= carried_elsewhere(refused, offer, clock.local_day(now))
    declined = []
    terms = terms_on(clock.local_day(now)) or Terms()
    for pk in sorted(set(refused) - kept):
        remedial, given = refused[pk]
        again = clock.local_day(now) + timedelta(days=days_until_again(remedial, terms))
        declined.append(
            decline_by_answer(
                remedial,
                who=answer.name,
                reason=reason_of(given),
                offer_again_on=again,
                owner=owner_of(offer, by),
                by=by,
                now=now,
            )
        )
    return declined


def days_until_again(remedial: Remedial, terms: Terms) -> int:
    """After how many days refused work is offered again: by the worst open code that it would put right."""
    codes = set(remedial.observations.filter(ended="").values_list("code", flat=True))
    for code, name in DAYS_BY_CODE:
        if code in codes:
            return int(getattr(terms, name))
    return terms.again_other_days


def reason_of(given: LineAnswer) -> str:
    """Why a line was refused, in words for the remedial."""
    if given.says == Says.NOT_CHOSEN:
        return "Not chosen: another line of the quote was."
    why = WhyNot(given.why_not).label if given.why_not else ""
    return ": ".join(part for part in (why, given.words) if part)


def owner_of(offer: Offer, by: Actor) -> User:
    """Who has the next step: the quote's owner, or where they left the firm the person who recorded it."""
    if offer.quote.owner.is_active or not isinstance(by, User):
        return offer.quote.owner
    return by


def settle_offer(offer: Offer, lines: Iterable[LineNow]) -> bool:
    """The offer is answered once its last answerable line is; then nobody chases an answer. Returns whether it is now."""
    if any(line.answerable for line in lines):
        return False
    state = after(State(offer.state), Move.ANSWER)
    if state is None:
        return False
    offer.state = state
    offer.version += 1
    offer.save(update_fields=["state", "version"])
    offer.quote.chase_on = None
    offer.quote.save(update_fields=["chase_on"])
    return True


def reopen_offer(offer: Offer, *, now: datetime) -> None:
    """An answer was taken back: the offer awaits one again, unless a later version is with the customer."""
    state = after(State(offer.state), Move.TAKE_BACK)
    if state is not None and not Offer.objects.filter(quote=offer.quote, state=State.SENT).exists():
        offer.state = state
        offer.version += 1
        offer.save(update_fields=["state", "version"])
    if offer.state == State.SENT:
        offer.quote.chase_on = clock.local_day(now)
        offer.quote.save(update_fields=["chase_on"])


def worst_refused(said: Iterable[tuple[LineNow, LineAnswer]], declined: Iterable[Remedial] = ()) -> str:
    """C1 or C2 where a line with that code was refused, or work for it was declined since another was chosen; else ""."""
    codes = {line.line.code for line, given in said if given.says == Says.NO}
    still = Remedial.objects.filter(pk__in=[row.pk for row in declined], observations__ended="")
    codes |= set(still.values_list("observations__code", flat=True))
    return next((code for code in ("C1", "C2") if code in codes), "")
