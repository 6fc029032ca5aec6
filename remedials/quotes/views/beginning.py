"""A new quote, and a variation found on site."""

from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import redirect

from jobsite import clock
from jobsite.addresses import address
from jobsite.ids import key_in, keys_in
from jobsite.pages import bound, form_page, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Party, Site
from remedials.quotes.forms.building import NewForm, VariationForm
from remedials.quotes.models import Offer, Quote
from remedials.quotes.operations import drafting
from remedials.quotes.queries.offerable import offerable, parties_of
from remedials.quotes.views.common import the_quote
from remedials.works.models import Remedial

USUAL_NAME = "Remedial works"


@needs(Right.PRICE)
def new(request: Request) -> HttpResponse:
    """A quote for remedials of a site (`?site=`), of all sites of a customer (`?party=`), or those named (`?remedial=`)."""
    wanted = keys_in(request.GET.getlist("remedial"))
    party = _party(request)
    sites = _sites(request, party, wanted)
    if not sites:
        return page(request, "quotes/nothing.html", {"sites": address("desk:sites")})
    return _begin(request, NewForm, sites, party=party, wanted=wanted)


def _party(request: Request) -> Party | None:
    key = key_in(request.GET.get("party", ""))
    return Party.objects.visible_to(request.user).filter(pk=key).first() if key else None


def _sites(request: Request, party: Party | None, remedials: list[UUID]) -> list[Site]:
    """The sites that the address asks for: named, the party's, or those of the remedials."""
    rows = Site.objects.visible_to(request.user).current()
    if named := keys_in(request.GET.getlist("site")):
        rows = rows.filter(pk__in=named)
    elif remedials:
        rows = rows.filter(pk__in=Remedial.objects.filter(pk__in=remedials).values("site"))
    elif party:
        rows = rows.filter(pk__in=Site.objects.filter(customer=party).values("pk")) | rows.filter(
            units__parties__party=party
        )
    else:
        return []
    return list(rows.distinct().order_by("sort", "pk")[:50])


@needs(Right.PRICE)
def variation(request: Request, pk: UUID) -> HttpResponse:
    """What was found on site while a quote's work was done: a small quote of its own."""
    first = the_quote(request, pk)
    sites = list(Site.objects.current().filter(quotes=first).order_by("sort", "pk"))
    if not sites:
        raise Http404
    return _begin(request, VariationForm, sites, party=first.party, wanted=[], variation_of=first)


def _made_by(request: Request) -> Quote | None:
    """The quote that this form made already: a second click goes on to it, though what it offers is taken now."""
    key = key_in(request.POST.get("id", ""))
    return Quote.objects.visible_to(request.user).filter(pk=key, made_by=request.user).first() if key else None


def _begin(
    request: Request,
    form_class: type[NewForm],
    sites: list[Site],
    *,
    party: Party | None,
    wanted: list[UUID],
    variation_of: Quote | None = None,
) -> HttpResponse:
    """The page that begins a quote at `sites`; `wanted` are ticked at first, else everything that is free."""
    if made := _made_by(request):
        return redirect(address("quotes:build", made.pk))
    shown, today = offerable(sites), clock.local_day(request.now)
    parties = parties_of(sites, today=today, besides=party)
    chosen = [str(key) for key in wanted] if wanted or variation_of else shown["free"]
    initial: dict[str, Any] = {
        "remedials": [key for key in chosen if key in shown["free"]],
        "owner": request.user.pk,
        "party": str(party.pk) if party else next((key for key, _ in parties), ""),
        "name": f"Found on site: {variation_of.name}"[:200] if variation_of else USUAL_NAME,
    }
    form = bound(request, form_class, parties=parties, offered=shown["free"], initial=initial)
    context = {
        "sites": [{"name": site.name, "address": address("desk:site", site.pk)} for site in sites],
        "offerable": shown,
        "variation_of": variation_of,
        "back": address("quotes:quote", variation_of.pk) if variation_of else address("desk:site", sites[0].pk),
        "party_new": address("premises:site_edit", sites[0].pk),
    }

    def do() -> Offer:
        lines = form.lines()
        said = dict(form.cleaned_data)
        to = Party.objects.get(pk=said.pop("party"))
        return drafting.begin_quote(
            party=to, sites=sites, variation_of=variation_of, by=request.user, now=request.now, **lines, **said
        )

    return form_page(
        request, "quotes/new.html", form, context, do=do,
        then=lambda offer: address("quotes:build", offer.quote_id),
        said=lambda offer: f"Quote {offer.quote.number} begun.",
    )  # fmt: skip
