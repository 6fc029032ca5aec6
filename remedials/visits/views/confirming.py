"""Whether the time of a visit suits: asked and recorded by the office, answered by the customer on a private page."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from jobsite.addresses import address
from jobsite.firm.queries import the_firm
from jobsite.messages.queries import warning
from jobsite.pages import bound, form_page
from jobsite.people.guard import Request, needs, private
from jobsite.people.links import find_link
from jobsite.people.models import PrivateLink
from jobsite.people.opening import no_such_link
from jobsite.people.operations import count_use
from jobsite.people.rights import Right
from jobsite.refused import Refused
from jobsite.words import dialled, span, when
from remedials.visits import operations
from remedials.visits.choices import Answered, AskedHow
from remedials.visits.forms.confirming import AnswerForm, AskForm, SuitsForm
from remedials.visits.models import Confirmation, Visit
from remedials.visits.operations.confirming import Superseded, why_not_answer
from remedials.visits.views.common import the_visit

SAID = {
    Answered.CONFIRMED: "This time suits.",
    Answered.CANNOT: "This time does not suit. We are in touch about another.",
}


@needs(Right.BOOK)
def ask(request: Request, pk: UUID) -> HttpResponse:
    """Ask whether the time suits: by e-mail with a private page, or note how it was asked."""
    row = the_visit(request, pk)
    form = bound(request, AskForm, email=row.site.customer.email, initial={})
    return form_page(
        request,
        "visits/ask_suits.html",
        form,
        {
            "visit": row,
            "when": span(row.start, row.end),
            "back": address("visits:visit", row.pk),
            "came_back": warning(row.site.customer.email),
        },
        do=lambda: operations.ask_whether_it_suits(row, by=request.user, now=request.now, **form.cleaned_data),
        then=address("visits:visit", row.pk),
        said="Asked whether the time suits.",
    )


@needs(Right.BOOK)
def answered(request: Request, pk: UUID) -> HttpResponse:
    """Record what the customer said of the time, by telephone or otherwise."""
    row = the_visit(request, pk)
    form = bound(request, AnswerForm, initial={"whom": row.site.customer.name})
    return form_page(
        request,
        "visits/answered.html",
        form,
        {"visit": row, "when": span(row.start, row.end), "back": address("visits:visit", row.pk)},
        do=lambda: operations.record_confirmation(row, by=request.user, now=request.now, **form.cleaned_data),
        then=address("visits:visit", row.pk),
        said="Answer recorded.",
    )


@private
@require_http_methods(["GET", "HEAD", "POST"])
def asked(request: HttpRequest, token: str) -> HttpResponse:
    """The customer's page of a visit. Opening it answers nothing; only what is posted does."""
    now = request.now  # type: ignore[attr-defined]
    link = find_link(token, purpose=PrivateLink.Purpose.VISIT, now=now)
    visit = Visit.objects.select_related("site").filter(pk=link.thing).first() if link else None
    if link is None or visit is None:
        return no_such_link(request)
    if request.method == "POST":
        return _answer(request, token, visit, link)
    if request.method == "GET":
        count_use(link, now=now)
    return _page(visit, link, SuitsForm(), now=now)


def _answer(request: HttpRequest, token: str, visit: Visit, link: PrivateLink) -> HttpResponse:
    now, form = request.now, SuitsForm(request.POST)  # type: ignore[attr-defined]
    if not form.is_valid():
        return _page(visit, link, form, now=now, status=422)
    try:
        operations.answer_by_link(visit, link=link, now=now, **form.cleaned_data)
    except Superseded:
        visit.refresh_from_db()
        return _page(visit, link, form, now=now, status=422)
    except Refused as refused:
        form.add_error(refused.field if refused.field in form.fields else None, refused.sentence)
        return _page(visit, link, form, now=now, status=422)
    response = HttpResponse(status=303)
    response["Location"] = reverse("visits:asked", args=[token])
    return response


def _page(visit: Visit, link: PrivateLink, form: SuitsForm, *, now: object, status: int = 200) -> HttpResponse:
    over = why_not_answer(visit, link, now)  # type: ignore[arg-type]
    last = visit.confirmations.filter(start=visit.start).exclude(answered=Answered.ASKED).order_by("-at", "-pk").first()
    context = {
        "over": over,
        "when": "" if over else span(visit.start, visit.end),
        "site": visit.site,
        "outage": visit.outage,
        "last": _last(last) if last and not over else None,
        "form": form,
    }
    return _shown("visits/customer/asked.html", context, status)


def _last(row: Confirmation) -> dict[str, str]:
    """What was answered; the words only of who wrote them here: what the office noted of a call is its own."""
    own = row.words if row.how == AskedHow.LINK else ""
    return {"said": SAID[Answered(row.answered)], "who": row.whom, "at": when(row.at), "words": own}


def _shown(template: str, context: dict[str, object], status: int) -> HttpResponse:
    """Rendered without the request: no session is read, so no cookie is set."""
    firm = the_firm()
    ring = {"name": firm.name, "phone": firm.phone, "dial": dialled(firm.phone)}
    return HttpResponse(render_to_string(template, context | {"firm": ring}), status=status)
