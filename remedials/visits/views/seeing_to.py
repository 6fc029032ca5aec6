"""Pages of what must be seen to before work, and of working alone."""

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from jobsite import clock
from jobsite.addresses import address
from jobsite.ids import keys_in
from jobsite.pages import act, bound, form_page, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.words import london
from remedials.visits.forms import getting_in as forms
from remedials.visits.models import CheckIn, SeeTo, Visit
from remedials.visits.operations import checking_in, seeing_to
from remedials.visits.queries import getting_in as queries
from remedials.visits.queries.held import held, held_check_out
from remedials.visits.views.getting_in import ASK, ask, the_site


@needs(Right.SEE_WORK)
def to_see_to(request: Request) -> HttpResponse:
    """Everything that must still be seen to before work, by its day."""
    rows = queries.see_to_rows(SeeTo.objects.visible_to(request.user), clock.local_day(request.now))
    return page(request, "visits/to_see_to.html", {"rows": [row for row in rows if row["open"]]})


@needs(Right.SEE_WORK)
def see_to_new(request: Request, pk: UUID) -> HttpResponse:
    """Note what must be seen to first."""
    site = the_site(request, pk)
    only = next(iter(keys_in([request.GET.get("remedial", "")])), None)
    form = bound(request, forms.SeeToForm, site=site, initial={"remedial": only})
    return ask(
        request, form, site, "To be seen to before work", "Note it", said="Noted.",
        do=lambda: seeing_to.note_to_see_to(site, by=request.user, now=request.now, **form.cleaned_data),
    )  # fmt: skip


def _the_row(request: Request, pk: UUID) -> SeeTo:
    return get_object_or_404(SeeTo.objects.visible_to(request.user).select_related("site"), pk=pk)


@needs(Right.SEE_WORK)
def see_to_met(request: Request, pk: UUID) -> HttpResponse:
    """It was seen to: how, and until when that holds."""
    row = _the_row(request, pk)
    form = bound(request, forms.MetForm, initial={"met_on": clock.local_day(request.now), "version": row.version})
    return ask(
        request, form, row.site, "It was seen to", "Save", said="Saved.", about=row.what,
        do=lambda: seeing_to.note_met(row, by=request.user, now=request.now, **form.cleaned_data),
    )  # fmt: skip


@needs(Right.SEE_WORK)
def see_to_drop(request: Request, pk: UUID) -> HttpResponse:
    """It need not be seen to after all."""
    row = _the_row(request, pk)
    form = bound(request, forms.WhyForm)
    return ask(
        request, form, row.site, "It need not be seen to", "Take it off", said="Taken off.", about=row.what,
        do=lambda: seeing_to.need_not(row, by=request.user, now=request.now, **form.cleaned_data),
    )  # fmt: skip


# --- working alone ----------------------------------------------------------------------------------------------------


def _the_visit(request: Request, pk: UUID) -> Visit:
    return get_object_or_404(Visit.objects.visible_to(request.user).select_related("site"), pk=pk)


def _mine(request: Request, visit: Visit) -> CheckIn | None:
    return CheckIn.objects.filter(visit=visit, user=request.user, out_at=None).select_related("site").first()


@needs(Right.DO_WORK)
def check_in(request: Request, pk: UUID) -> HttpResponse:
    """Check in alone, out by a time; or, once in, stay longer; and out again, all of it without signal too."""
    visit = _the_visit(request, pk)
    mine, back = _mine(request, visit), address("visits:visit", visit.pk)
    usual = mine.out_by if mine else max(visit.end, request.now + timedelta(hours=1))
    form = bound(request, forms.OutByForm, initial={"out_by": usual})
    words = "Stay longer" if mine else "Check in"

    def do() -> CheckIn:
        data: dict[str, Any] = form.cleaned_data
        when: dict[str, Any] = {"now": request.now, "made_at": request.made_at}
        if mine:
            return checking_in.stay_longer(mine, out_by=data["out_by"], by=request.user, **when)
        return checking_in.check_in(visit, by=request.user, **data, **when)

    context = {"title": words, "place": visit.site.name, "back": back, "button": words, "visit": visit, "mine": mine}
    context |= held("check-in", visit.pk, kind="in", label=f"Working alone: {words.lower()}", visit=visit.pk)
    context["out"] = held_check_out(visit.pk)
    return form_page(request, "visits/check_in.html", form, context, do=do, then=back, said="Saved.")


@require_POST
@needs(Right.DO_WORK)
def check_out(request: Request, pk: UUID) -> HttpResponse:
    """Out and well. Out already: nothing more happens."""
    visit = _the_visit(request, pk)
    mine = _mine(request, visit)

    def do() -> CheckIn | None:
        if mine is None:
            return None
        return checking_in.check_out(mine, by=request.user, now=request.now, made_at=request.made_at)

    return act(request, do, then=address("visits:visit", visit.pk), said=_out_said)


def _out_said(row: CheckIn | None) -> str:
    """What became of it: an older word ends nothing."""
    if row is None or row.out_at:
        return "You are checked out."
    return f"You said that before you last said how long it takes: you are still in, out by {london(row.out_by):%H:%M}."


@needs(Right.BOOK)
def found_safe(request: Request, pk: UUID) -> HttpResponse:
    """Somebody made sure that all is well."""
    row = get_object_or_404(CheckIn.objects.visible_to(request.user).select_related("site", "user"), pk=pk)
    if row.user_id == request.user.pk:
        raise PermissionDenied("Somebody else says that you are safe; you check out yourself.")
    form = bound(request, forms.FoundSafeForm)
    back = address("visits:visit", row.visit_id)
    context = {"title": f"{row.user} was found safe", "place": row.site.name, "back": back, "button": "Found safe"}
    return form_page(
        request, ASK, form, context, then=back, said="Saved.",
        do=lambda: checking_in.found_safe(row, by=request.user, now=request.now, **form.cleaned_data),
    )  # fmt: skip
