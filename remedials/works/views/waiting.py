"""Waiting on somebody outside."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.forms import BaseForm
from django.http import HttpResponse
from django.shortcuts import get_object_or_404

from inspections.models import Observation
from jobsite import clock
from jobsite.addresses import address
from jobsite.pages import bound, form_page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from remedials.works import forms, operations
from remedials.works.models import Waiting
from remedials.works.views.common import FORM, ask, the_remedial

CHASE_AFTER = timedelta(days=7)


@needs(Right.PLAN_WORK)
def wait(request: Request, pk: UUID) -> HttpResponse:
    """Note on whom a remedial waits."""
    remedial = the_remedial(request, pk)
    form = _form(request)
    return ask(
        request,
        form,
        f"Remedial {remedial.number} waits on somebody",
        remedial=remedial,
        do=lambda: operations.wait_on(remedial=remedial, by=request.user, now=request.now, **form.cleaned_data),
        said="Noted.",
        button="Note it",
    )


@needs(Right.PLAN_WORK)
def wait_observation(request: Request, pk: UUID) -> HttpResponse:
    """Note on whom an observation waits."""
    observation = get_object_or_404(Observation.objects.visible_to(request.user), pk=pk)
    form = _form(request)
    back = address("desk:observation", observation.pk)
    context = {"title": f"Observation {observation.number} waits on somebody", "back": back, "button": "Note it"}
    return form_page(
        request,
        FORM,
        form,
        context,
        do=lambda: operations.wait_on(observation=observation, by=request.user, now=request.now, **form.cleaned_data),
        then=back,
        said="Noted.",
    )


def _form(request: Request) -> forms.WaitForm:
    today = clock.local_day(request.now)
    return bound(request, forms.WaitForm, initial={"asked_on": today, "chase_on": today + CHASE_AFTER})


@needs(Right.PLAN_WORK)
def chase(request: Request, pk: UUID) -> HttpResponse:
    """Note that they were chased, and when to chase next."""
    waiting = _the_waiting(request, pk)
    form = bound(request, forms.ChaseForm, initial={"chase_on": clock.local_day(request.now) + CHASE_AFTER})
    title = f"Chased: {waiting.on_whom}"
    return _ask(request, form, title, waiting, operations.chase, said="Noted.", button="Note it")


@needs(Right.PLAN_WORK)
def end_waiting(request: Request, pk: UUID) -> HttpResponse:
    """Note how a waiting ended."""
    waiting = _the_waiting(request, pk)
    form = bound(request, forms.EndWaitingForm)
    title = f"No longer waiting on {waiting.on_whom}"
    return _ask(
        request, form, title, waiting, operations.end_waiting, said="It waits no more.", button="End the waiting"
    )


def _the_waiting(request: Request, pk: UUID) -> Waiting:
    return get_object_or_404(Waiting.objects.visible_to(request.user), pk=pk)


def _ask(
    request: Request, form: BaseForm, title: str, waiting: Waiting, change: Any, *, said: str, button: str
) -> HttpResponse:
    """A page that is one form on one waiting, and goes on to the thing that waits."""
    back = (
        address("desk:remedial", waiting.remedial_id)
        if waiting.remedial_id
        else address("desk:observation", waiting.observation_id or "")
    )
    context = {"title": title, "back": back, "button": button, "waits_for": waiting.for_what}

    def do() -> Any:
        return change(waiting, by=request.user, now=request.now, **form.cleaned_data)

    return form_page(request, FORM, form, context, do=do, then=back, said=said)
