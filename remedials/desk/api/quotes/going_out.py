"""What may be done once a quote goes out: sent, withdrawn, chased, given to somebody; what was heard of it recorded."""

from typing import Any

from django.db.models import QuerySet
from django.shortcuts import get_object_or_404
from rest_framework import serializers

from jobsite.api.examples import key
from jobsite.people.rights import Right
from jobsite.premises.models import Party
from jobsite.refused import Refused
from remedials.desk.api.ground import Act, Day, Key, Text, colleague, rows, verb
from remedials.desk.api.quotes.building import OfferAct, whole
from remedials.desk.api.quotes.money import several
from remedials.desk.api.quotes.quotes import QUOTES, QuoteShown, WholeOfferShown
from remedials.desk.api.quotes.said import GivenShown, QuestionShown
from remedials.quotes.choices import AnsweredHow, Says, SentHow, WhyNot
from remedials.quotes.models import Answer, Line, Offer, Question, Quote
from remedials.quotes.operations import answering, asking, following, sending
from remedials.quotes.operations.answer_ground import RefusedLines
from remedials.quotes.queries.answering import lines_now
from remedials.quotes.queries.limits import may_be_passed_to

MOST_SAID = 500
HEARD = [choice for choice in AnsweredHow.choices if choice[0] != AnsweredHow.LINK]
ANSWERS = [choice for choice in Says.choices if choice[0] != Says.NOT_CHOSEN]


class OfferSent(serializers.Serializer):
    """How and to whom: an e-mail address, or whom it is handed or posted to. `id` is made by the sender."""

    id = Key()
    how = serializers.ChoiceField(SentHow.choices)
    to = Text()

    example = {"id": key("new"), "how": "printed", "to": "Petra Landlady"}


@verb(WholeOfferShown, summary="Send a draft: its document is kept byte for byte, and from then on it never changes.")
class Send(OfferAct):
    versioned = True
    serializer_class = OfferSent

    def do(self, thing: Offer, given: dict[str, Any]) -> Offer:
        return whole(sending.send_offer(thing, **given, **self.doing))


class OfferWithdrawn(serializers.Serializer):
    """Why: the customer is told this."""

    reason = Text()

    example = {"reason": "A price in it was wrong"}


@verb(WholeOfferShown, summary="Withdraw a version that is with the customer; what was accepted stays accepted.")
class Withdraw(OfferAct):
    serializer_class = OfferWithdrawn

    def do(self, thing: Offer, given: dict[str, Any]) -> Offer:
        return whole(sending.withdraw_offer(thing, **given, **self.doing))


class QuoteAct(Act):
    """A verb on one quote."""

    model = Quote
    right = Right.PRICE

    def shown(self, quote: Quote) -> Quote:
        """A quote with its versions and their sums, as it is shown."""
        return QUOTES.get(pk=quote.pk)


class QuoteChased(serializers.Serializer):
    """What was heard, and when it is chased next. `id` is made by the sender."""

    id = Key()
    heard = Text()
    chase_on = Day()

    example = {"id": key("new"), "heard": "She asks her partner", "chase_on": "2190-02-10"}


@verb(QuoteShown, summary="Note what was heard about the answer to a quote, and when to ask next.")
class Chase(QuoteAct):
    serializer_class = QuoteChased

    def do(self, thing: Quote, given: dict[str, Any]) -> Quote:
        return self.shown(following.chase_quote(thing, **given, **self.doing))


class QuoteTakenOn(serializers.Serializer):
    """Who follows it up, and on which day the answer is chased."""

    owner = Key()
    chase_on = Day()

    example = {"owner": key("user"), "chase_on": "2190-02-10"}


@verb(QuoteShown, summary="Give a quote that is with the customer to somebody; its open questions go along.")
class TakeOn(QuoteAct):
    serializer_class = QuoteTakenOn

    def do(self, thing: Quote, given: dict[str, Any]) -> Quote:
        owner = colleague(given["owner"], "owner")
        return self.shown(following.take_on_quote(thing, owner=owner, chase_on=given["chase_on"], **self.doing))


# --- what was heard ---------------------------------------------------------------------------------------------------


class SaidToLine(serializers.Serializer):
    """What was said to one line, by its `id`; to a no, why and in what words, where they said so."""

    line = Key()
    says = serializers.ChoiceField(ANSWERS)
    why_not = serializers.ChoiceField(WhyNot.choices, required=False, allow_blank=True, default="")
    words = Text(required=False)


class AnswerHeard(serializers.Serializer):
    """What somebody said to lines of a version, as the office was told; lines left out stay open. `id` is made by the sender.

    `fingerprint`: that of the version they answered. `party`: for whom; left out: the quote's own. `begin_at_once`: what a
    consumer said to beginning within the time to cancel, null where nobody asked.
    """

    id = Key()
    fingerprint = Text()
    says = several(SaidToLine, MOST_SAID, allow_empty=False)
    name = Text(help_text="Who said it.")
    how = serializers.ChoiceField(HEARD)
    given_at = serializers.DateTimeField(help_text="When they said it, with its offset.")
    party = Key(required=False, allow_null=True, default=None)
    order_number = Text(required=False, help_text="The customer's own.")
    note = Text(required=False)
    begin_at_once = serializers.BooleanField(required=False, allow_null=True, default=None)

    example = {
        "id": key("new"),
        "fingerprint": "as the offer shows it",
        "says": [{"line": key("line"), "says": "yes"}],
        "name": "Petra Landlady",
        "how": "phone",
        "given_at": "2026-02-03T12:30:00Z",
    }


@verb(GivenShown, status=201, summary="Record what a customer answered by telephone, by e-mail, on paper or in person.")
class RecordAnswer(OfferAct):
    serializer_class = AnswerHeard

    def do(self, thing: Offer, given: dict[str, Any]) -> Answer:
        given["party"] = self._party(thing, given["party"])
        says = {row.pop("line"): answering.Said(**row) for row in given.pop("says")}
        if not thing.consumer:
            given["begin_at_once"] = None  # only a consumer has a time to cancel
        try:
            return answering.answer_offer(thing, says=says, **given, **self.doing)
        except RefusedLines as refused:
            known = dict(Line.objects.filter(pk__in=refused.lines).values_list("pk", "words"))
            words = [f"{known.get(pk, pk)}: {sentence}" for pk, sentence in refused.lines.items()]
            raise Refused(" ".join(words), field="says") from refused

    def _party(self, offer: Offer, asked: Any) -> Party:
        """The quote's own party, or one of those who may approve it: nobody else answers."""
        own = offer.quote.party
        if asked in (None, own.pk):
            return own
        others = may_be_passed_to(offer, lines_now(offer), besides=own.pk, now=self.doing["now"])
        found = next((party for party in others if party.pk == asked), None)
        if found is None:
            raise Refused("This party may not approve it.", field="party")
        return found


class AnswerTakenBack(serializers.Serializer):
    """Why it is taken back."""

    why = Text()

    example = {"why": "It was another quote that she meant"}


@verb(GivenShown, summary="Take back an answer that the office recorded by mistake.")
class TakeBack(Act):
    model = Answer
    right = Right.PRICE
    serializer_class = AnswerTakenBack

    def do(self, thing: Answer, given: dict[str, Any]) -> Answer:
        return answering.take_back_answer(thing, **given, **self.doing)


# --- questions --------------------------------------------------------------------------------------------------------


class QuestionAct(Act):
    """A verb on one question."""

    model = Question
    right = Right.PRICE

    def thing(self) -> Question:
        """The question, if this person may see its quote."""
        found: QuerySet[Any] = rows(self, Question).select_related("quote__party", "quote__owner", "owner")
        return get_object_or_404(found, pk=self.kwargs["pk"])


class QuestionReplied(serializers.Serializer):
    """The reply: the customer is told by e-mail, and reads it on their page. `id` is made by the sender."""

    id = Key()
    text = Text(max_length=5_000)

    example = {"id": key("new"), "text": "About two hours; the power is off for one of them."}


@verb(QuestionShown, summary="Reply to a customer's question.")
class Reply(QuestionAct):
    serializer_class = QuestionReplied

    def do(self, thing: Question, given: dict[str, Any]) -> Question:
        return asking.reply(thing, **given, **self.doing).question


class QuestionClosed(serializers.Serializer):
    """Why no reply is needed."""

    reason = Text()

    example = {"reason": "They rang and we told them"}


@verb(QuestionShown, summary="Close a question without a reply.")
class Close(QuestionAct):
    serializer_class = QuestionClosed

    def do(self, thing: Question, given: dict[str, Any]) -> Question:
        return asking.close_question(thing, **given, **self.doing)
