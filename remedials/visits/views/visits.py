"""Pages of visits: booking, the visit itself, the engineer's day, the diary."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.cache import never_cache

from jobsite.addresses import address
from jobsite.pages import page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from remedials.visits import policy, queries
from remedials.visits.models import Visit
from remedials.visits.queries.at_visit import of_visit


def _the_visit(request: Request, pk: UUID) -> Visit:
    """The visit if this person may see it, else 404."""
    return get_object_or_404(Visit.objects.visible_to(request.user).select_related("site__customer"), pk=pk)


@never_cache
@needs(Right.SEE_WORK)
def visit(request: Request, pk: UUID) -> HttpResponse:
    """A visit: where, when, what to isolate, what to do, and the way to close each remedial."""
    row = _the_visit(request, pk)
    context: dict[str, object] = {"visit": queries.visit_page(row, request.user)}
    context["getting_in"] = of_visit(row, request.user, request.now)
    if policy.may_book(request.user) and row.state == Visit.State.BOOKED:
        context["cancel"] = address("visits:cancel", row.pk)
    return page(request, "visits/visit.html", context)


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
