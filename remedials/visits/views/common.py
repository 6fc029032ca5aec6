"""What pages of visits share."""

from collections.abc import Callable
from functools import wraps
from typing import Concatenate, ParamSpec

from django.http import Http404, HttpResponse

from jobsite.people.guard import Request

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
