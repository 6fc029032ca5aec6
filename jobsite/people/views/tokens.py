"""Pages of personal tokens: one's own, made and shown once, ended at any time; a manager ends anybody's."""

from datetime import datetime, timedelta
from uuid import UUID

from allauth.account.decorators import reauthentication_required
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST

from jobsite.ids import key_in
from jobsite.pages import act, bound, go, page, show_refusal
from jobsite.people import forms, operations
from jobsite.people.guard import Request, needs
from jobsite.people.models import AccessToken
from jobsite.people.queries import tokens as queries
from jobsite.people.rights import Right
from jobsite.people.views.common import FORM
from jobsite.refused import Refused
from jobsite.words import when


@needs(Right.SEE_WORK)
def tokens(request: Request) -> HttpResponse:
    """One's own tokens, and for managers everybody's that still open something."""
    context = {
        "rows": queries.own(request.user, now=request.now),
        "others": queries.of_others(request.user, now=request.now),
    }
    return page(request, "people/tokens.html", context)


@never_cache
@needs(Right.SEE_WORK)
@reauthentication_required
def token_new(request: Request) -> HttpResponse:
    """Make a token, after the password was asked again; the answer shows it this once, so it is no redirect."""
    form = bound(request, forms.TokenForm)
    if form.is_valid():
        data = form.cleaned_data
        try:
            token, text = operations.make_token(
                id=data["id"], name=data["name"], scope=data["scope"], expires_at=_ends(request.now, data["days"]),
                by=request.user, now=request.now,
            )  # fmt: skip
        except Refused as refused:
            show_refusal(form, refused)
        else:
            context = {"token": token, "text": text, "ends": when(token.expires_at)}
            return page(request, "people/token_made.html", context)
    context = {"form": form, "title": "New token", "back": reverse("people:tokens"), "button": "Make the token"}
    about = "Another program signs in with it in your name: it may do what you may, and what it does is recorded as done by you."
    return page(request, FORM, context | {"about": about})


def _ends(now: datetime, days: str) -> datetime:
    return now + timedelta(days=int(days))


@require_POST
@needs(Right.SEE_WORK)
def token_end(request: Request) -> HttpResponse:
    """End one of one's own tokens, which the button names."""
    key = key_in(request.POST.get("token", ""))
    token = AccessToken.objects.filter(user=request.user.pk, pk=key).first() if key else None
    return go(request, reverse("people:tokens")) if token is None else _end(request, token)


@require_POST
@needs(Right.KEEP_PEOPLE)
def token_end_of(request: Request, pk: UUID) -> HttpResponse:
    """End anybody's token, as a manager."""
    return _end(request, get_object_or_404(AccessToken, pk=pk))


def _end(request: Request, token: AccessToken) -> HttpResponse:
    return act(
        request,
        lambda: operations.end_token(token, by=request.user, now=request.now),
        then=reverse("people:tokens"),
        said="It opens nothing any more.",
    )
