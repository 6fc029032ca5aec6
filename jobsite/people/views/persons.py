"""Pages of the firm's people and what they are competent for."""

import json
from typing import Any
from uuid import UUID

from cryptography.fernet import InvalidToken
from django.http import HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_POST, require_safe

from jobsite import clock
from jobsite.messages.queries import warning
from jobsite.pages import act, bound, page, show_refusal, wants_back
from jobsite.people import forms, operations, queries
from jobsite.people.guard import Request, needs
from jobsite.people.invitations import full_address, mail_first_password
from jobsite.people.models import Competence, User
from jobsite.people.queries import planning as of_planning
from jobsite.people.rights import Right
from jobsite.people.views.common import FORM, ask, initial
from jobsite.refused import Refused
from jobsite.sealing import ring
from jobsite.words import day

INVITED, FOR_WHAT = "invited", b"links of invitations"


def _at(user: User) -> str:
    return reverse("people:person", args=[user.pk])


@needs(Right.KEEP_PEOPLE)
def people(request: Request) -> HttpResponse:
    """Everybody of the firm."""
    return page(request, "people/people.html", {"rows": queries.people(today=clock.local_day(request.now))})


@needs(Right.KEEP_PEOPLE)
def person(request: Request, pk: UUID) -> HttpResponse:
    """One person: roles, competence, whether they can sign in."""
    return _person(request, pk)


def _person(request: Request, pk: UUID, refused: Refused | None = None) -> HttpResponse:
    user = get_object_or_404(User, pk=pk)
    today = clock.local_day(request.now)
    context = {
        "person": user,
        "roles": ", ".join(user.roles),
        "competences": queries.competences(user, today=today),
        "skills": of_planning.skills(user, today=today),
        "weeks": of_planning.weeks(user),
        "away": of_planning.days_away(today=today, user=user),
        "insured_until": day(user.insured_until),
        "came_back": warning(user.email),
        "refused": refused,
    }
    return page(request, "people/person.html", context)


@never_cache
@needs(Right.KEEP_PEOPLE)
def invite(request: Request) -> HttpResponse:
    """Make an account and mail the first-password link, which the next page shows once."""
    form = bound(request, forms.InviteForm)
    if form.is_valid():
        try:
            user, path = operations.invite_person(by=request.user, now=request.now, **form.cleaned_data)
        except Refused as refused:
            show_refusal(form, refused)
        else:
            return _invited(request, user, path)
    context = {"form": form, "title": "Invite a person", "back": reverse("people:people"), "button": "Invite"}
    return page(request, FORM, context)


def _invited(request: Request, user: User, path: str) -> HttpResponse:
    """Send the link, and lead on to the page that shows it: loading that again sends nothing."""
    told = {"address": full_address(path), "mailed": mail_first_password(user, path)}
    request.session[INVITED] = ring(FOR_WHAT).encrypt(json.dumps({"person": str(user.pk)} | told).encode()).decode()
    return HttpResponseRedirect(reverse("people:invited", args=[user.pk]))


@never_cache
@needs(Right.KEEP_PEOPLE)
@require_safe
def invited(request: Request, pk: UUID) -> HttpResponse:
    """That somebody was invited, with the link: once, to whoever did it, then it is forgotten."""
    user = get_object_or_404(User, pk=pk)
    told = _told(request)
    if told.get("person") != str(user.pk):
        return HttpResponseRedirect(_at(user))
    return page(request, "people/invited.html", told | {"person": user})


def _told(request: Request) -> dict[str, Any]:
    """What was kept for the next page, sealed: a copy of the database tells it to nobody."""
    try:
        opened: dict[str, Any] = json.loads(ring(FOR_WHAT).decrypt(request.session.pop(INVITED, "").encode()))
    except InvalidToken:
        return {}
    return opened


@require_POST
@never_cache
@needs(Right.KEEP_PEOPLE)
def invite_again(request: Request, pk: UUID) -> HttpResponse:
    """Another first-password link for somebody who has not set a password yet."""
    user = get_object_or_404(User, pk=pk)
    try:
        path = operations.invite_again(user, by=request.user, now=request.now)
    except Refused as refused:
        return _person(request, pk, refused)
    return _invited(request, user, path)


@needs(Right.KEEP_PEOPLE)
def person_edit(request: Request, pk: UUID) -> HttpResponse:
    """Change a person's name, telephone and roles."""
    user = get_object_or_404(User, pk=pk)
    form = bound(request, forms.EditPersonForm, initial=initial(forms.EditPersonForm, user))
    return ask(
        request,
        form,
        f"Change {user.name}",
        do=lambda: operations.edit_person(user, by=request.user, now=request.now, **form.cleaned_data),
        then=_at(user),
        said="Saved.",
        back=_at(user),
    )


@require_POST
@needs(Right.KEEP_PEOPLE)
def person_left(request: Request, pk: UUID) -> HttpResponse:
    """Record that somebody left the firm, or came back."""
    user = get_object_or_404(User, pk=pk)
    left = "They can no longer sign in. What they had open is among the loose ends."
    do, said = (
        (operations.person_returned, "They can sign in again.")
        if wants_back(request)
        else (operations.person_left, left)
    )
    return act(
        request,
        lambda: do(user, by=request.user, now=request.now),
        then=_at(user),
        said=said,
        again=lambda refused: _person(request, pk, refused),
    )


@needs(Right.KEEP_PEOPLE)
def competence_new(request: Request, pk: UUID) -> HttpResponse:
    """Record what a person is competent for."""
    user = get_object_or_404(User, pk=pk)
    form = bound(request, forms.CompetenceForm)
    return ask(
        request,
        form,
        f"{user.name}: qualified person",
        do=lambda: operations.record_competence(user, by=request.user, now=request.now, **form.cleaned_data),
        then=_at(user),
        said="Recorded.",
        back=_at(user),
        about="A qualified person reviews codes and proof and issues reports, on the days given here.",
        caution="The firm answers for this judgement. It is part of what can be shown later: who was competent when.",
    )


@needs(Right.KEEP_PEOPLE)
def competence_end(request: Request, pk: UUID) -> HttpResponse:
    """Say on which day a competence ends."""
    row = get_object_or_404(Competence.objects.select_related("user"), pk=pk)
    form = bound(request, forms.EndCompetenceForm, initial={"until": row.until or clock.local_day(request.now)})
    return ask(
        request,
        form,
        f"{row.user.name}: last day as a qualified person",
        do=lambda: operations.end_competence(row, by=request.user, now=request.now, **form.cleaned_data),
        then=_at(row.user),
        said="Recorded.",
        back=_at(row.user),
    )
