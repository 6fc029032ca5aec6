"""What the page of a quote shows of its answers and questions, for the office."""

from datetime import datetime
from typing import Any

from inspections.queries.facts import facts_on
from inspections.standards.consumers import CANCEL_DAYS
from jobsite import clock
from jobsite.addresses import address
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.words import day as in_words
from jobsite.words import joined, money, when
from remedials.quotes.choices import AnsweredHow, LineKind, Says
from remedials.quotes.models import Answer, Line, LineAnswer, Offer, Question, Quote
from remedials.quotes.states import State

HEADS = {Says.YES: "Accepted", Says.NO: "Refused", Says.NOT_CHOSEN: "Not chosen, another was"}
# How a contract came about, as far as the way of the answer says. Common practice; the law's word is the adviser's.
CAME_ABOUT = {
    AnsweredHow.LINK: "accepted on the private link",
    AnsweredHow.PHONE: "accepted by telephone",
    AnsweredHow.EMAIL: "accepted by e-mail",
    AnsweredHow.PAPER: "accepted on paper",
    AnsweredHow.SPOKEN: "accepted by word of mouth, with both present",
}


def answered_part(quote: Quote, offer: Offer, user: User, now: datetime) -> dict[str, Any]:
    """Answers and questions of the quote, and the buttons that go with them. Five statements."""
    days = facts_on(clock.local_day(now)).of(CANCEL_DAYS).value
    rows = Answer.objects.filter(offer__quote=quote).select_related("offer", "party", "recorded_by", "taken_back_by")
    answers = rows.prefetch_related("lines__line").order_by("-recorded_at")
    names = dict(Line.objects.filter(offer__quote=quote).order_by("offer__number").values_list("key", "words"))
    questions = Question.objects.filter(quote=quote).select_related("owner", "closed_by").prefetch_related("remarks")
    may = user.may(Right.PRICE)
    acts = []
    if offer.state == State.SENT and may and _still_open(offer):
        acts.append({"label": "Record an answer", "href": address("quotes:record_answer", quote.pk)})
    return {
        "answers": [_answer(answer, int(days), may=may) for answer in answers],
        "questions": [_question(question, names) for question in questions.order_by("-open", "-asked_at")],
        "acts": acts,
    }


def _still_open(offer: Offer) -> bool:
    """Whether a line of work has no answer that stands. One statement."""
    said = LineAnswer.objects.filter(stands=True).values("line")
    return offer.lines.filter(kind=LineKind.WORK).exclude(pk__in=said).exists()


def _answer(answer: Answer, days: int, *, may: bool) -> dict[str, Any]:
    lines = sorted(answer.lines.all(), key=lambda row: row.line.position)
    yes = any(row.says == Says.YES for row in lines)
    takes_back = may and answer.how != AnsweredHow.LINK and answer.taken_back_at is None
    return {
        "title": f"{answer.name}, {when(answer.given_at)}",
        "about": joined(
            answer.get_how_display(),
            f"for {answer.party}",
            f"version {answer.offer.number}",
            f"recorded by {answer.recorded_by}, {when(answer.recorded_at)}" if answer.recorded_by else "",
        ),
        "groups": [
            {"head": head, "lines": [_line(row) for row in lines if row.says == says]}
            for says, head in HEADS.items()
            if any(row.says == says for row in lines)
        ],
        "total": _total(answer) if yes else "",
        "order_number": answer.order_number,
        "note": answer.note,
        "rights": rights_words(answer, days) if yes else "",
        "fingerprint": answer.fingerprint,
        "taken_back": _taken_back(answer),
        "take_back": address("quotes:take_back", answer.pk) if takes_back else "",
    }


def _line(row: LineAnswer) -> dict[str, str]:
    why = joined(row.get_why_not_display() if row.why_not else "", row.words, by=": ")
    return {"words": row.line.words, "why": why}


def _total(answer: Answer) -> str:
    if answer.offer.reverse_charge:
        return f"{money(answer.net)} without VAT, under the reverse charge"
    if answer.offer.consumer:
        return f"{money(answer.to_pay)} with VAT of {money(answer.vat)}"
    return f"{money(answer.net)} and VAT of {money(answer.vat)}, {money(answer.to_pay)} with VAT"


def _taken_back(answer: Answer) -> str:
    if answer.taken_back_at is None:
        return ""
    return f"Taken back by {answer.taken_back_by}, {when(answer.taken_back_at)}: {answer.taken_back_why}"


def rights_words(answer: Answer, days: int) -> str:
    """What hangs on how and when a consumer accepted, in careful words; "" for a business."""
    offer = answer.offer
    if not offer.consumer:
        return ""
    sent = f"after version {offer.number} was sent on {when(offer.sent_at)} ({offer.get_sent_how_display()})"
    came = f"{CAME_ABOUT[AnsweredHow(answer.how)]} on {when(answer.given_at)}, {sent}"
    begin = {
        True: "They asked expressly that work begins within that time.",
        False: "They did not ask that work begins within that time: wait for it, or ask them.",
        None: "Whether work may begin within that time was not asked.",
    }[answer.begin_at_once]
    return f"{came[0].upper()}{came[1:]}: your adviser settles whether the {days} days to cancel apply. {begin}"


def _question(question: Question, names: dict[Any, str]) -> dict[str, Any]:
    closed = ""
    if question.closed_at:
        closed = f"Closed by {question.closed_by}, {when(question.closed_at)}: {question.closed_why}"
    return {
        "about": names.get(question.line_key, "") if question.line_key else "the whole quote",
        "open": question.open,
        "stands": f"{question.owner} answers by {in_words(question.reply_by)}" if question.open else closed,
        "remarks": [
            {"who": r.name, "ours": r.by_id is not None, "when": when(r.at), "text": r.text}
            for r in question.remarks.all()
        ],
        "address": address("quotes:question", question.pk),
    }


def question_shown(question: Question) -> dict[str, Any]:
    """One question with its thread. Three statements."""
    names = dict(Line.objects.filter(offer__quote=question.quote).order_by("offer__number").values_list("key", "words"))
    return _question(question, names)
