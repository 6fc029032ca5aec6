"""What pages of visits share."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404

from jobsite.people.guard import Request
from remedials.visits.models import Visit

P = ParamSpec("P")


def of_the_firm(
    view: Callable[Concatenate[Request, P], HttpResponse],
) -> Callable[Concatenate[Request, P], HttpResponse]:
    """Nothing of it is there for a subcontractor, whatever their roles: it is about everybody's work."""

    @wraps(view)
    def run(request: Request, *args: P.args, **kwargs: P.kwargs) -> HttpResponse:
        if request.user.subcontractor:
            raise Http404
        return view(request, *args, **kwargs)

    return run


def the_visit(request: Request, pk: UUID) -> Visit:
    """The visit if this person may see it, else 404."""
    return get_object_or_404(Visit.objects.visible_to(request.user).select_related("site__customer"), pk=pk)
