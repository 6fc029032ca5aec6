"""Pages of visits: booking, the visit itself, the engineer's day, the diary."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from jobsite.addresses import address
from jobsite.ids import keys_in
from jobsite.pages import bound, form_page, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from remedials.visits import operations, policy, queries
from remedials.visits.forms.booking import BookForm, CancelForm
from remedials.visits.models import Visit


def _the_visit(request: Request, pk: UUID) -> Visit:
    """The visit if this person may see it, else 404."""
    return get_object_or_404(Visit.objects.visible_to(request.user).select_related("site__customer"), pk=pk)


@needs(Right.BOOK)
def book(request: Request) -> HttpResponse:
    """A new visit for the remedials named in the address, and others approved at their site."""
    chosen, offered = queries.bookable(request.user, keys_in(request.GET.getlist("remedial")))
    if not chosen or len({remedial.site_id for remedial in chosen}) > 1:
        return page(request, "visits/nothing.html", {"several": bool(chosen), "list": reverse("works:remedials")})
    site = chosen[0].site
    form = bound(request, BookForm, offered=offered, chosen=chosen, initial={})
    around = queries.around(chosen)
    return form_page(
        request,
        "visits/book.html",
        form,
        {"site": site, "back": address("desk:site", site.pk), "around": around},
        do=lambda: operations.book_visit(site, by=request.user, now=request.now, **form.cleaned_data),
        then=lambda visit: address("visits:visit", visit.pk),
        said=lambda visit: f"Visit {visit.number} booked.",
    )


@needs(Right.SEE_WORK)
def visit(request: Request, pk: UUID) -> HttpResponse:
    """A visit: where, when, what to isolate, what to do, and the way to close each remedial."""
    row = _the_visit(request, pk)
    context: dict[str, object] = {"visit": queries.visit_page(row, request.user)}
    if policy.may_book(request.user) and row.state == Visit.State.BOOKED:
        context["cancel"] = address("visits:cancel", row.pk)
    return page(request, "visits/visit.html", context)


@needs(Right.BOOK)
def cancel(request: Request, pk: UUID) -> HttpResponse:
    """Cancel a visit, with the reason; what was booked on it is to be booked again."""
    row = _the_visit(request, pk)
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


@needs(Right.DO_WORK)
def my_day(request: Request) -> HttpResponse:
    """The engineer's visits today and in the coming week, and what is left from before."""
    shown = queries.my_day(request.user, now=request.now)
    groups = [
        {"name": "Not closed yet", "rows": shown["left"], "open": True},
        {"name": "Today", "rows": shown["today"], "open": True},
        {"name": "Coming", "rows": shown["coming"], "open": False},
    ]
    context = {"groups": [group for group in groups if group["rows"]], "free": not shown["today"]}
    return page(request, "visits/my_day.html", context)
