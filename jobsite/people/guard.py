"""The door of every page: who must be signed in, and with which right."""

from collections.abc import Callable
from datetime import datetime
from functools import wraps
from typing import Any, TypeVar, cast

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase, HttpResponseRedirect
from django.urls import reverse
from django.views.decorators.csrf import csrf_exempt
from django_htmx.http import HttpResponseClientRedirect

from jobsite.edge import PRIVATE
from jobsite.people.models import User
from jobsite.people.rights import Right

SOMEBODY_ELSE = "Somebody else signed in on this device meanwhile."
SECOND_STEP_FIRST = "The firm asks a second step of you when you sign in: set one up first."
View = TypeVar("View", bound=Callable[..., HttpResponseBase])


class Request(HttpRequest):
    """What a view behind `needs` is given: a person of the firm, the instant of the request in UTC, and when the person did
    what it asks for (`jobsite.ledger.made`): earlier, where a phone had no signal.
    """

    user: User
    now: datetime
    made_at: datetime


def needs(right: Right) -> Callable[[View], View]:
    """Only for signed-in people whose roles carry `right`; others get the sign-in page or 403.

    The right stands on the view (`view.needs`), where the walk over all routes reads it.
    """

    def wrap(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
            if cast(Request, request).user.lacks_second_step:
                return first_a_second_step(request)
            if not cast(Request, request).user.may(right):
                raise PermissionDenied
            if request.headers.get("X-Person", str(request.user.pk)) != str(request.user.pk):
                # What was kept on a shared device is sent in its person's name only.
                raise PermissionDenied(SOMEBODY_ELSE)
            return view(request, *args, **kwargs)

        door = login_required(guarded)
        door.needs = right  # type: ignore[attr-defined]
        return cast(View, door)

    return wrap


def first_a_second_step(request: HttpRequest) -> HttpResponseBase:
    """The way to where it is set up. Raises PermissionDenied with a sentence for what would change something."""
    if request.method not in ("GET", "HEAD"):
        raise PermissionDenied(SECOND_STEP_FIRST)
    where = reverse("mfa_index")
    return HttpResponseClientRedirect(where) if request.headers.get("HX-Request") else HttpResponseRedirect(where)


def by_link(view: View) -> View:
    """For customers behind a private link: the view checks the token itself. Marks it for the walk over all routes."""
    view.needs = "private-link"  # type: ignore[attr-defined]
    return view


def private(view: View) -> View:
    """What holds for every answer behind a private link: kept nowhere, found by nobody, naming itself to nobody.

    The token in the address is the credential of what is posted too. No cookie is read or set, so there is nothing that
    another site could borrow, and nothing for the CSRF check to guard.
    """

    @wraps(view)
    def answered(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        response = view(request, *args, **kwargs)
        for name, value in PRIVATE.items():
            response.headers[name] = value
        return response

    return cast(View, by_link(csrf_exempt(answered)))


def open_to_all(view: View) -> View:
    """For anybody, such as the health address. Marks it for the walk over all routes."""
    view.needs = "nobody"  # type: ignore[attr-defined]
    return view
