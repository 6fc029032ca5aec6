"""Pages of a site's private links: made once, shown once, withdrawn at any time."""

from datetime import timedelta
from uuid import UUID

from django import forms
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache

from jobsite.forms import CreateForm, MomentField, PlainForm
from jobsite.pages import bound, page, show_refusal
from jobsite.people import operations
from jobsite.people.guard import Request, needs
from jobsite.people.invitations import full_address
from jobsite.people.models import PrivateLink
from jobsite.people.rights import Right
from jobsite.people.views.common import FORM, ask
from jobsite.premises.models import Party, Site, Unit
from jobsite.premises.queries.links import links_of
from jobsite.premises.views.common import the_site
from jobsite.refused import Refused
from jobsite.words import when

USUAL_LIFE = timedelta(days=365)
CAUTION = (
    "Whoever has the address can read how the site stands, without signing in. Give it to the person it is for. "
    "It is shown only once; only a fingerprint of it is kept."
)


class LinkForm(CreateForm):
    unit = forms.ModelChoiceField(Unit.objects.none(), label="For", required=False, empty_label="the whole site")
    party = forms.ModelChoiceField(Party.objects.none(), label="Customer or party", required=False, empty_label="none")
    sent_to = forms.CharField(label="Given to", help_text="In your own words: whom, and how.")
    expires_at = MomentField(label="Ends")

    def __init__(self, *args: object, site: Site, **kwargs: object) -> None:
        super().__init__(*args, **kwargs)
        units, parties = self.fields["unit"], self.fields["party"]
        units.queryset = site.units.current().order_by("sort")  # type: ignore[attr-defined]
        mine = Party.objects.filter(roles__unit__site=site) | Party.objects.filter(sites=site)
        parties.queryset = mine.distinct().order_by("sort")  # type: ignore[attr-defined]
        if site.units.filter(whole_site=True).exists():
            del self.fields["unit"]


@needs(Right.SHARE_STATUS)
def links(request: Request, pk: UUID) -> HttpResponse:
    """The private links of a site."""
    site = the_site(request, pk)
    return page(request, "premises/links.html", {"site": site, "rows": links_of(site, now=request.now)})


@never_cache
@needs(Right.SHARE_STATUS)
def link_make(request: Request, pk: UUID) -> HttpResponse:
    """Make a private link; its address is shown this once, so the answer is no redirect."""
    site = the_site(request, pk)
    form = bound(request, LinkForm, site=site, initial={"expires_at": request.now + USUAL_LIFE})
    if form.is_valid():
        try:
            link, token = _make(request, site, form)
        except Refused as refused:
            show_refusal(form, refused)
        else:
            shown = {"site": site, "link": link, "ends": when(link.expires_at), "address": _address(token)}
            return page(request, "premises/link_made.html", shown)
    back = reverse("premises:links", args=[site.pk])
    context = {"form": form, "title": "New private link", "about": f"How {site.name} stands", "back": back}
    return page(request, FORM, context | {"button": "Make the link", "caution": CAUTION})


def _make(request: Request, site: Site, form: LinkForm) -> tuple[PrivateLink, str]:
    unit, party = form.cleaned_data.get("unit"), form.cleaned_data["party"]
    return operations.make_link(
        id=form.cleaned_data["id"],
        purpose=PrivateLink.Purpose.STATUS,
        site=site.pk,
        unit=unit.pk if unit else None,
        party=party.pk if party else None,
        sent_to=form.cleaned_data["sent_to"],
        expires_at=form.cleaned_data["expires_at"],
        by=request.user,
        now=request.now,
    )


def _address(token: str) -> str:
    """Where the link opens; "" where it was made before and is not shown again."""
    return full_address(reverse("status:site", args=[token])) if token else ""


@needs(Right.SHARE_STATUS)
def link_withdraw(request: Request, pk: UUID) -> HttpResponse:
    """Ask whether, and then end a private link at once."""
    sites = Site.objects.visible_to(request.user)
    link = get_object_or_404(PrivateLink.objects.filter(site__in=sites.values("pk")), pk=pk)
    back = reverse("premises:links", args=[link.site])
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
