"""The customer's page of a quote behind a private link: no account, no cookie. Opening it answers nothing."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_safe

from jobsite.ids import key_in, new_id
from jobsite.ledger.files import read_file
from jobsite.people.guard import Request, private
from jobsite.people.links import find_link
from jobsite.people.models import PrivateLink
from jobsite.people.opening import no_such_link
from jobsite.people.operations import count_use
from jobsite.refused import Refused
from remedials.quotes.forms.answering import AskForm, LinesForm, form_for
from remedials.quotes.models import Question
from remedials.quotes.operations.answer_ground import NotTaken, OverLimit, RefusedLines
from remedials.quotes.operations.answering import settled_by
from remedials.quotes.operations.asking import ask_further, ask_question
from remedials.quotes.operations.mailing import document_name
from remedials.quotes.operations.passing import pass_on as pass_on_to
from remedials.quotes.operations.saying import answer_and_ask
from remedials.quotes.queries.customer_page import (
    Opened,
    chosen_shown,
    is_open,
    opened_by,
    over_with,
    page_of,
    rights_shown,
    stands_words,
)
from remedials.quotes.queries.limits import may_be_passed_to

View = Callable[[Request, str, Opened], HttpResponse]
NOTHING_CHOSEN = "Say yes or no to a line, or ask about it: nothing was chosen yet."
NEWER = (
    "This quote was replaced by a newer version while you had it open. Nothing was sent: what you chose is kept below. "
    "Look at what changed first."
)


def _with_link(view: View) -> Callable[..., HttpResponseBase]:
    """Gives `view` what the link opens; one and the same answer for a wrong, an expired and a withdrawn link."""

    @wraps(view)
    def opened(request: HttpRequest, token: str) -> HttpResponseBase:
        now = request.now  # type: ignore[attr-defined]
        link = find_link(token, purpose=PrivateLink.Purpose.QUOTE, now=now)
        found = opened_by(link) if link else None
        if found is None:
            return no_such_link(request)
        return view(request, token, found)  # type: ignore[arg-type]

    return opened


def _posting(view: View) -> Callable[..., HttpResponseBase]:
    """For a page that is only posted to: opened some other way (a mail scanner, the back button) it leads to the quote."""

    @wraps(view)
    def posted(request: Request, token: str, opened: Opened) -> HttpResponse:
        if request.method != "POST":
            return _back(token)
        return view(request, token, opened)

    return private(require_http_methods(["GET", "HEAD", "POST"])(_with_link(posted)))


def _at(token: str) -> str:
    return reverse("quotes:offered", args=[token])


def _back(token: str, part: str = "") -> HttpResponse:
    return HttpResponseRedirect(_at(token) + part)


def _form(opened: Opened, data: Any = None, *, confirming: bool = False) -> LinesForm:
    initial = {"fingerprint": opened.offer.fingerprint}
    return form_for(opened.known, LinesForm, confirming=confirming)(data, initial=initial)


def _page(request: Request, token: str, opened: Opened, form: LinesForm, **more: Any) -> HttpResponse:
    """The page of the quote; with 422 where something was wrong."""
    over, errors = more.pop("over", False), more.pop("errors", None)
    page = page_of(opened, form, now=request.now, errors=errors, over=over)
    ask, wrong = more.get("ask") or AskForm(), more.get("wrong") or []
    status = 422 if wrong or errors or ask.errors else 200
    context = {"page": page, "firm": page["firm"], "form": form, "at": _at(token), "ask": ask, "wrong": wrong}
    context["given"] = "given" in request.GET and bool(page["answers"])
    # Rendered without the request: no session is read, no token made, so no cookie is set.
    return HttpResponse(render_to_string("quotes/customer/quote.html", context), status=status)


@private
@require_safe
@_with_link
def offered(request: Request, token: str, opened: Opened) -> HttpResponse:
    """The quote as it stands. Opening it changes nothing but the count of its uses."""
    if request.method == "GET":
        count_use(opened.link, now=request.now)
    return _page(request, token, opened, _form(opened))


@private
@require_safe
@_with_link
def offered_document(request: Request, token: str, opened: Opened) -> HttpResponse:
    """The version that counts as a PDF."""
    file = opened.offer.file
    if file is None:
        return _back(token)
    headers = {"Content-Disposition": f'attachment; filename="{document_name(opened.offer)}"'}
    return HttpResponse(read_file(file), content_type=file.media_type, headers=headers)


# --- answering --------------------------------------------------------------------------------------------------------


@_posting
def look_over(request: Request, token: str, opened: Opened) -> HttpResponse:
    """What was chosen, with its total and the question who says so. Changes nothing."""
    form = _form(opened, request.POST)
    if stopped := _stopped(request, token, opened, form):
        return stopped
    if not form.is_valid() or "change" in request.POST:
        return _again(request, token, opened, form)
    return _look_over(request, token, opened, form)


@_posting
def confirm(request: Request, token: str, opened: Opened) -> HttpResponse:
    """Takes the answer and the questions; goes on to the receipt, which stays at the link."""
    form = _form(opened, request.POST, confirming=True)
    if not form.is_valid():
        if stopped := _stopped(request, token, opened, form):
            return stopped
        own = {"name", "order_number", "note", "begin"}
        return (_look_over if set(form.errors) <= own else _again)(request, token, opened, form)
    data, ids = form.cleaned_data, {key: now.line.pk for key, now in opened.known.items()}
    asks = {opened.known[key].line.key: text for key, text in form.questions().items()}
    asked_to_begin = data["begin"] if opened.offer.consumer else None
    try:
        answer_and_ask(
            opened.offer, id=data["id"], says=form.answers(ids), asks=asks, name=data["name"], party=opened.party,
            fingerprint=data["fingerprint"], order_number=data["order_number"], note=data["note"],
            begin_at_once=asked_to_begin, by=opened.link, now=request.now,
        )  # fmt: skip
    except Refused as refused:
        return _refused(request, token, opened, form, refused)
    return _back(token, "?given=yes#answers" if form.answers(ids) else "#questions")


def _stopped(request: Request, token: str, opened: Opened, form: LinesForm) -> HttpResponse | None:
    """The page where nothing can be taken: a newer version stands, or none does any more. All that was typed is kept."""
    if form["fingerprint"].value() != opened.offer.fingerprint:
        return _newer(request, token, opened)
    if not is_open(opened.offer, now=request.now):
        return _too_late(request, token, opened, form, stands_words(opened.offer, now=request.now))
    return None


def _newer(request: Request, token: str, opened: Opened) -> HttpResponse:
    """The newest version, with what was chosen in the one before kept by line; it is answered with its own fingerprint."""
    data = request.POST.copy()
    data["fingerprint"] = opened.offer.fingerprint
    gone = [name for name in data if name.partition("-")[2] not in ("", *opened.known)]
    for name in gone:
        del data[name]
    form = _form(opened, data)
    form.is_valid()
    return _page(request, token, opened, form, wrong=[NEWER])


def _too_late(request: Request, token: str, opened: Opened, form: LinesForm, sentence: str) -> HttpResponse:
    """The answer is not taken, but what was chosen can be sent as a question."""
    names = {line["key"]: line["words"] for line in opened.offer.said["lines"]}
    text = form.words_for(names)
    ask = AskForm(initial={"text": f"I wanted to answer:\n{text}" if text else "", "name": form["name"].value() or ""})
    return _page(request, token, opened, form, wrong=[sentence], ask=ask)


def _again(
    request: Request, token: str, opened: Opened, form: LinesForm, wrong: list[str] | None = None, **more: Any
) -> HttpResponse:
    """The page of the quote with what was chosen, and what is wrong with it at its place."""
    errors = {key: " ".join(text) for key in form.keys if (text := _errors_of(form, key))}
    wrong = [*form.errors.get("id", []), *form.non_field_errors(), *(wrong or [])]
    if "id" in form.errors:
        data: Any = form.data
        form.data = data = data.copy()
        data["id"] = str(new_id())
    return _page(request, token, opened, form, wrong=wrong, errors=errors, **more)


def _errors_of(form: LinesForm, key: str) -> list[str]:
    return [str(error) for part in ("says", "why", "no", "ask") for error in form.errors.get(f"{part}-{key}", [])]


def _look_over(request: Request, token: str, opened: Opened, form: LinesForm) -> HttpResponse:
    ids = {key: now.line.pk for key, now in opened.known.items()}
    says, asks = form.answers(ids), form.questions()
    if not says and not asks:
        return _again(request, token, opened, form, [NOTHING_CHOSEN])
    try:
        settled = settled_by(opened.quote.pk, opened.lines, says) if says else {}
    except Refused as refused:
        return _refused(request, token, opened, form, refused)
    yes = {key for key, said in settled.items() if said == "yes"}
    if over := over_with(opened, yes, now=request.now):
        return _again(request, token, opened, form, over, over=True)
    names = {line["key"]: line["words"] for line in opened.offer.said["lines"]}
    page = chosen_shown(opened, settled) | {"asks": [{"line": names[key], "text": text} for key, text in asks.items()]}
    said = opened.offer.said
    context = {"page": page, "said": said, "firm": said["firm"], "form": form, "at": _at(token), "party": opened.party}
    context["rights"] = rights_shown(said)
    status = 422 if form.errors else 200
    return HttpResponse(render_to_string("quotes/customer/look_over.html", context), status=status)


def _refused(request: Request, token: str, opened: Opened, form: LinesForm, refused: Refused) -> HttpResponse:
    """What the operation refused, at its place, with all that was typed."""
    opened = opened_by(opened.link) or opened
    if isinstance(refused, RefusedLines):
        keys = {now.line.pk: key for key, now in opened.known.items()}
        errors = {keys[pk]: sentence for pk, sentence in refused.lines.items() if pk in keys}
        return _page(request, token, opened, form, errors=errors, wrong=["Look at the lines that are marked below."])
    if isinstance(refused, NotTaken):
        if refused.why == "superseded":
            return _newer(request, token, opened)
        return _too_late(request, token, opened, form, refused.sentence)
    if refused.field in form.fields:
        form.add_error(refused.field, refused.sentence)
        return _look_over(request, token, opened, form)
    return _again(request, token, opened, form, [refused.sentence], over=isinstance(refused, OverLimit))


# --- asking, passing on -----------------------------------------------------------------------------------------------


@_posting
def ask(request: Request, token: str, opened: Opened) -> HttpResponse:
    """A question about the whole quote, or more in a thread, without answering anything."""
    form = AskForm(request.POST)
    if form.is_valid():
        data = form.cleaned_data
        said = {"id": data["id"], "text": data["text"], "name": data["name"], "by": opened.link, "now": request.now}
        try:
            thread = (
                Question.objects.filter(pk=data["question"], quote=opened.quote).first() if data["question"] else None
            )
            if thread:
                ask_further(thread, **said)
            else:
                ask_question(opened.offer, **said)
        except Refused as refused:
            form.add_error(refused.field if refused.field in form.fields else None, refused.sentence)
        else:
            return _back(token, "#questions")
    return _page(request, token, opened, _form(opened), ask=form)


@_posting
def pass_on(request: Request, token: str, opened: Opened) -> HttpResponse:
    """Passes the quote on to a party who may approve more than this one."""
    key = key_in(request.POST.get("party", ""))
    # Only of those offered on the page: a key tried out tells nobody's name.
    offered_to = may_be_passed_to(opened.offer, opened.lines, besides=opened.party.pk, now=request.now)
    party = next((one for one in offered_to if one.pk == key), None)
    sentence = "Choose to whom it is passed on."
    if party is not None:
        try:
            pass_on_to(opened.offer, to_party=party, by=opened.link, now=request.now)
        except Refused as refused:
            sentence = refused.sentence
        else:
            return HttpResponse(
                render_to_string(
                    "quotes/customer/passed_on.html",
                    {
                        "firm": opened.offer.said["firm"],
                        "party": party,
                        "at": _at(token),
                        "number": opened.quote.number,
                    },
                )
            )
    return _page(request, token, opened, _form(opened), wrong=[sentence], over=True)
