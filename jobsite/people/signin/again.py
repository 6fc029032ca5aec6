"""Who one is, proved again within the last minutes: asked before anything that changes how people sign in."""

from collections.abc import Callable
from functools import wraps
from typing import Any, TypeVar, cast

from allauth.account.adapter import get_adapter
from allauth.account.internal.flows.reauthentication import is_reauthentication_required, suspend_request
from django.http import HttpRequest, HttpResponseBase

View = TypeVar("View", bound=Callable[..., HttpResponseBase])


def proved_again_first(view: View) -> View:
    """Only for somebody who signed in, or said once more who they are, in the last five minutes; others are asked, then come here.

    Below `needs`. What was posted is done once they did.
    """

    @wraps(view)
    def asked(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponseBase:
        if is_reauthentication_required(request, app=""):
            methods = get_adapter().get_reauthentication_methods(request.user)
            return suspend_request(request, methods[0]["url"])
        return view(request, *args, **kwargs)

    return cast(View, asked)
