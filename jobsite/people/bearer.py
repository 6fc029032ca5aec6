"""A program that shows a personal token (RFC 6750): Authorization: Bearer, for the API only and never with the session.

The middleware finds the person before a change is looked up by its Idempotency-Key; DRF is told by `ByToken`. What is wrong
with a token is not told apart: one that never was, has ended, has expired, or whose person left.
"""

import re
from collections.abc import Callable
from typing import Any, cast

from django.contrib.auth.models import AnonymousUser
from django.db.models import OuterRef
from django.http import HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from rest_framework.authentication import BaseAuthentication
from rest_framework.exceptions import AuthenticationFailed, PermissionDenied
from rest_framework.permissions import SAFE_METHODS
from rest_framework.request import Request

from jobsite.api import limits
from jobsite.people.backend import read_beside
from jobsite.people.links import token_hash
from jobsite.people.models import AccessToken, User
from jobsite.people.operations.tokens import token_seen

SHOWN = re.compile(r"Bearer +([A-Za-z0-9._~+/-]{1,200}=*) *", re.IGNORECASE)  # RFC 6750, section 2.1
BEARER = re.compile(r"Bearer\b", re.IGNORECASE)
WRONG = "This token opens nothing: it is not one of ours, has ended, or its person has left."
ONLY_READS = "This token only reads. Make one that reads and changes to do this."


class Bearer:
    """The middleware, after the session's and before `jobsite.once`: whose request it is, and whether there are too many."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        return self.get_response(request)

    def process_view(self, request: HttpRequest, view: Any, args: Any, kwargs: Any) -> HttpResponseBase | None:
        """Only for views of the API: 429 where there are too many requests, else on with the token's person."""
        if not hasattr(view, "cls"):  # DRF's mark on the function of a view
            return None
        token = None
        if BEARER.match(request.headers.get("Authorization", "")):
            token = token_of(request)
            request.token = token or WRONG  # type: ignore[attr-defined]
            changes = request.method not in SAFE_METHODS
            # Who may not change does not even hear what was answered to a change before.
            request.user = token.user if token and not (changes and token.reads_only) else AnonymousUser()
        return limits.refuse(request, wrong=getattr(request, "token", None) is WRONG)


def token_of(request: HttpRequest) -> AccessToken | None:
    """The standing token that the request shows, seen in use. One statement, and now and then one more."""
    found = SHOWN.fullmatch(request.headers.get("Authorization", ""))
    if found is None:
        return None
    now = request.now  # type: ignore[attr-defined]
    beside = read_beside(OuterRef("user_id"))
    rows = AccessToken.objects.standing(now).filter(user__is_active=True).select_related("user").annotate(**beside)
    token = rows.filter(token_hash=token_hash(found[1])).first()
    if token is not None:
        for name in beside:  # what is read beside a person who signs in stands at the person of a token as well
            setattr(token.user, name, getattr(token, name))
        token_seen(token, now=now)
    return token


class ByToken(BaseAuthentication):
    """What DRF is told of the token. It stands first, so that whoever is nobody hears 401 and how to say who they are."""

    def authenticate(self, request: Request) -> tuple[User, AccessToken] | None:
        """The person and the token; None where none is shown. Raises AuthenticationFailed, PermissionDenied."""
        token = getattr(request._request, "token", None)  # noqa: SLF001
        if token is None:
            return None
        if token is WRONG:
            raise AuthenticationFailed(WRONG)
        if token.reads_only and request.method not in SAFE_METHODS:
            raise PermissionDenied(ONLY_READS)
        return cast(User, token.user), token

    def authenticate_header(self, request: Request) -> str:
        """For WWW-Authenticate (RFC 6750, section 3): with an error only where a token was shown."""
        shown = getattr(request._request, "token", None) is WRONG  # noqa: SLF001
        return 'Bearer realm="api", error="invalid_token"' if shown else 'Bearer realm="api"'
