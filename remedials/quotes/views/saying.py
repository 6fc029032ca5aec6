"""What the pages of prices begin and end with: the door that is shut for subcontractors, and what is said next."""

from collections.abc import Callable
from functools import wraps
from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse

from jobsite.people.guard import Request
from remedials.quotes import policy
from remedials.quotes.models import StandardJob


def for_the_office(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
    """Inside `needs(Right.PRICE)`: shut for a subcontractor, whatever their roles."""

    @wraps(view)
    def guarded(request: Request, *args: Any, **kwargs: Any) -> HttpResponse:
        if not policy.may_price(request.user):
            raise PermissionDenied(policy.NOT_YOURS)
        return view(request, *args, **kwargs)

    return guarded


def the_job(request: Request, pk: UUID) -> StandardJob:
    """The standard job; 404 for whoever sees no prices, as for one that is not there."""
    row = StandardJob.objects.filter(pk=pk).first() if policy.may_price(request.user) else None
    if row is None:
        raise Http404
    return row


def say(request: Request, words: str) -> None:
    """Say `words` on the page that comes next."""
    messages.success(request, words)
