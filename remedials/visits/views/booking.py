"""The pages that book a visit and cancel one."""

from typing import Any
from uuid import UUID

from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from inspections.models import Observation
from jobsite import clock
from jobsite.addresses import address
from jobsite.fields import MomentField
from jobsite.ids import keys_in
from jobsite.pages import bound, form_page, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Site, Unit
from jobsite.refused import Refused
from remedials.visits import operations, queries
from remedials.visits.forms.booking import BookForm, CancelForm
from remedials.visits.models import Visit
from remedials.visits.operations.booking import Clash, Warned
from remedials.visits.queries import booking as of_booking
from remedials.works.models import Remedial

SAY_WHY = "It does not fit, as said above: change it, or say here why it is booked all the same."


@needs(Right.BOOK)
def book(request: Request) -> HttpResponse:
    """A new visit: for the remedials named in the address and others approved at their site, or for a site."""
    chosen, offered = queries.bookable(request.user, keys_in(request.GET.getlist("remedial")))
    site = _site(request, chosen)
    if site is None:
        several = len({remedial.site_id for remedial in chosen}) > 1
        return page(request, "visits/nothing.html", {"several": several, "list": reverse("works:remedials")})
    offered = offered if chosen else of_booking.bookable_at(request.user, site)
    form = bound(request, BookForm, **_offers(request, site, chosen, offered))
    context: dict[str, Any] = {"site": site, "back": address("desk:site", site.pk)}
    context["around"] = queries.around(chosen or offered) if offered else None
    return form_page(
        request,
        "visits/book.html",
        form,
        context,
        do=lambda: _do(request, site, form, context),
        then=lambda visit: address("visits:visit", visit.pk),
        said=lambda visit: f"Visit {visit.number} booked.",
    )


def _site(request: Request, chosen: list[Remedial]) -> Site | None:
    """The one site that it is about."""
    if chosen:
        return chosen[0].site if len({remedial.site_id for remedial in chosen}) == 1 else None
    keys = keys_in(request.GET.getlist("site")[:1])
    return Site.objects.visible_to(request.user).filter(pk__in=keys).first()


def _offers(request: Request, site: Site, chosen: list[Remedial], offered: list[Remedial]) -> dict[str, Any]:
    """What the form offers, and what the address has filled in."""
    together = of_booking.under_one_outage(chosen, offered, site)
    wanted = request.GET.getlist("also")
    initial: dict[str, Any] = {"others": wanted, "confirm": True}
    for name in ("start", "end"):
        try:
            initial[name] = MomentField(required=False).clean(request.GET.get(name, ""))
        except ValidationError:
            initial[name] = None
    initial["engineers"] = keys_in([*request.GET.getlist("engineer"), *request.GET.getlist("engineers")])
    on = clock.local_day(initial["start"] or request.now)
    work = [*chosen, *(r for r in offered if r.pk in together)]
    return {
        "offered": offered,
        "chosen": chosen,
        "others": of_booking.others_of(site, wanted),
        "notes": together,
        "people": of_booking.about_people(list(of_booking.engineers()), work, on),
        "length": of_booking.length_words(work),
        "initial": initial,
    }


def _do(request: Request, site: Site, form: BookForm, context: dict[str, Any]) -> Visit:
    """Book it; what it was warned of, or what is in the way, is shown above the form."""
    facts = dict(form.cleaned_data)
    keys = of_booking.keys_of(facts.pop("others", []))
    seen = Observation.objects.filter(site=site)
    try:
        return operations.book_visit(
            site,
            by=request.user,
            now=request.now,
            units=list(Unit.objects.filter(site=site, pk__in=keys["inspection"])),
            looks=list(seen.filter(pk__in=keys["look-again"])),
            call_outs=list(seen.filter(pk__in=keys["call-out"])),
            **facts,
        )
    except Warned as warned:
        context["warned"] = [one.sentence for one in warned.findings]
        form.ask_despite(warned=True)
        raise Refused(SAY_WHY, field="despite") from warned
    except Clash as clash:
        if facts["emergency"]:
            form.offer_to_displace(of_booking.in_the_way(clash.visits))
            clash.field = "displace"  # the summary leads to the box to tick
        raise


@needs(Right.BOOK)
def cancel(request: Request, pk: UUID) -> HttpResponse:
    """Cancel a visit, with the reason; what was booked on it is to be booked again."""
    row = get_object_or_404(Visit.objects.visible_to(request.user).select_related("site__customer"), pk=pk)
    form = bound(request, CancelForm)
    context = {"visit": row, "back": address("visits:visit", row.pk)}
    return form_page(
        request,
        "visits/cancel.html",
        form,
        context,
        do=lambda: operations.cancel_visit(row, by=request.user, now=request.now, **form.cleaned_data),
        then=address("visits:visit", row.pk),
        said="Visit cancelled. What was booked on it is approved and due.",
    )
