"""Sending a version, its document, withdrawing it, chasing its answer, private links to hand over."""

from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils.safestring import mark_safe
from django.views.decorators.cache import never_cache

from jobsite import clock
from jobsite.addresses import address
from jobsite.documents.qr import qr_svg
from jobsite.downloads import as_pdf
from jobsite.forms import PlainForm
from jobsite.ledger.files import read_file
from jobsite.messages.queries import warning
from jobsite.pages import bound, form_page, page, show_refusal
from jobsite.people.guard import Request, needs
from jobsite.people.models import PrivateLink
from jobsite.people.operations import withdraw_link
from jobsite.people.rights import Right
from jobsite.people.views.common import FORM, ask
from jobsite.refused import Refused
from jobsite.words import day, when
from remedials.quotes.forms.sending import (
    ChaseForm,
    HandOverForm,
    SendForm,
    TakeOnForm,
    WithdrawForm,
    initial_of_send,
)
from remedials.quotes.models import Offer, Quote
from remedials.quotes.operations import following
from remedials.quotes.operations import sending as operations
from remedials.quotes.operations.mailing import document_name, link_address
from remedials.quotes.queries.sending import preview
from remedials.quotes.states import State
from remedials.quotes.views.common import the_quote

LINK_CAUTION = (
    "Whoever has the address can read this quote and answer it. Give it to the person it is for. It is shown only once: "
    "the address itself is kept nowhere."
)


def _version(request: Request, quote: Quote) -> Offer:
    """The version that `?version=` names, else the one with the customer, else the latest. 404 where there is none."""
    wanted = request.GET.get("version", "")
    offers = quote.offers.select_related("quote__party", "quote__variation_of", "file").order_by("-number")
    if wanted:
        number = int(wanted) if wanted.isascii() and wanted.isdigit() and len(wanted) < 6 else -1
        return get_object_or_404(offers, number=number)
    found = offers.filter(state=State.SENT).first() or offers.first()
    if found is None:
        raise Http404
    return found


@needs(Right.PRICE)
def document(request: Request, pk: UUID) -> HttpResponse:
    """The document of a version: as it was kept byte for byte; of a draft as it would be sent, marked as one."""
    offer = _version(request, the_quote(request, pk))
    if offer.file is not None:
        return as_pdf(read_file(offer.file), document_name(offer).removesuffix(".pdf"))
    try:
        made = preview(offer, now=request.now)
    except Refused as refused:
        return page(
            request, "quotes/no_document.html", {"offer": offer, "refused": refused, "back": _home(offer.quote)}
        )
    return as_pdf(made.pdf, f"draft-of-{document_name(offer).removesuffix('.pdf')}")


def _home(quote: Quote) -> str:
    return address("quotes:quote", quote.pk)


@needs(Right.PRICE)
def send(request: Request, pk: UUID) -> HttpResponse:
    """Send the draft of a quote: to whom, how, with what it comes to and what should be looked at before."""
    quote = the_quote(request, pk)
    offer = quote.offers.select_related("quote__party", "quote__owner").order_by("-number").first()
    if offer is None:
        raise Http404
    if offer.state != State.DRAFT and request.method != "POST":
        return redirect(_home(quote))
    form = bound(request, SendForm, initial=initial_of_send(offer))
    return form_page(
        request,
        "quotes/send.html",
        form,
        {
            "title": f"Send version {offer.number} of quote {quote.number}",
            "offer": offer,
            "preview": address("quotes:document", quote.pk, version=offer.number),
            "free": offer.lines.filter(price=0, kind="work").count(),
            "dangerous": offer.lines.filter(code="C1").exists(),
            "until": day(offer.valid_until),
            "stands": quote.offers.filter(state=State.SENT).first(),
            "came_back": warning(quote.party.email),
            "back": _home(quote),
            "button": "Send it",
        },
        do=lambda: operations.send_offer(offer, by=request.user, now=request.now, **form.cleaned_data),
        then=_home(quote),
        said=lambda sent: (
            f"{sent} is on its way to {sent.sent_to}."
            if sent.sent_how == "email"
            else f"{sent} is ready: print its document and hand it over."
        ),
    )


@needs(Right.PRICE)
def withdraw(request: Request, pk: UUID) -> HttpResponse:
    """Withdraw the version that is with the customer, with the reason that they are told."""
    quote = the_quote(request, pk)
    offer = quote.offers.filter(state__in=[State.SENT, State.WITHDRAWN]).order_by("-number").first()
    if offer is None:
        return redirect(_home(quote))
    offer.quote = quote
    form = bound(request, WithdrawForm)
    return ask(
        request,
        form,
        f"Withdraw version {offer.number} of quote {quote.number}?",
        do=lambda: operations.withdraw_offer(offer, by=request.user, now=request.now, **form.cleaned_data),
        then=_home(quote),
        said="Withdrawn. The customer's page says so.",
        back=_home(quote),
        button="Withdraw it",
        about=f"Sent {when(offer.sent_at)} to {offer.sent_to}. What was accepted already stays accepted.",
        caution="A withdrawal counts once it has reached the customer, and only before they accept (read in notes on the law of "
        "contract; ask your adviser where it matters). They are written to where we have an address: where we have none, tell them yourself now.",
    )


@needs(Right.PRICE)
def chase(request: Request, pk: UUID) -> HttpResponse:
    """Note what was heard about the answer to a quote, and when to ask next."""
    quote = the_quote(request, pk)
    form = bound(request, ChaseForm)
    return ask(
        request,
        form,
        f"Chase the answer to quote {quote.number}",
        do=lambda: following.chase_quote(quote, by=request.user, now=request.now, **form.cleaned_data),
        then=_home(quote),
        said="Noted.",
        back=_home(quote),
        button="Save",
        about=f"{quote.party.name}. {_stands_until(quote)}",
    )


def _stands_until(quote: Quote) -> str:
    offer = quote.offers.filter(state=State.SENT).first()
    return f"Version {offer.number} stands until {day(offer.valid_until)}." if offer else ""


@needs(Right.PRICE)
def take_on(request: Request, pk: UUID) -> HttpResponse:
    """Give a quote that is with the customer to somebody, with the day on which its answer is chased."""
    quote = the_quote(request, pk)
    chase_on = quote.chase_on or clock.local_day(request.now)
    form = bound(request, TakeOnForm, initial={"owner": request.user.pk, "chase_on": chase_on})
    return ask(
        request,
        form,
        f"Who follows up quote {quote.number}?",
        do=lambda: following.take_on_quote(quote, by=request.user, now=request.now, **form.cleaned_data),
        then=_home(quote),
        said=lambda row: f"{row.owner} has it now.",
        back=_home(quote),
        button="Save",
        about=f"It is with {quote.owner} now. {_stands_until(quote)}",
    )


@never_cache
@needs(Right.PRICE)
def link_make(request: Request, pk: UUID) -> HttpResponse:
    """Make a private link to hand over; its address is shown this once, so the answer is no redirect."""
    quote = the_quote(request, pk)
    form = bound(request, HandOverForm)
    if form.is_valid():
        try:
            link, token = following.make_quote_link(quote, by=request.user, now=request.now, **form.cleaned_data)
        except Refused as refused:
            show_refusal(form, refused)
        else:
            where = link_address(token) if token else ""
            shown = {
                "quote": quote,
                "link": link,
                "ends": when(link.expires_at),
                "address": where,
                "back": _home(quote),
            }
            return page(request, "quotes/link_made.html", shown | {"code": _code(where) if where else ""})
    context = {
        "form": form,
        "title": "A private link to hand over",
        "about": f"To read and answer quote {quote.number}",
    }
    return page(request, FORM, context | {"back": _home(quote), "button": "Make the link", "caution": LINK_CAUTION})


def _code(where: str) -> str:
    """The address as a QR code, drawn in the page: our own drawing of our own address."""
    drawn = qr_svg(where).decode()
    return mark_safe(drawn[drawn.index("<svg") :])  # noqa: S308


@needs(Right.PRICE)
def link_withdraw(request: Request, pk: UUID) -> HttpResponse:
    """Ask whether, and then end a private link to a quote at once."""
    mine = PrivateLink.objects.filter(thing__in=Quote.objects.visible_to(request.user).values("pk"))
    link = get_object_or_404(mine.filter(purpose=PrivateLink.Purpose.QUOTE), pk=pk)
    back = address("quotes:quote", link.thing)
    return ask(
        request,
        bound(request, PlainForm),
        "Withdraw this private link?",
        do=lambda: withdraw_link(link, by=request.user, now=request.now),
        then=back,
        said="Withdrawn: it opens nothing any more.",
        back=back,
        button="Withdraw the link",
        about=f"Given to: {link.sent_to or 'not said'}. Made {when(link.made_at)}.",
        caution="Its address opens nothing from then on, and cannot be got back: whoever needs one is given a new link.",
    )
