"""The very step that a message names, and "I have it"."""

from datetime import timedelta
from uuid import UUID

from django.http import Http404, HttpResponse, HttpResponseRedirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobsite import clock
from jobsite.pages import act, bound, form_page, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from remedials.due.forms.in_hand import HaveItForm
from remedials.due.models import Undertaking
from remedials.due.operations import undertaking
from remedials.due.queries import steps


@needs(Right.SEE_WORK)
def step(request: Request, kind: str, ref: UUID) -> HttpResponse:
    """On to the step itself; where it was taken, to the one that has its place, or else to what became of it."""
    if where := steps.step_now(request.user, kind, ref, today=clock.local_day(request.now)):
        return HttpResponseRedirect(where)
    return _gone(request, kind, ref)


def _gone(request: Request, kind: str, ref: UUID) -> HttpResponse:
    about = steps.page_of(request.user, kind, ref)
    if about is None:
        raise Http404
    return page(request, "due/gone.html", {"about": about})


@needs(Right.SEE_WORK)
def have_it(request: Request, kind: str, ref: UUID) -> HttpResponse:
    """ "I have it": until when and what for; nobody is reminded of it before."""
    today = clock.local_day(request.now)
    row = steps.row_for(request.user, kind, ref)
    if row is None:
        return _gone(request, kind, ref)
    form = bound(request, HaveItForm, initial={"until": today + timedelta(days=1)})
    shown = steps.to_answer(row, request.user, today=today)
    if shown["danger"]:
        form.fields["until"].help_text = "That day included. It is told each day all the same."
    return form_page(
        request,
        "due/have_it.html",
        form,
        shown,
        do=lambda: undertaking.have_it(kind, ref, by=request.user, now=request.now, **form.cleaned_data),
        then=reverse("due:step", args=[kind, ref]),
        said="You have it. Nobody is reminded of it before that day; a danger that is not made safe is told each day.",
    )


@require_POST
@needs(Right.SEE_WORK)
def give_back(request: Request, kind: str, ref: UUID) -> HttpResponse:
    """It is again whose it was."""
    if not Undertaking.objects.visible_to(request.user).filter(kind=kind, ref=ref).exists():
        raise Http404
    return act(
        request,
        lambda: undertaking.give_back(kind, ref, by=request.user, now=request.now),
        then=reverse("due:step", args=[kind, ref]),
        said="Given back: people are reminded of it again.",
    )
