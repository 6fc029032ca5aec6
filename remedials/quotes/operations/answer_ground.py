"""What an answer stands on: its locks in the house's order, who may give one, and whether the offer takes one."""

from collections.abc import Mapping
from datetime import datetime
from uuid import UUID

from jobsite import clock
from jobsite.ledger.actor import Actor
from jobsite.people.models import PrivateLink, User
from jobsite.people.rights import Right
from jobsite.premises.models import Party, Site
from jobsite.refused import NotAllowed, Refused
from jobsite.words import day as in_words
from jobsite.words import when
from remedials.quotes.models import Answer, LineRemedial, Offer, Quote
from remedials.quotes.operations.ground import held_work
from remedials.quotes.queries.answering import LineNow, lapsed, lines_now
from remedials.quotes.states import State
from remedials.works.models import Remedial

NO_LINK = "This link does not open any more: ask us for a new one."


class NotTaken(Refused):
    """The offer takes no answer now; `why` is one of: superseded, lapsed, withdrawn, answered, draft."""

    def __init__(self, sentence: str, *, why: str) -> None:
        super().__init__(sentence)
        self.why = why


class RefusedLines(Refused):
    """Something is wrong with what was said to lines: `lines` holds a sentence for each by the line's own id."""

    def __init__(self, lines: Mapping[UUID, str]) -> None:
        super().__init__(" ".join(dict.fromkeys(lines.values())))
        self.lines = dict(lines)


class OverLimit(Refused):
    """What is accepted goes beyond what the answering party may approve; somebody else may."""


def lock_offer(offer: Offer) -> tuple[Offer, list[Site], list[LineNow]]:
    """The offer, its sites and its lines as they are, locked: sites, observations, remedials, quote, offer.

    All that works behind a quote waits at the sites' locks: two people who answer at once come one after the other.
    """
    offered = LineRemedial.objects.filter(line__offer=offer).values("remedial")
    theirs = Remedial.objects.filter(pk__in=offered)
    wanted = {*offer.quote.at_sites.values_list("site", flat=True), *theirs.values_list("site", flat=True)}
    sites = list(Site.objects.filter(pk__in=wanted).select_for_update(of=("self",)).order_by("pk"))
    held_work(theirs.values_list("pk", flat=True))
    list(Quote.objects.filter(pk=offer.quote_id).select_for_update(of=("self",)))
    now_it_is = Offer.objects.select_for_update(of=("self",)).select_related("quote__party", "quote__owner")
    offer = now_it_is.get(pk=offer.pk)
    return offer, sites, lines_now(offer)


def must_be_open(sites: list[Site]) -> None:
    """Raises Refused where one of the sites is archived: nothing is planned there."""
    for site in sites:
        if site.archived_at:
            raise Refused(f"{site.name} is not on our books any more: please ring us.")


def may_answer(offer: Offer, by: Actor, *, now: datetime) -> None:
    """Raises NotAllowed where `by` is neither the office nor a private link to this quote that still opens."""
    if isinstance(by, PrivateLink):
        mine = PrivateLink.objects.select_for_update().filter(pk=by.pk, purpose=PrivateLink.Purpose.QUOTE)
        if not mine.filter(thing=offer.quote_id, withdrawn_at=None, expires_at__gt=now).exists():
            raise NotAllowed(NO_LINK)
    elif not (isinstance(by, User) and by.may(Right.PRICE) and not by.subcontractor):
        raise NotAllowed("Only the office may record what a customer answered.")


def must_answer_for(by: Actor, party: Party) -> None:
    """Raises NotAllowed where a private link that was given to one party answers for another."""
    if isinstance(by, PrivateLink) and by.party not in (None, party.pk):
        raise NotAllowed("This link was given to somebody else: it does not answer for this party.")


def must_take_answers(offer: Offer, *, fingerprint: str, given_at: datetime) -> None:
    """Raises NotTaken with a sentence where the offer, as it stands, takes no answer that was given at `given_at`."""
    if offer.state == State.SUPERSEDED or (offer.fingerprint and fingerprint != offer.fingerprint):
        raise NotTaken(
            "This version was replaced by a newer one. Nothing was sent: what you chose is kept below, look at what changed.",
            why="superseded",
        )
    if offer.state == State.WITHDRAWN:
        raise NotTaken("This quote was withdrawn: nothing can be accepted any more. Please ring us.", why="withdrawn")
    if offer.state == State.ANSWERED:
        raise NotTaken(_who_answered(offer), why="answered")
    if offer.state != State.SENT:
        raise NotTaken("This quote was not sent yet: nobody can answer it.", why="draft")
    if lapsed(offer, clock.local_day(given_at)):
        raise NotTaken(
            f"This quote held until {in_words(offer.valid_until)}: please ring us for a new one. Nothing was accepted.",
            why="lapsed",
        )


def _who_answered(offer: Offer) -> str:
    last = Answer.objects.filter(offer=offer, taken_back_at=None).order_by("-recorded_at").first()
    if last is None:
        return "This quote is answered already."
    return f"This quote was answered already, by {last.name} on {when(last.given_at)}: that answer stands."


def must_be_given(offer: Offer, *, given_at: datetime, by: Actor, now: datetime) -> datetime:
    """When the answer was given; on the link that is now. Raises Refused for a time to come or before it was sent."""
    if isinstance(by, PrivateLink):
        return now
    if given_at > now:
        raise Refused("This time has not come yet.", field="given_at")
    if offer.sent_at and given_at < offer.sent_at.replace(second=0, microsecond=0):
        raise Refused(f"It was sent on {when(offer.sent_at)}: nobody answered before.", field="given_at")
    return given_at
