"""Pages of private links: made once, shown once or sent, found again, withdrawn at any time."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.contrib import messages as notices
from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache

from jobsite import clock
from jobsite.forms import PlainForm
from jobsite.messages.queries import warning
from jobsite.pages import bound, next_address, page, pager, show_refusal
from jobsite.people import operations
from jobsite.people.guard import Request, needs
from jobsite.people.models import PrivateLink
from jobsite.people.opening import wrong_links_tried
from jobsite.people.rights import Right
from jobsite.people.views.common import FORM, ask
from jobsite.premises.forms.links import MAIL, LinkForm, NarrowLinks, PortfolioLinkForm
from jobsite.premises.models import Party, Site, Unit
from jobsite.premises.operations.sharing import (
    WHY,
    Opens,
    letter,
    link_address,
    opens_portfolio,
    opens_site,
    send_link,
)
from jobsite.premises.queries.links import all_links, links_of
from jobsite.premises.views.common import seen, the_site
from jobsite.refused import Refused
from jobsite.words import when

USUAL_LIFE = timedelta(days=365)
CAUTION = (
    "Whoever has the address can read the page without signing in. Give it to the person it is for. "
    "It is shown only once; only a fingerprint of it is kept."
)
SENT = "The link goes to {} within a few minutes. Its address is kept nowhere here."


@needs(Right.SHARE_STATUS)
def every_link(request: Request) -> HttpResponse:
    """Who was given which link: by words, purpose, customer, and whether it still opens."""
    form = NarrowLinks(request.GET)
    chosen = form.cleaned_data if form.is_valid() else {}
    which = {"": "open", "all": ""}.get(chosen.get("which", ""), chosen.get("which", ""))
    customer = chosen.get("customer")
    found = all_links(
        request.user, now=request.now, words=chosen.get("q", ""), which=which, purpose=chosen.get("purpose", ""),
        customer=customer, after=request.GET.get("after", ""),
    )  # fmt: skip
    party = Party.objects.visible_to(request.user).filter(pk=customer).first() if customer else None
    context = {"rows": found.rows, "pager": pager(request, found), "filter": form, "narrowed": any(chosen.values())}
    context |= {"party": party, "tried": wrong_links_tried(now=request.now), "sites": True}
    return page(request, "premises/every_link.html", context)


@needs(Right.SHARE_STATUS)
def links(request: Request, pk: UUID) -> HttpResponse:
    """The private links of a site."""
    site = the_site(request, pk)
    return page(request, "premises/links.html", {"site": site, "rows": links_of(site, now=request.now)})


@never_cache
@needs(Right.SHARE_STATUS)
def link_make(request: Request, pk: UUID) -> HttpResponse:
    """Make a private link to a site or a unit; its address is shown this once, or sent and shown to nobody."""
    site = the_site(request, pk)
    form = bound(
        request,
        LinkForm,
        site=site,
        today=clock.local_day(request.now),
        initial={"expires_at": request.now + USUAL_LIFE},
    )
    unit: Unit | None = form.cleaned_data.get("unit") if form.is_valid() else None
    where = f"{unit.name}, {site.name}" if unit else site.name
    return _make(
        request,
        form,
        {"purpose": PrivateLink.Purpose.STATUS, "site": site.pk, "unit": unit.pk if unit else None},
        party=form.cleaned_data.get("party") if form.is_valid() else None,
        opened=opens_site(site, unit),
        title="New private link",
        back=reverse("premises:links", args=[site.pk]),
        shown=f"how {where} stands",
    )


@never_cache
@needs(Right.SHARE_STATUS)
def portfolio_link(request: Request, pk: UUID) -> HttpResponse:
    """Make a private link to all sites and units of a customer."""
    party = seen(request, Party, pk)
    first = {"expires_at": request.now + USUAL_LIFE, "email": party.email}
    form = bound(request, PortfolioLinkForm, initial=first)
    return _make(
        request,
        form,
        {"purpose": PrivateLink.Purpose.PORTFOLIO, "site": None},
        party=party,
        opened=opens_portfolio(),
        title=f"New private link to all sites of {party.name}",
        back=reverse("premises:party", args=[party.pk]),
        shown=f"how all sites of {party.name} stand, also those that come to them later",
    )


def _make(
    request: Request,
    form: LinkForm | PortfolioLinkForm,
    opens: dict[str, Any],
    *,
    party: Party | None,
    opened: Opens,
    title: str,
    back: str,
    shown: str,
) -> HttpResponse:
    """The form; what it makes is shown in the answer itself, which is no redirect, or goes out as an e-mail."""
    if form.is_valid():
        data = form.cleaned_data
        opens |= {"id": data["id"], "expires_at": data["expires_at"], "by": request.user, "now": request.now}
        try:
            if data["how"] == MAIL and party is not None:
                body = letter(party, about=opened.about, note=data["note"], expires_at=data["expires_at"])
                send_link(party=party, address=data["email"], subject=opened.subject, body=body, why=WHY, **opens)
                notices.success(request, SENT.format(data["email"]))
                return HttpResponseRedirect(back)
            key = party.pk if party else None
            link, token = operations.make_link(party=key, sent_to=data["sent_to"], **opens)
        except Refused as refused:
            show_refusal(form, refused)
        else:
            context = {"link": link, "ends": when(link.expires_at), "address": link_address(link, token)}
            return page(request, "premises/link_made.html", context | {"back": back, "shown": shown})
    context = {"form": form, "title": title, "about": f"It shows {shown}.", "back": back, "button": "Make the link"}
    came_back = warning(str(form["email"].value() or ""))
    return page(request, FORM, context | {"caution": f"{CAUTION} {came_back}".strip()})


@needs(Right.SHARE_STATUS)
def link_withdraw(request: Request, pk: UUID) -> HttpResponse:
    """Ask whether, and then end a private link at once."""
    link = get_object_or_404(PrivateLink, pk=pk)
    if link.site and not Site.objects.visible_to(request.user).filter(pk=link.site).exists():
        raise Http404
    home = reverse("premises:links", args=[link.site]) if link.site else reverse("premises:party", args=[link.party])
    back = next_address(request, home)
    return ask(
        request,
        bound(request, PlainForm),
        "Withdraw this private link?",
        do=lambda: operations.withdraw_link(link, by=request.user, now=request.now),
        then=back,
        said="Withdrawn: it opens nothing any more.",
        back=back,
        button="Withdraw the link",
        about=f"Given to: {link.sent_to or 'not said'}. Made {when(link.made_at)}.",
        caution="Its address opens nothing from then on, and cannot be got back: whoever needs one is given a new link.",
    )
