"""Passing a quote on to a party who may approve it."""

from datetime import datetime

from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.messages.models import Message
from jobsite.people.models import PrivateLink
from jobsite.premises.models import Party
from jobsite.refused import Refused
from remedials.quotes.models import Offer
from remedials.quotes.operations.answer_ground import lock_offer, may_answer, must_take_answers
from remedials.quotes.operations.ground import tell
from remedials.quotes.operations.link_messages import write_to
from remedials.quotes.queries.limits import may_be_passed_to
from remedials.quotes.verbs import Verb


@operation
def pass_on(offer: Offer, *, to_party: Party, by: Actor, now: datetime) -> bool:
    """Send `to_party`, who may approve what `by` may not, a link of its own to the quote; whether it is sent anew.

    Passed on to the same party before: nothing more happens. Raises NotAllowed, NotTaken where the offer takes no answer
    any more, Refused for a party who may not approve it or has no address.
    """
    offer, _, lines = lock_offer(offer)
    may_answer(offer, by, now=now)
    must_take_answers(offer, fingerprint=offer.fingerprint, given_at=now)
    occasion = f"quote {offer.pk} passed on {to_party.pk}"
    state = Message.State
    if (before := Message.objects.filter(occasion__startswith=occasion)).exclude(
        state__in=[state.FAILED, state.DROPPED]
    ):
        return False
    if gone := len(before):  # they never reached anybody: it is passed on once more
        occasion = f"{occasion} again {gone}"
    mine = by.party if isinstance(by, PrivateLink) else None
    if to_party not in may_be_passed_to(offer, lines, besides=mine or offer.quote.party_id, now=now):
        raise Refused(f"{to_party.name} may not approve all of this: choose somebody else, or ring us.", field="party")
    sender = Party.objects.filter(pk=mine or offer.quote.party_id).first()
    words = (
        f"{sender.name if sender else 'Somebody'} passes on to you our quote {offer.quote.number}, {offer.quote.name}: "
        "it goes beyond what they may approve. Please answer it line by line."
    )
    subject = f"Quote {offer.quote.number}, version {offer.number}: for you to approve"
    told = write_to(
        to_party.pk, offer.quote, occasion=occasion, subject=subject, words=words, now=now, until_answered=True,
        why="The quote was passed on to whoever may approve it.",
    )  # fmt: skip
    if not told:
        raise Refused(f"We have no e-mail address of {to_party.name}: please ring us.", field="party")
    facts = {"offer": str(offer.pk), "version": offer.number, "party": str(to_party.pk)}
    tell(Verb.PASSED_ON, offer.quote, by=by, now=now, facts=facts)
    return True
