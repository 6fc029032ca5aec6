"""The manager's page: everything that the firm owns, as workbooks or as an archive."""

from typing import Any
from uuid import UUID

from allauth.account.internal.flows.reauthentication import did_recently_reauthenticate
from django.core.files.storage import default_storage
from django.http import FileResponse, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.http import urlencode
from django.views.decorators.http import require_POST

from jobsite import clock
from jobsite.pages import act, asked_anew, bound, form_page, go, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import Refused
from remedials.desk.bulk import forms, operations, queries
from remedials.desk.models import TakeOut

PAGE = "bulk:take_outs"
ONCE_MORE = "Show once more that it is you: what you ask for is all that the firm owns."


def sure(request: Request) -> bool:
    """Whether whoever asks has shown within the last minutes once more who they are, besides having signed in."""
    return did_recently_reauthenticate(request)


def _seen(request: Request, pk: UUID) -> TakeOut:
    return get_object_or_404(TakeOut.objects.visible_to(request.user), pk=pk)


def _must_be_sure(request: Request) -> None:
    """Raises Refused for somebody who has not."""
    if not sure(request):
        raise Refused(ONCE_MORE)


@asked_anew
@needs(Right.KEEP_FIRM)
def take_outs(request: Request) -> HttpResponse:
    """What was taken out, how far the one has come that is being made, and a form that asks for another."""
    form = bound(request, forms.TakeOutForm, initial={"kind": TakeOut.Kind.WORKBOOKS})
    return form_page(
        request,
        "desk/bulk/take_outs.html",
        form,
        _context(request),
        do=lambda: _ask(request, form),
        then=reverse(PAGE),
    )


def _ask(request: Request, form: Any) -> TakeOut:
    _must_be_sure(request)
    return operations.ask_for_take_out(by=request.user, now=request.now, **form.cleaned_data)


def _context(request: Request) -> dict[str, Any]:
    confirm = f"{reverse('account_reauthenticate')}?{urlencode({'next': reverse(PAGE)})}"
    return queries.take_outs(request.user, now=request.now) | {"sure": sure(request), "confirm": confirm}


@needs(Right.KEEP_FIRM)
def progress(request: Request) -> HttpResponse:
    """How far it has come, for the page that waits."""
    context = _context(request)
    if not context["waiting"] or not request.htmx:  # type: ignore[attr-defined]
        return go(request, reverse(PAGE))
    return page(request, "desk/bulk/_progress.html", context)


@require_POST
@needs(Right.KEEP_FIRM)
def file(request: Request, pk: UUID) -> HttpResponseBase:
    """The file itself, streamed, as a download that no cache keeps. That it was taken stands in the ledger."""
    take_out = _seen(request, pk)
    try:
        _must_be_sure(request)
        return _handed_over(operations.carry_away(take_out, by=request.user, now=request.now))
    except Refused as refused:
        return _refused(request, refused)


def _handed_over(take_out: TakeOut) -> FileResponse:
    on = clock.local_day(take_out.asked_at).isoformat()
    content = default_storage.open(operations.path_of(take_out))
    response = FileResponse(content, as_attachment=True, filename=f"{take_out.kind}-{on}.zip")
    response["Content-Type"] = "application/zip"
    response["Cache-Control"] = "private, no-store"
    response["X-Content-Type-Options"] = "nosniff"
    return response


def _refused(request: Request, refused: Refused) -> HttpResponse:
    form = forms.TakeOutForm(initial={"kind": TakeOut.Kind.WORKBOOKS})
    return page(request, "desk/bulk/take_outs.html", _context(request) | {"form": form, "refused": refused})


@require_POST
@needs(Right.KEEP_FIRM)
def drop(request: Request, pk: UUID) -> HttpResponse:
    """Remove the file before its days are over."""
    take_out = _seen(request, pk)
    return act(
        request,
        lambda: operations.drop_take_out(take_out, by=request.user, now=request.now),
        then=reverse(PAGE),
        said="Removed from here.",
    )


@require_POST
@needs(Right.KEEP_FIRM)
def here(request: Request, pk: UUID) -> HttpResponse:
    """Make it in this request, where no worker has begun to."""
    take_out = _seen(request, pk)
    return act(request, lambda: operations.make(take_out.pk, now=request.now), then=reverse(PAGE))
