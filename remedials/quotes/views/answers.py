"""The office's side of answers: one that it was told, one recorded by mistake, questions."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404

from jobsite.addresses import address
from jobsite.ids import key_in
from jobsite.marks import code_mark
from jobsite.pages import bound, form_page, go, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Party
from jobsite.refused import Refused
from remedials.quotes.choices import LineKind
from remedials.quotes.forms.answering import HeardForm, ReasonForm, ReplyForm, form_for
from remedials.quotes.models import Answer, Offer, Question, Quote
from remedials.quotes.operations.answer_ground import RefusedLines
from remedials.quotes.operations.answering import answer_offer, take_back_answer
from remedials.quotes.operations.asking import close_question, reply
from remedials.quotes.queries.answered import question_shown
from remedials.quotes.queries.answering import LineNow, lines_now
from remedials.quotes.queries.customer_page import price_words
from remedials.quotes.queries.limits import may_be_passed_to
from remedials.quotes.states import State
from remedials.quotes.views.common import the_quote

NOTHING = "There is no version with the customer that an answer could be recorded to."
MARKED = "Look at the lines that are marked below."


@needs(Right.PRICE)
def record_answer(request: Request, pk: UUID) -> HttpResponse:
    """What somebody said by telephone, by e-mail, on paper or in person: who, when, to which lines."""
    quote = the_quote(request, pk)
    key = key_in(request.POST.get("id", ""))
    if key and Answer.objects.filter(pk=key, offer__quote=quote).exists():
        return go(request, address("quotes:quote", pk))  # the same form was sent twice
    offer = quote.offers.exclude(state=State.DRAFT).select_related("quote__party").order_by("number").last()
    work = {str(now.line.key): now for now in lines_now(offer) if now.line.kind == LineKind.WORK} if offer else {}
    lines = {key: now for key, now in work.items() if now.answerable}
    taken = offer is not None and offer.state == State.SENT and bool(lines)
    if offer is None or not (taken or request.method == "POST"):
        context = {"refused": Refused(NOTHING), "back": address("quotes:quote", pk)}
        return page(request, "refused.html", context)
    lines = lines if taken else work  # what was typed is shown again, also where somebody answered meanwhile
    parties = _parties(offer, list(lines.values()), request)
    initial = {"fingerprint": offer.fingerprint, "party": str(quote.party_id), "given_at": request.now}
    form = bound(request, form_for(lines, HeardForm, confirming=True), initial=initial)
    form.fields["party"].choices = [(str(one.pk), one.name) for one in parties]  # type: ignore[attr-defined]
    if not offer.consumer:
        del form.fields["begin"]
    context = {"quote": quote, "offer": offer, "back": address("quotes:quote", pk), "lines": _shown(offer, lines, form)}
    if not taken:
        return page(request, "quotes/record_answer.html", context | {"form": form, "refused": Refused(NOTHING)})
    return form_page(
        request,
        "quotes/record_answer.html",
        form,
        context,
        do=lambda: _record(request, offer, form, lines, {str(one.pk): one for one in parties}),
        then=address("quotes:quote", pk),
        said="Answer recorded.",
    )


def _parties(offer: Offer, lines: list[LineNow], request: Request) -> list[Party]:
    own = offer.quote.party
    return [own, *may_be_passed_to(offer, lines, besides=own.pk, now=request.now)]


def _shown(offer: Offer, lines: dict[str, LineNow], form: HeardForm) -> list[dict[str, Any]]:
    said = {line["key"]: line for line in offer.said["lines"]}
    return [
        {
            "key": key,
            "words": now.line.words,
            "mark": code_mark(now.line.code) if now.line.code else "",
            "price": price_words(offer.said, said[key])["first"],
            "fields": form.of_line(key),
        }
        for key, now in lines.items()
    ]


def _record(
    request: Request, offer: Offer, form: HeardForm, lines: dict[str, LineNow], parties: dict[str, Party]
) -> Answer:
    """Takes the answer; what is wrong with a line is put beside it."""
    data, ids = form.cleaned_data, {key: now.line.pk for key, now in lines.items()}
    try:
        return answer_offer(
            offer, id=data["id"], says=form.answers(ids), name=data["name"], how=data["how"],
            given_at=data["given_at"], fingerprint=data["fingerprint"], party=parties[data["party"]],
            order_number=data["order_number"], note=data["note"],
            begin_at_once=form.begin_at_once if offer.consumer else None, by=request.user, now=request.now,
        )  # fmt: skip
    except RefusedLines as refused:
        keys = {pk: key for key, pk in ids.items()}
        for pk, sentence in refused.lines.items():
            form.add_error(f"says-{keys[pk]}", sentence)
        raise Refused(MARKED) from refused


@needs(Right.PRICE)
def take_back(request: Request, pk: UUID) -> HttpResponse:
    """An answer that the office recorded by mistake counts no more."""
    rows = Answer.objects.filter(offer__quote__in=Quote.objects.visible_to(request.user))
    answer = get_object_or_404(rows.select_related("offer__quote"), pk=pk)
    form = bound(request, ReasonForm)
    back = address("quotes:quote", answer.offer.quote_id)
    context = {
        "title": f"Take back the answer of {answer.name}",
        "about": "It was recorded by mistake: its lines are open again, what it approved or declined is quoted again.",
        "button": "Take it back",
        "back": back,
    }
    return form_page(
        request,
        "quotes/reason.html",
        form,
        context,
        do=lambda: _named(
            lambda: take_back_answer(answer, why=form.cleaned_data["reason"], by=request.user, now=request.now)
        ),
        then=back,
        said="Answer taken back.",
    )


def _named(do: Any) -> Any:
    """Does it; a reason that is missing is said at the field of the form."""
    try:
        return do()
    except Refused as refused:
        if refused.field == "why":
            raise Refused(refused.sentence, field="reason") from refused
        raise


def _the_question(request: Request, pk: UUID) -> Question:
    rows = Question.objects.filter(quote__in=Quote.objects.visible_to(request.user))
    return get_object_or_404(rows.select_related("quote__party", "quote__owner", "owner", "closed_by"), pk=pk)


def _question_context(row: Question) -> dict[str, Any]:
    return {
        "question": question_shown(row),
        "quote": row.quote,
        "back": address("quotes:quote", row.quote_id),
        "close": address("quotes:question_close", row.pk),
    }


@needs(Right.PRICE)
def question(request: Request, pk: UUID) -> HttpResponse:
    """A question with its thread, and the reply."""
    row = _the_question(request, pk)
    form = bound(request, ReplyForm)
    return form_page(
        request,
        "quotes/question.html",
        form,
        _question_context(row),
        do=lambda: reply(
            row, id=form.cleaned_data["id"], text=form.cleaned_data["text"], by=request.user, now=request.now
        ),
        then=address("quotes:quote", row.quote_id),
        said="Reply sent.",
    )


@needs(Right.PRICE)
def close(request: Request, pk: UUID) -> HttpResponse:
    """Close a question without a reply, with the reason."""
    row = _the_question(request, pk)
    form = bound(request, ReasonForm)
    back = address("quotes:quote", row.quote_id)
    asked = row.remarks.order_by("at").last()
    context = {
        "title": f"Close the question about quote {row.quote.number} without a reply",
        "about": asked.text if asked else "",
        "button": "Close the question",
        "back": back,
    }
    return form_page(
        request,
        "quotes/reason.html",
        form,
        context,
        do=lambda: close_question(row, reason=form.cleaned_data["reason"], by=request.user, now=request.now),
        then=back,
        said="Question closed.",
    )
