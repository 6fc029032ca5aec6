"""Pages of what planning needs to know of people: skills, hours of the week, days away."""

from datetime import date
from uuid import UUID

from django.conf import settings
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils.module_loading import import_string
from django.views.decorators.http import require_POST

from jobsite import clock
from jobsite.pages import act, bound, page
from jobsite.people import forms, operations
from jobsite.people.guard import Request, needs
from jobsite.people.models import Leave, Skill, User
from jobsite.people.queries import planning as queries
from jobsite.people.rights import Right
from jobsite.people.views.common import ask


def _at(user: User) -> str:
    return reverse("people:person", args=[user.pk])


@needs(Right.KEEP_PEOPLE)
def skill_new(request: Request, pk: UUID) -> HttpResponse:
    """Record what a person can do."""
    user = get_object_or_404(User, pk=pk)
    form = bound(
        request, forms.SkillForm, known=queries.known_skills(), initial={"since": clock.local_day(request.now)}
    )
    return ask(
        request,
        form,
        f"{user.name}: a skill",
        do=lambda: operations.record_skill(user, by=request.user, now=request.now, **form.cleaned_data),
        then=_at(user),
        said="Recorded.",
        back=_at(user),
        about="Work that asks for a skill is booked for those who have it on that day.",
    )


@needs(Right.KEEP_PEOPLE)
def skill_end(request: Request, pk: UUID) -> HttpResponse:
    """Say on which day a skill ends."""
    row = get_object_or_404(Skill.objects.select_related("user"), pk=pk)
    form = bound(request, forms.EndCompetenceForm, initial={"until": row.until or clock.local_day(request.now)})
    return ask(
        request,
        form,
        f"{row.user.name}: last day of {row.name}",
        do=lambda: operations.end_skill(row, by=request.user, now=request.now, **form.cleaned_data),
        then=_at(row.user),
        said="Recorded.",
        back=_at(row.user),
    )


@needs(Right.KEEP_PEOPLE)
def week_new(request: Request, pk: UUID) -> HttpResponse:
    """Set a person's hours of the week from a day on."""
    user, today = get_object_or_404(User, pk=pk), clock.local_day(request.now)
    form = bound(request, forms.WeekForm, initial={"holds_from": today, **queries.week_now(user, today)})
    return ask(
        request,
        form,
        f"{user.name}: hours of the week",
        do=lambda: operations.set_working_week(user, by=request.user, now=request.now, **form.cleaned_data),
        then=_at(user),
        said="Set.",
        back=_at(user),
        about="A day left empty is not worked. What is booked already stays booked.",
    )


@needs(Right.BOOK)
def away(request: Request) -> HttpResponse:
    """Who is away, and for whom days away can be noted."""
    staff = User.objects.filter(is_active=True).order_by("name", "pk")
    context = {
        "rows": queries.days_away(today=clock.local_day(request.now)),
        "people": [{"name": user.name, "new": reverse("people:leave_new", args=[user.pk])} for user in staff],
    }
    return page(request, "people/away.html", context)


@needs(Right.BOOK)
def leave_new(request: Request, pk: UUID) -> HttpResponse:
    """Note days on which somebody is away; what is booked for them then is named."""
    user = get_object_or_404(User, pk=pk)
    form = bound(request, forms.LeaveForm)
    return ask(
        request,
        form,
        f"{user.name} is away",
        do=lambda: operations.record_leave(user, by=request.user, now=request.now, **form.cleaned_data),
        then=lambda leave: _noted(request, leave),
        said="Noted.",
        back=reverse("people:away"),
        about="Both days are included. The reason is not asked for.",
    )


def _noted(request: Request, leave: Leave) -> str:
    """On to the list; what is booked then for the one who is away is said."""
    for sentence in booked_then(leave.user, leave.first, leave.last):
        messages.warning(request, sentence)
    return reverse("people:away")


def booked_then(user: User, first: date, last: date) -> list[str]:
    """In sentences: what the floors above have planned for `user` from `first` to `last` (setting WHEN_SOMEBODY_IS_AWAY)."""
    return [sentence for name in settings.WHEN_SOMEBODY_IS_AWAY for sentence in import_string(name)(user, first, last)]


@require_POST
@needs(Right.BOOK)
def leave_withdraw(request: Request, pk: UUID) -> HttpResponse:
    """They are there after all."""
    row = get_object_or_404(Leave, pk=pk)
    return act(
        request,
        lambda: operations.withdraw_leave(row, by=request.user, now=request.now),
        then=reverse("people:away"),
        said="They are there after all.",
    )
