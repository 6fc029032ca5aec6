"""Pages on which a file that was read is looked over, put right, and taken in; afterwards what became of it."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.urls import reverse

from inspections.choices import IntakeState
from inspections.intake import forms, operations, queries
from inspections.intake.alike import NEW, with_earlier
from inspections.intake.limits import MOST_AT_DESK
from inspections.intake.views.common import particulars, the_intake
from inspections.models import Intake, Observation
from inspections.queries.coding import to_do_now
from inspections.queries.not_seen import left_by
from jobsite import clock, words
from jobsite.firm.models import Progress
from jobsite.forms import PlainForm
from jobsite.ids import key_in
from jobsite.pages import bound, form_page, go, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.people.views.common import ask
from jobsite.refused import Refused

IMPATIENT = timedelta(seconds=15)
"""After so long without a worker, the page offers to do it itself."""
PATIENT = timedelta(minutes=3)
"""So long a worker may be silent that has begun: the entries of a long file are written without a word."""
WAITING = {
    IntakeState.RECEIVED: ("Reading", "Read it now"),
    IntakeState.TAKING_IN: ("Taking in", "Take it in now"),
}
ABOUT_A_ROW = {"leave-out": "leave_out", "correct": "correct", "put-back": "put_back", "as-in-file": "as_in_file"}


@needs(Right.TAKE_IN)
def intake(request: Request, pk: UUID) -> HttpResponse:
    """Wait while the file is read, look over what was found, and take it in; afterwards what became of it."""
    row = the_intake(request, pk)
    context = particulars(row)
    if row.state in WAITING:
        return _waiting(request, row, context)
    if request.htmx:  # type: ignore[attr-defined]
        return go(request, request.path)  # it has ended: the page that waited shows what came of it
    if row.state == IntakeState.READ:
        return _look_over(request, row, context)
    if row.inspection:
        context["at_once"] = to_do_now(row.inspection, today=clock.local_day(request.now))
        context["not_confirmed"] = left_by(row.inspection)
    return page(request, "inspections/intake/ended.html", context | queries.ending(row))


def _waiting(request: Request, row: Intake, context: dict[str, Any]) -> HttpResponse:
    doing, here = WAITING[IntakeState(row.state)]
    patience = IMPATIENT if row.progress.state == Progress.State.WAITING else PATIENT
    slow = request.now - row.progress.changed_at > patience
    context |= queries.progress_of(row) | {"slow": slow, "doing": doing, "do_it_here": here}
    return page(request, "inspections/intake/waiting.html", context, fragment="inspections/intake/_progress.html")


def _number(request: Request, name: str) -> int:
    said = request.GET.get(name, "")
    return int(said) if said.isdecimal() and len(said) < 5 else 0


def _look_over(request: Request, row: Intake, context: dict[str, Any]) -> HttpResponse:
    """The page of what was found. Its one form saves what is typed before it does anything else that a button asks."""
    more, number = _number(request, "more"), _number(request, "refused")
    form = bound(request, forms.LookOverForm, refused=queries.refused_page(row, number), decided=row.left_out)
    asked = request.POST.get("do", "take-in")
    shown = queries.preview(row, more=more, refused=number)
    shown["accepted"] = with_earlier(row, shown["accepted"], today=clock.local_day(request.now))
    return form_page(
        request,
        "inspections/intake/look_over.html",
        form,
        context | shown,
        do=lambda: _take_in(request, row, form) if asked == "take-in" else _save(request, row, form, asked),
        then=lambda made: _next_of(request, made, asked),
        said=lambda made: _said(row, made, asked),
    )


def _save(request: Request, row: Intake, form: forms.LookOverForm, asked: str = "") -> Intake:
    made = operations.put_right(row, cells=form.cells(), reasons=form.reasons(), by=request.user, now=request.now)
    what, _, which = asked.partition(" ")
    if what == "ask-same":
        return operations.ask_same_again(made, row=which, by=request.user, now=request.now)
    if what != "same":
        return made
    key, _, name = which.partition(" ")
    wanted = key_in(key)
    observation = Observation.objects.visible_to(request.user).filter(pk=wanted).first() if wanted else None
    if key != NEW and observation is None:
        raise Refused("This observation is not there any more: look at the page again.")
    return operations.say_same(made, row=name, observation=observation, by=request.user, now=request.now)


def _take_in(request: Request, row: Intake, form: forms.LookOverForm) -> Intake:
    """Take in, or have the worker do it; where a cell was corrected, only judge again: the result is looked at first."""
    reasons = form.reasons()
    taken_back = any(name in row.left_out and not said for name, said in reasons.items())
    if form.corrects or taken_back:
        return _save(request, row, form)
    others = (one["row"] for one in row.found.get("refused", []))
    for_all = form.cleaned_data.get("reason_for_all", "")
    left_out = {name: reasons.get(name) or row.left_out.get(name) or for_all for name in others}
    do = operations.take_in if len(row.found["accepted"]) <= MOST_AT_DESK else operations.ask_to_take_in
    try:
        return do(row, left_out=left_out, by=request.user, now=request.now)
    except Refused as refused:
        refused.field = form.names.get(refused.field or "")
        raise


def _said(before: Intake, made: Intake, asked: str) -> str:
    if made.state == IntakeState.TAKEN_IN:
        return f"Taken in: {queries.in_words(made.found)}."
    changed = (before.left_out, before.corrections) != (made.left_out, made.corrections)
    if made.state != IntakeState.READ or not changed:
        return ""
    left = words.many(len(made.found["refused"]), "row")
    return f"Saved and judged again: {left} refused.{' Nothing is taken in yet.' if asked == 'take-in' else ''}"


def _next_of(request: Request, made: Intake, asked: str) -> str:
    """Where the button leads: on after taking in, to the page about a row, to another page of rows, or back."""
    here = reverse("intake:intake", args=[made.pk])
    if made.state == IntakeState.TAKEN_IN:
        return (
            reverse("inspections:codes", args=[made.inspection_id])
            if made.inspection_id
            else reverse("desk:site", args=[made.site_id])
        )
    what, _, which = asked.partition(" ")
    if what in ABOUT_A_ROW:
        return queries.at_row(made, ABOUT_A_ROW[what], which)
    if what in ("more", "refused") and which.isdecimal():
        return f"{here}?{what}={which}"
    if what in ("same", "ask-same"):
        return f"{here}?more={_number(request, 'more')}#to-take-in"
    number = _number(request, "refused")
    return f"{here}?refused={number}" if number else here


@needs(Right.TAKE_IN)
def leave_out(request: Request, pk: UUID) -> HttpResponse:
    """Leave one row out that could be taken in, with the reason."""
    row, name = the_intake(request, pk), request.GET.get("row", "")[:300]
    form = bound(request, forms.ReasonForm)
    back = reverse("intake:intake", args=[pk])
    said = next((f"{one['name']} {one['more']}" for one in row.found.get("accepted", []) if one["row"] == name), "")
    return ask(
        request,
        form,
        f"Leave out {name}",
        do=lambda: operations.leave_out(row, row=name, by=request.user, now=request.now, **form.cleaned_data),
        then=back,
        said=lambda made: _left_out_words(row, made),
        back=back,
        button="Leave it out",
        about=said,
        caution="Rows that need this one, such as the circuits of a board, are refused with it.",
    )


def _left_out_words(before: Intake, after: Intake) -> str:
    besides = len(after.found["refused"]) - len(before.found["refused"]) - 1
    return f"Left out. {words.many(besides, 'row')} that need it are refused with it." if besides > 0 else "Left out."


@needs(Right.TAKE_IN)
def put_back(request: Request, pk: UUID) -> HttpResponse:
    """Take a row in after all."""
    row, name = the_intake(request, pk), request.GET.get("row", "")[:300]
    back = reverse("intake:intake", args=[pk])
    return ask(
        request,
        bound(request, PlainForm),
        f"Take in {name} after all?",
        do=lambda: operations.put_back(row, row=name, by=request.user, now=request.now),
        then=back,
        said="It stands among the rows to be taken in, if nothing else is wrong with it.",
        back=back,
        button="Take it in after all",
    )


@needs(Right.TAKE_IN)
def correct(request: Request, pk: UUID) -> HttpResponse:
    """Correct any cell of one row, whether it was refused or not."""
    row, name = the_intake(request, pk), request.GET.get("row", "")[:300]
    back = reverse("intake:intake", args=[pk])
    if row.state != IntakeState.READ:
        return go(request, back)
    cells = queries.cells_of(row, name)
    if not cells:
        raise Http404
    form = bound(request, forms.RowForm, cells=cells)
    return ask(
        request,
        form,
        f"Correct {name}",
        do=lambda: operations.put_right(row, cells={name: form.cells()}, reasons={}, by=request.user, now=request.now),
        then=back,
        said=lambda made: _said(row, made, "save"),
        back=back,
        button="Save and judge again",
        about="What was in the file stays known, and the file itself stays as it came.",
    )


@needs(Right.TAKE_IN)
def as_in_file(request: Request, pk: UUID) -> HttpResponse:
    """Take the correction of a row back."""
    row, name = the_intake(request, pk), request.GET.get("row", "")[:300]
    back = reverse("intake:intake", args=[pk])
    was = "; ".join(f"{one['head']}: {one['was'] or 'nothing'}" for one in row.corrections.get(name, {}).values())
    return ask(
        request,
        bound(request, PlainForm),
        f"{name} as it was in the file?",
        do=lambda: operations.take_back_correction(row, row=name, by=request.user, now=request.now),
        then=back,
        said="The row stands as it was in the file, and is judged again.",
        back=back,
        button="Put it back",
        about=was,
    )
