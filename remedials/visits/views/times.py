"""Times offered: the office's pages, and the customer's behind a private link. Opening the link chooses nothing."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseBase, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from jobsite.addresses import address
from jobsite.firm.queries import the_firm
from jobsite.ids import key_in
from jobsite.messages.queries import warning
from jobsite.pages import act, bound, form_page, page, show_refusal
from jobsite.people.guard import Request, needs, private
from jobsite.people.invitations import full_address
from jobsite.people.links import find_link
from jobsite.people.models import PrivateLink
from jobsite.people.opening import no_such_link
from jobsite.people.operations import count_use
from jobsite.people.rights import Right
from jobsite.refused import Refused
from remedials.visits.forms.times import AnswerForm, HandOverForm, NoneForm, OfferForm
from remedials.visits.models import OfferedTime, TimesOffer
from remedials.visits.operations import times, times_links, times_mail
from remedials.visits.queries import times as queries
from remedials.visits.views.getting_in import ASK, home, the_site

View = Callable[[Request, str, PrivateLink, TimesOffer], HttpResponse]
CHOOSE = "Choose one of the times, or say that none suits."


def _the_offer(request: Request, pk: UUID) -> TimesOffer:
    rows = TimesOffer.objects.visible_to(request.user).select_related("site", "visit")
    return get_object_or_404(rows, pk=pk)


@needs(Right.BOOK)
def times_offer_new(request: Request, pk: UUID) -> HttpResponse:
    """Offer some times for one visit."""
    site = the_site(request, pk)
    form = bound(request, OfferForm, site=site)
    context = {
        "title": "Offer times", "place": site.name, "back": home(site.pk), "button": "Offer these times",
        "about": "Nothing is held for it: a time that is taken meanwhile is no longer offered.",
    }  # fmt: skip
    return form_page(
        request, ASK, form, context, then=lambda offer: address("visits:times_offer", offer.pk), said="Now make the link.",
        do=lambda: times.offer_times(site, by=request.user, now=request.now, **form.cleaned_data),
    )  # fmt: skip


@needs(Right.BOOK)
def times_offer(request: Request, pk: UUID) -> HttpResponse:
    """An offer: its times, its links, what came of it."""
    offer = _the_offer(request, pk)
    context = {
        "offer": queries.office_page(offer, now=request.now), "site": offer.site, "back": home(offer.site_id),
        "link": address("visits:times_link", offer.pk), "withdraw": address("visits:times_withdraw", offer.pk),
    }  # fmt: skip
    return page(request, "visits/times_offer.html", context)


@never_cache
@needs(Right.BOOK)
def times_link(request: Request, pk: UUID) -> HttpResponse:
    """Make a private link and e-mail it, or show its address this once to hand over, so that answer is no redirect."""
    offer = _the_offer(request, pk)
    back = address("visits:times_offer", offer.pk)
    form = bound(request, HandOverForm, initial={"how": "hand"} | queries.whom_to_ask(offer))
    if form.is_valid():
        try:
            return _sent(request, offer, form.cleaned_data, back)
        except Refused as refused:
            show_refusal(form, refused)
    context = {"form": form, "title": "A private link to choose a time", "place": offer.site.name, "back": back}
    caution = "Whoever has the address can choose a time: pass it on with care."
    caution = f"{caution} {warning(form.initial.get('email', ''))}".strip()
    return page(request, ASK, context | {"button": "Make the link", "caution": caution})


def _sent(request: Request, offer: TimesOffer, typed: dict[str, Any], back: str) -> HttpResponse:
    who = {"by": request.user, "now": request.now, "id": typed["id"], "sent_to": typed["sent_to"]}
    if typed["how"] == "email":
        times_mail.send_times(offer, email=typed["email"], **who)
        messages.success(request, f"It goes to {typed['email']} now, and stands among the attempts.")
        return HttpResponseRedirect(back)
    link, token = times_links.make_times_link(offer, **who)
    where = full_address(_at(token)) if token else ""
    return page(request, "visits/times_link.html", {"link": link, "address": where, "back": back})


@require_POST
@needs(Right.BOOK)
def times_withdraw(request: Request, pk: UUID) -> HttpResponse:
    """Withdraw an offer; its links open nothing any more."""
    offer = _the_offer(request, pk)
    then = address("visits:times_offer", offer.pk)
    return act(
        request, lambda: times.withdraw_times(offer, by=request.user, now=request.now), then=then, said="Withdrawn."
    )


# --- the customer's page ----------------------------------------------------------------------------------------------


def _with_link(view: View) -> Callable[..., HttpResponseBase]:
    """Gives `view` what the link opens; one and the same answer for a wrong, an expired and a withdrawn link."""

    @wraps(view)
    def opened(request: HttpRequest, token: str) -> HttpResponseBase:
        link = find_link(token, purpose=PrivateLink.Purpose.TIMES, now=request.now)  # type: ignore[attr-defined]
        offer = queries.opened_by(link) if link else None
        if link is None or offer is None:
            return no_such_link(request)
        return view(request, token, link, offer)  # type: ignore[arg-type]

    return opened


def _posting(view: View) -> Callable[..., HttpResponseBase]:
    """For what is only posted: opened some other way (a mail scanner, the back button) it leads to the times."""

    @wraps(view)
    def posted(request: Request, token: str, link: PrivateLink, offer: TimesOffer) -> HttpResponse:
        if request.method != "POST":
            return HttpResponseRedirect(_at(token))
        return view(request, token, link, offer)

    return private(require_http_methods(["GET", "HEAD", "POST"])(_with_link(posted)))


def _at(token: str) -> str:
    return reverse("visits:times", args=[token])


def _page(request: Request, token: str, offer: TimesOffer, *wrong: str, none: Any = None) -> HttpResponse:
    shown = queries.customer_page(offer, now=request.now)
    context = {"page": shown, "firm": shown["firm"], "at": _at(token), "wrong": wrong, "none": none or NoneForm()}
    # Rendered without the request: no session is read, no token made, so no cookie is set.
    return HttpResponse(render_to_string("visits/times.html", context), status=422 if wrong else 200)


@private
@require_safe
@_with_link
def chosen(request: Request, token: str, link: PrivateLink, offer: TimesOffer) -> HttpResponse:
    """The times as they stand. Opening it changes nothing but the count of its uses."""
    if request.method == "GET":
        count_use(link, now=request.now)
    return _page(request, token, offer)


@_posting
def choose(request: Request, token: str, link: PrivateLink, offer: TimesOffer) -> HttpResponse:
    """The time that was chosen, looked over; confirmed with a name, it is booked."""
    key = key_in(request.POST.get("time", ""))
    time = next((one for one in offer.times.all() if one.pk == key), None)
    if time is None:
        return _page(request, token, offer, CHOOSE)
    if "confirm" not in request.POST:
        return _look_over(token, offer, time, AnswerForm())
    form = AnswerForm(request.POST)
    if not form.is_valid():
        return _look_over(token, offer, time, form)
    try:
        times.choose_time(offer, time, link=link, now=request.now, **form.cleaned_data)
    except Refused as refused:
        fresh = queries.opened_by(link) or offer
        return _page(request, token, fresh, refused.sentence)
    return HttpResponseRedirect(_at(token))


def _look_over(token: str, offer: TimesOffer, time: OfferedTime, form: AnswerForm) -> HttpResponse:
    context = {
        "firm": the_firm(), "at": _at(token), "form": form, "time": str(time.pk), "words": queries.span(time.start, time.end),
        "place": offer.site.one_line,
    }  # fmt: skip
    return HttpResponse(render_to_string("visits/times_confirm.html", context), status=422 if form.errors else 200)


@_posting
def none(request: Request, token: str, link: PrivateLink, offer: TimesOffer) -> HttpResponse:
    """None of the times suits, because."""
    form = NoneForm(request.POST)
    if not form.is_valid():
        return _page(request, token, offer, "Write your name, and why none suits.", none=form)
    try:
        times.none_suits(offer, link=link, now=request.now, **form.cleaned_data)
    except Refused as refused:
        return _page(request, token, queries.opened_by(link) or offer, refused.sentence, none=form)
    return HttpResponseRedirect(_at(token))
