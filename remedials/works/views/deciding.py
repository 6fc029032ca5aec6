"""Yes, no, not at all, done by others; who has the next step."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse

from inspections.choices import Code
from jobsite import clock
from jobsite.addresses import address
from jobsite.pages import bound
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from remedials.works import forms, operations
from remedials.works.models import Remedial
from remedials.works.operations.deciding import without_notice
from remedials.works.queries.closing import observations_of
from remedials.works.rules import NOTICE_BEFORE_NO
from remedials.works.views.common import ask, kept, the_remedial

DECLINE_CAUTION = (
    "A no does not make the danger less: the observations stay open, on the site's status too. "
    "For a C1 or C2 the person must have been told in writing first."
)
REOPEN_CAUTION = "The observations that it ended are open again. Its proof stays on record, marked as reopened."


def seen(remedial: Remedial) -> dict[str, Any]:
    """The version on which somebody is about to decide."""
    return {"version": remedial.version}


def _stays_open(remedial: Remedial) -> str:
    """That a C1 or C2 stays open when its work is cancelled, and goes back to the office; "" where there is none."""
    rest = [o for o in observations_of(remedial) if o.code in NOTICE_BEFORE_NO and not o.ended]
    if not rest:
        return ""
    unsafe = " and is not made safe" if any(o.code == Code.C1 and not o.made_safe for o in rest) else ""
    named = "; ".join(f"{o.code} {o.number}, {o.text}" for o in rest)
    return f"Cancelling puts nothing right. This stays open{unsafe}, and goes back to the office to decide: {named}."


@needs(Right.PLAN_WORK)
def approve(request: Request, pk: UUID) -> HttpResponse:
    """Record who said yes, how and when."""
    remedial = the_remedial(request, pk)
    today = clock.local_day(request.now)
    form = bound(request, forms.ApproveForm, remedial=remedial, initial={"given_on": today} | seen(remedial))
    return ask(
        request,
        form,
        f"Approval of remedial {remedial.number}",
        remedial=remedial,
        do=lambda: operations.approve_remedial(remedial, by=request.user, now=request.now, **form.cleaned_data),
        said="Approval recorded.",
        button="Record the approval",
    )


@needs(Right.PLAN_WORK)
def decline(request: Request, pk: UUID) -> HttpResponse:
    """Record who said no; where a danger notice is missing, the way to it."""
    remedial = the_remedial(request, pk)
    form = bound(request, forms.DeclineForm, initial=seen(remedial))
    first = [
        {"words": f"Danger notice for observation {o.number}", "address": address("inspections:notice", o.pk)}
        for o in without_notice(observations_of(remedial))
    ]
    return ask(
        request,
        form,
        f"Remedial {remedial.number} declined",
        remedial=remedial,
        do=lambda: operations.decline_remedial(remedial, by=request.user, now=request.now, **form.cleaned_data),
        said="Recorded as declined.",
        button="Record as declined",
        caution=DECLINE_CAUTION,
        first=first,
    )


@needs(Right.PLAN_WORK)
def offer_again(request: Request, pk: UUID) -> HttpResponse:
    """Offer declined work anew: a page with the one button, so that a link can lead here."""
    remedial = the_remedial(request, pk)
    return ask(
        request,
        bound(request, forms.ConfirmForm),
        f"Offer remedial {remedial.number} again",
        remedial=remedial,
        do=lambda: operations.offer_again(remedial, by=request.user, now=request.now),
        said="To price again.",
        button="Offer it again",
    )


@needs(Right.PLAN_WORK)
def cancel(request: Request, pk: UUID) -> HttpResponse:
    """Cancel a remedial; its observations are to be decided again."""
    remedial = the_remedial(request, pk)
    form = bound(request, forms.CancelForm, initial=seen(remedial))
    return ask(
        request,
        form,
        f"Cancel remedial {remedial.number}",
        remedial=remedial,
        do=lambda: operations.cancel_remedial(remedial, by=request.user, now=request.now, **form.cleaned_data),
        said="Cancelled. What it was to put right is to be decided again.",
        button="Cancel the remedial",
        caution=_stays_open(remedial),
    )


@needs(Right.PLAN_WORK)
def by_others(request: Request, pk: UUID) -> HttpResponse:
    """Record that somebody else did the work, with their paper."""
    remedial = the_remedial(request, pk)
    form = bound(request, forms.OthersForm, remedial=remedial, initial={"on": clock.local_day(request.now)})

    def do() -> Any:
        file = kept(form, "file", request)
        return operations.done_by_others(remedial, file=file, by=request.user, now=request.now, **form.cleaned_data)

    title = f"Remedial {remedial.number} done by others"
    return ask(
        request,
        form,
        title,
        remedial=remedial,
        do=do,
        said="Recorded as done by others.",
        button="Record as done by others",
    )


@needs(Right.SEE_WORK)
def reopen(request: Request, pk: UUID) -> HttpResponse:
    """Open a closed, cancelled or others' remedial again: the office, or a qualified person."""
    remedial = the_remedial(request, pk)
    form = bound(request, forms.ReopenForm)
    return ask(
        request,
        form,
        f"Reopen remedial {remedial.number}",
        remedial=remedial,
        do=lambda: operations.reopen_remedial(remedial, by=request.user, now=request.now, **form.cleaned_data),
        said="Reopened.",
        button="Reopen",
        caution=REOPEN_CAUTION,
    )


@needs(Right.DO_WORK)
def part_done(request: Request, pk: UUID) -> HttpResponse:
    """Say that the work is part done or could not be done, why, how long it took and what was used."""
    remedial = the_remedial(request, pk)
    form = bound(request, forms.LeaveForm, items=remedial.items.all())
    return ask(
        request,
        form,
        f"Remedial {remedial.number} not finished",
        remedial=remedial,
        do=lambda: operations.leave_remedial(
            remedial, by=request.user, now=request.now, made_at=request.made_at, **form.spent()
        ),
        said="Noted: the office books the rest.",
        button="It is not finished",
        hold=f"leave:{remedial.pk}",
        hold_group=f"remedial:{remedial.pk}",
        hold_kind="leaving",
        hold_then=reverse("visits:my_day"),
    )


@needs(Right.PLAN_WORK)
def take_on(request: Request, pk: UUID) -> HttpResponse:
    """Give the next step to somebody, with a date."""
    remedial = the_remedial(request, pk)
    today = clock.local_day(request.now)
    step_by = max(remedial.step_by or today, today)
    form = bound(request, forms.TakeOnForm, initial={"owner": remedial.owner_id or request.user.pk, "step_by": step_by})
    return ask(
        request,
        form,
        f"Next step of remedial {remedial.number}",
        remedial=remedial,
        do=lambda: operations.take_on(remedial, by=request.user, now=request.now, **form.cleaned_data),
        said=lambda changed: f"{changed.owner} has the next step.",
        button="Give the next step",
    )
