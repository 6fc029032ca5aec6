"""Pages of getting in to a site: when, and whom to ask."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from jobsite.addresses import address
from jobsite.pages import act, bound, form_page, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Site, Unit
from remedials.visits.forms import getting_in as forms
from remedials.visits.models import AccessTime, ClosedDays, OccupierNote
from remedials.visits.operations import access
from remedials.visits.queries import getting_in as queries

ASK = "visits/ask.html"
NEW = {
    "time": "access_time_new",
    "closed": "closed_days_new",
    "see_to": "see_to_new",
    "attempt": "attempt_new",
    "letter": "letter_new",
    "evidence": "evidence",
    "offer": "times_offer_new",
    "key": "key_new",
    "code": "code_new",
}


def the_site(request: Request, pk: UUID) -> Site:
    """The site if this person may see it, else 404."""
    return get_object_or_404(Site.objects.visible_to(request.user).select_related("customer"), pk=pk)


def home(site: UUID) -> str:
    """The page of getting in at a site."""
    return address("visits:getting_in", site)


def ask(request: Request, form: Any, site: Site, title: str, button: str, **more: Any) -> HttpResponse:
    """A form about getting in to `site` on a page of its own; goes back to the page of getting in.

    `hold`: what `held` says, of a form that is usable without signal.
    """
    about: dict[str, Any] = {name: more.pop(name) for name in ("about", "caution") if name in more}
    about |= more.pop("hold", {})
    then: dict[str, Any] = {"then": home(site.pk)}
    context = {"title": title, "place": site.name, "button": button, "back": home(site.pk), **about}
    return form_page(request, ASK, form, context, **(then | more))


@never_cache
@needs(Right.SEE_WORK)
def getting_in(request: Request, pk: UUID) -> HttpResponse:
    """Times, whom to ask, what to see to, attempts, keys and codes of a site, as far as this person may see them."""
    site = the_site(request, pk)
    context = {
        "site": site,
        "back": address("desk:site", site.pk),
        "in": queries.site_page(site, request.user, now=request.now),
        "office": request.user.may(Right.BOOK) and not request.user.subcontractor,
        "sub": request.user.subcontractor,
        "new": {name: address(f"visits:{view}", site.pk) for name, view in NEW.items()},
    }
    return page(request, "visits/getting_in.html", context)


@needs(Right.BOOK)
def access_time_new(request: Request, pk: UUID) -> HttpResponse:
    """A time of the week at which people are let in."""
    site = the_site(request, pk)
    form = bound(request, forms.AccessTimeForm, site=site)
    return ask(
        request, form, site, "When people are let in", "Add the time", said="Added.",
        do=lambda: access.add_access_time(site, by=request.user, now=request.now, **form.cleaned_data),
    )  # fmt: skip


@require_POST
@needs(Right.BOOK)
def access_time_remove(request: Request, pk: UUID) -> HttpResponse:
    """Take a time of the week off."""
    row = get_object_or_404(AccessTime.objects.visible_to(request.user), pk=pk)
    return act(
        request, lambda: access.remove_access_time(row, by=request.user, now=request.now), then=home(row.site_id),
        said="Taken off.",
    )  # fmt: skip


@needs(Right.BOOK)
def closed_days_new(request: Request, pk: UUID) -> HttpResponse:
    """Days on which nobody may work there."""
    site = the_site(request, pk)
    form = bound(request, forms.ClosedDaysForm, site=site)
    return ask(
        request, form, site, "Closed days", "Add the days", said="Added.",
        do=lambda: access.add_closed_days(site, by=request.user, now=request.now, **form.cleaned_data),
    )  # fmt: skip


@require_POST
@needs(Right.BOOK)
def closed_days_remove(request: Request, pk: UUID) -> HttpResponse:
    """Take closed days off."""
    row = get_object_or_404(ClosedDays.objects.visible_to(request.user), pk=pk)
    return act(
        request, lambda: access.remove_closed_days(row, by=request.user, now=request.now), then=home(row.site_id),
        said="Taken off.",
    )  # fmt: skip


@never_cache
@needs(Right.BOOK)
def occupier(request: Request, pk: UUID) -> HttpResponse:
    """Whom to ask at a unit, and what to mind there."""
    unit = get_object_or_404(Unit.objects.visible_to(request.user).select_related("site"), pk=pk)
    note = OccupierNote.objects.filter(unit=unit).first() or OccupierNote(unit=unit, version=0)
    names = ("contact", "phone", "email", "best_times", "mind", "loses_power_badly", "version")
    form = bound(request, forms.OccupierForm, initial={name: getattr(note, name) for name in names})
    return ask(
        request, form, unit.site, f"Whom to ask: {queries.of_unit(unit) or unit.site.name}", "Save", said="Saved.",
        do=lambda: access.note_occupier(unit, by=request.user, now=request.now, **form.cleaned_data),
    )  # fmt: skip
