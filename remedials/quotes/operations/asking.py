"""Questions about a quote: asked on the private link, answered by the office, or closed without a reply."""

from datetime import date, datetime, timedelta
from uuid import UUID

from django.conf import settings
from django.urls import reverse

from jobsite import clock
from jobsite.ids import part_of
from jobsite.ledger.actor import Actor
from jobsite.ledger.operations import operation
from jobsite.ledger.rows import alone, locked, made_before
from jobsite.messages.models import Message
from jobsite.messages.operations import write_messages
from jobsite.people.models import PrivateLink, User
from jobsite.people.names import as_customers_read
from jobsite.refused import NotAllowed, Refused
from remedials.quotes import policy
from remedials.quotes.models import Line, Offer, Question, Quote, Remark, Terms
from remedials.quotes.operations.answer_ground import may_answer
from remedials.quotes.operations.ground import NOT_YOURS, tell
from remedials.quotes.operations.link_messages import write_to
from remedials.quotes.queries.terms import terms_on
from remedials.quotes.queries.told import next_owner
from remedials.quotes.verbs import Verb
from remedials.works.operations.ground import needed, same_form

MOST_A_DAY = 30
LONGEST = 5_000
NAMELESS = "Write your name, so that we know whom we answer."


@operation
def ask_question(
    offer: Offer, *, id: UUID, text: str, name: str, by: PrivateLink, now: datetime, line_key: UUID | None = None
) -> Question:
    """Keep what the customer asks about `offer` or one line of it: somebody of us owes a reply by a day.

    Whatever has become of the offer, a question is taken. The same form again: its question. Raises NotAllowed for a
    link that does not open this quote; Refused without words or a name, and for more than `MOST_A_DAY` a day.
    """
    alone(id)
    quote = _asked(offer, by, now=now)
    if made := made_before(Question, id, quote_id=quote.pk):
        return made
    if line_key and not Line.objects.filter(offer__quote=quote, key=line_key).exists():
        raise Refused("The line that this is about is not one of this quote's: ask about the whole.", field="text")
    question = Question.objects.create(
        id=id, quote=quote, line_key=line_key, owner=next_owner(quote), reply_by=_reply_by(now), asked_at=now
    )
    _say(question, part_of(id, "remark"), text, name, by=by, now=now)
    return question


@operation
def ask_further(question: Question, *, id: UUID, text: str, name: str, by: PrivateLink, now: datetime) -> Question:
    """The customer says more in the thread of `question`: it is open again. The same form again: nothing more happens.

    Raises as `ask_question` does.
    """
    alone(id)
    offer = question.quote.offers.order_by("number").last()
    if offer is None:
        raise Refused("This quote was thrown away meanwhile.")
    _asked(offer, by, now=now)
    question = locked(question)
    if made_before(Remark, id, question_id=question.pk):
        return question
    question.open, question.reply_by = True, _reply_by(now)
    if not question.owner.is_active:
        question.owner = next_owner(question.quote)
    question.closed_why, question.closed_by, question.closed_at = "", None, None
    question.save(update_fields=["open", "reply_by", "owner", "closed_why", "closed_by", "closed_at"])
    _say(question, id, text, name, by=by, now=now)
    return question


@operation
def reply(question: Question, *, id: UUID, text: str, by: Actor, now: datetime) -> Remark:
    """Answer the customer: they are told by e-mail that there is one, and read it on their page. Nobody owes more then.

    The same form again: its reply. Raises NotAllowed, Refused.
    """
    alone(id)
    if not policy.may_quote(by) or not isinstance(by, User):
        raise NotAllowed(NOT_YOURS)
    question = locked(question)
    if made := made_before(Remark, id, question_id=question.pk):
        return same_form(made, made.by_id == by.pk)
    text = needed(text, "Write the reply.", field="text")
    remark = Remark.objects.create(id=id, question=question, text=text, name=by.name, by=by, at=now)
    question.open = False
    question.save(update_fields=["open"])
    facts = {"question": str(question.pk), "remark": str(id)}
    tell(Verb.REPLIED, question.quote, by=by, now=now, facts=facts, words={"text": text})
    _tell_customer(question, remark, now=now)
    return remark


@operation
def close_question(question: Question, *, reason: str, by: Actor, now: datetime) -> Question:
    """Nobody owes a reply any more, for a reason: they rang, say. Closed already: nothing more happens.

    Raises NotAllowed, and Refused without a reason.
    """
    if not policy.may_quote(by) or not isinstance(by, User):
        raise NotAllowed(NOT_YOURS)
    question = locked(question)
    if not question.open:
        return question
    reason = needed(reason, "Say why no reply is needed.", field="reason")
    question.open, question.closed_why, question.closed_by, question.closed_at = False, reason, by, now
    question.save(update_fields=["open", "closed_why", "closed_by", "closed_at"])
    facts = {"question": str(question.pk)}
    tell(Verb.QUESTION_CLOSED, question.quote, by=by, now=now, facts=facts, words={"reason": reason})
    return question


def _asked(offer: Offer, by: PrivateLink, *, now: datetime) -> Quote:
    """The quote of `offer`. Raises NotAllowed where the link does not open it, Refused where it asked too much today."""
    if not isinstance(by, PrivateLink):
        raise NotAllowed("Questions are asked on the customer's own link.")
    may_answer(offer, by, now=now)
    return offer.quote


def _not_too_many(by: PrivateLink, *, now: datetime) -> None:
    day = clock.local_day(now)
    since = datetime.combine(day, datetime.min.time(), clock.LONDON)
    if Remark.objects.filter(link=by, at__gte=since).count() >= MOST_A_DAY:
        raise Refused(
            f"More than {MOST_A_DAY} questions were asked here today: please ring us instead, or ask again tomorrow.",
            field="text",
        )


def _reply_by(now: datetime) -> date:
    today = clock.local_day(now)
    return today + timedelta(days=(terms_on(today) or Terms()).answer_days)


def _say(question: Question, id: UUID, text: str, name: str, *, by: PrivateLink, now: datetime) -> None:
    """Keep the customer's words and tell the owner of the quote."""
    _not_too_many(by, now=now)
    text, name = needed(text, "Write your question.", field="text"), needed(name, NAMELESS, field="name")
    if len(text) > LONGEST:
        raise Refused(f"This is too long: at most {LONGEST:,} characters, and it has {len(text):,}.", field="text")
    Remark.objects.create(id=id, question=question, text=text, name=name, link=by, at=now)
    facts = {"question": str(question.pk), "line": str(question.line_key) if question.line_key else None}
    facts |= {"remark": str(id), "reply_by": question.reply_by.isoformat()}
    tell(Verb.ASKED, question.quote, by=by, now=now, facts=facts, words={"name": name, "text": text})
    owner = question.owner
    if not owner.is_active:
        return
    quote = question.quote
    message = Message(
        occasion=f"question {id} owner",
        to_kind=Message.To.STAFF,
        to_id=owner.pk,
        address=owner.email,
        subject=f"Question about quote {quote.number}, {quote.party.name}",
        why="Who has a question about a quote hears of it at once.",
        body=f"{name} asks:\n\n{text}\n\n{settings.SITE_ADDRESS}{reverse('quotes:question', args=[question.pk])}\n",
        site=quote.at_sites.order_by("site").values_list("site", flat=True).first(),
        written_at=now,
        next_try_at=now,
    )
    write_messages([message])


def _tell_customer(question: Question, remark: Remark, *, now: datetime) -> None:
    """Write to whoever asked last that there is a reply, with the way to it."""
    asked = question.remarks.filter(link__isnull=False).order_by("-at", "-pk").select_related("link").first()
    quote = question.quote
    write_to(
        asked.link.party if asked and asked.link else quote.party_id,
        quote,
        occasion=f"question {remark.pk} reply",
        subject=f"Our reply to your question about quote {quote.number}",
        words=f"You asked about our quote {quote.number}, {quote.name}. {as_customers_read().name(remark.name)} replies:\n\n{remark.text}",
        why="Whoever asked about a quote hears our reply.",
        link=asked.link if asked else None,
        now=now,
    )
