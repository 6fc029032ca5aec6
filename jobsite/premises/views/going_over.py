"""Pages on what changes hands or places: taken out, recorded twice, handed over, changed for a new one."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse

from jobsite import clock
from jobsite.ids import keys_in
from jobsite.pages import bound, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises import forms, operations, policy, queries
from jobsite.premises.models import Site
from jobsite.premises.views.common import ask, board_at, premises_of, the_board, the_site
from jobsite.words import many

NOT_UNDONE = (
    "This cannot be undone. Everything of the one is the other's from now on; its history is kept and closed, and its "
    "address leads to the other. Where units stay apart, private links to the whole of this site are withdrawn."
)
LINKS_END = (
    "Private links of the former customer are withdrawn, and those that name nobody; messages to them that wait are "
    "dropped. A quote that they have and did not answer is withdrawn, and they are told. What was said and done stays with the site. Share a new link when you know who may see it."
)
TWICE = "The site that stays is the one you choose. Nothing is changed yet."
NEW_BOARD = (
    "What each circuit is stands at the new board as believed, without its device, until somebody verifies it there. What "
    "is open on the old board stays open until its work is closed with proof."
)


@needs(Right.SEE_WORK)
def taken_out(request: Request, pk: UUID) -> HttpResponse:
    """What was taken out at a site, and the buttons that bring it back."""
    site = the_site(request, pk)
    rows = queries.taken_out(site)
    may = {"unit": policy.may_keep_site(request.user, site)}
    keeps = policy.may_keep_premises(request.user, site)
    for row in rows:
        row["may"] = may.get(row["kind"], keeps) and not site.archived_at
    return page(request, "premises/taken_out.html", {"site": site, "rows": rows})


@needs(Right.KEEP_CUSTOMERS)
def merge(request: Request, pk: UUID) -> HttpResponse:
    """Say which site this one is, recorded twice; then look at what goes over, and let it."""
    site = the_site(request, pk)
    others = Site.objects.visible_to(request.user).current().exclude(pk=site.pk)
    into = others.filter(pk__in=keys_in([request.GET.get("into", "")])).first()
    return _choose(request, site) if into is None else _merge(request, site, into)


def _choose(request: Request, site: Site) -> HttpResponse:
    form: Any = bound(request, forms.OtherSiteForm, site=site, user=request.user)
    here = reverse("premises:site_merge", args=[site.pk])
    return ask(
        request,
        form,
        f"{site.name} is recorded twice",
        do=lambda: form.cleaned_data["other"],
        then=lambda other: f"{here}?into={other.pk}",
        back=premises_of(site),
        button="Look at what goes over",
        about=TWICE if form.fields["other"].queryset.exists() else f"{site.customer} has no other site on the list.",
    )


def _merge(request: Request, site: Site, into: Site) -> HttpResponse:
    clashing = queries.clashing(site, into)
    form = bound(request, forms.MergeForm, rows=clashing)
    counts = [many(count, name) for name, count in queries.what_goes_over(site).items()]
    return ask(
        request,
        form,
        f"All of {site.name} goes over to {into.name}",
        do=lambda: operations.merge_sites(
            site, into=into, names=form.names, reason=form.cleaned_data["reason"], by=request.user, now=request.now
        ),
        then=reverse("premises:site_page", args=[into.pk]),
        said=f"Done: all of it is at {into.name}.",
        back=premises_of(site),
        button="Make them one site",
        about=f"{site.one_line} goes over to {into.one_line}: {', '.join(counts)}.",
        caution=NOT_UNDONE,
    )


@needs(Right.KEEP_CUSTOMERS)
def hand_over(request: Request, pk: UUID) -> HttpResponse:
    """Say to which customer a site goes, from when and why."""
    site = the_site(request, pk)
    first = {"version": site.version, "on": clock.local_day(request.now)}
    form = bound(request, forms.HandOverForm, site=site, initial=first)
    return ask(
        request,
        form,
        f"{site.name} goes to another customer",
        do=lambda: operations.hand_over_site(site, by=request.user, now=request.now, **form.cleaned_data),
        then=premises_of(site),
        said=lambda row: f"It is {row.customer}'s site now.",
        back=premises_of(site),
        button="Hand it over",
        about=f"Now the site of {site.customer}.",
        caution=LINKS_END,
    )


@needs(Right.KEEP_PREMISES)
def board_replace(request: Request, pk: UUID) -> HttpResponse:
    """Record that a board was changed for a new one."""
    row = the_board(request, pk)
    form = bound(request, forms.ReplaceBoardForm, initial={"designation": row.designation})
    return ask(
        request,
        form,
        f"{row.designation} was changed for a new board",
        do=lambda: operations.replace_board(row, by=request.user, now=request.now, **form.cleaned_data),
        then=board_at,
        said=lambda new: f"{new.designation} is new. Next: verify its ways.",
        back=board_at(row),
        button="Record the new board",
        about=f"At {row.site.name}",
        caution=NEW_BOARD,
    )
