"""The door of every page: who must be signed in, and with which right."""

from collections.abc import Callable
from functools import wraps

from django.contrib.auth.decorators import login_required
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponseBase

from jobsite.people.rights import Right

View = Callable[..., HttpResponseBase]


def needs(right: Right) -> Callable[[View], View]:
    """Only for signed-in people whose roles carry `right`; others get the sign-in page or 403.

    The right stands on the view (`view.needs`), where the walk over all routes reads it.
    """

    def wrap(view: View) -> View:
        @wraps(view)
        def guarded(request: HttpRequest, *args: object, **kwargs: object) -> HttpResponseBase:
            if not request.user.may(right):  # type: ignore[union-attr]
                raise PermissionDenied
            return view(request, *args, **kwargs)

        door = login_required(guarded)
        door.needs = right  # type: ignore[attr-defined]
        return door

    return wrap


def by_link(view: View) -> View:
    """For customers behind a private link: the view checks the token itself. Marks it for the walk over all routes."""
    view.needs = "private-link"  # type: ignore[attr-defined]
    return view


def open_to_all(view: View) -> View:
    """For anybody, such as the health address. Marks it for the walk over all routes."""
    view.needs = "nobody"  # type: ignore[attr-defined]
    return view


