"""Pages of the planner: asking for a plan, waiting for it, deciding on what it proposes."""

import contextlib
from datetime import date, timedelta
from uuid import UUID

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobsite.addresses import address
from jobsite.ids import key_in, new_id
from jobsite.pages import act, bound, form_page, go, page, pager
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.words import many, span
from remedials.visits.choices import PlanState
from remedials.visits.forms.planning import AcceptForm, PlanForm, RefuseForm
from remedials.visits.models import Plan, Proposal
from remedials.visits.operations import planning as operations
from remedials.visits.operations import working_out
from remedials.visits.queries import planning as queries
from remedials.visits.queries.problem import missing_places
from remedials.visits.views.common import of_the_firm

IMPATIENT = timedelta(seconds=15)
"""After so long without a worker, the page offers to work the plan out itself."""


@needs(Right.BOOK)
@of_the_firm
def plans(request: Request) -> HttpResponse:
    """The plans that were asked for, the last first."""
    found = queries.plans(after=request.GET.get("after", ""))
    return page(request, "visits/plans.html", {"rows": found.rows, "pager": pager(request, found)})


@needs(Right.BOOK)
@of_the_firm
def plan_new(request: Request) -> HttpResponse:
    """Ask for a plan: which days, whom, how hard to search."""
    before = _before(request)
    initial = {"id": new_id()} | _from_address(request)
    form = bound(request, PlanForm, before=before, first=queries.first_day(request.now), initial=initial)

    def do() -> Plan:
        return operations.ask_plan(by=request.user, now=request.now, **form.cleaned_data)

    context = {"missing": queries.missing_in_words(missing_places()), "back": reverse("visits:plans")}
    return form_page(
        request, "visits/plan_new.html", form, context, do=do, then=lambda plan: address("visits:plan", plan.pk)
    )


def _before(request: Request) -> Plan | None:
    """The plan that the address names, or the last that proposes something to come."""
    key = key_in(request.GET.get("after", ""))
    named = Plan.objects.filter(pk=key, state=PlanState.READY).first() if key else None
    return named or queries.last_ready(request.now)


def _from_address(request: Request) -> dict[str, object]:
    """The days that the address names, so that a plan can be asked for again."""
    found: dict[str, object] = {}
    with contextlib.suppress(ValueError):
        found["first"] = date.fromisoformat(request.GET.get("first", ""))
    if (days := request.GET.get("days", "")).isdecimal() and len(days) < 3:
        found["days"] = int(days)
    return found


@needs(Right.BOOK)
@of_the_firm
def plan(request: Request, pk: UUID) -> HttpResponse:
    """Wait for a plan, then look at what it proposes and decide on it."""
    row = _the_plan(pk)
    if row.state in {PlanState.WAITING, PlanState.RUNNING}:
        context = queries.progress_of(row) | {"plan": row, "days_said": queries.days_in_words(row)}
        context["slow"] = not context["begun"] and request.now - context["changed_at"] > IMPATIENT
        return page(request, "visits/plan_waiting.html", context, fragment="visits/_plan_progress.html")
    if request.htmx:  # type: ignore[attr-defined]
        return go(request, request.path)  # it has ended: the page that waited shows what came of it
    return _show(request, row)


def _show(request: Request, row: Plan, **more: object) -> HttpResponse:
    if row.state == PlanState.FAILED:
        again = address("visits:plan_new", first=row.first.isoformat(), days=row.days)
        context = {"plan": row, "days_said": queries.days_in_words(row), "faults": row.figures.get("faults", [])}
        return page(request, "visits/plan_failed.html", context | {"again": again})
    context = {"plan": row, "shown": queries.plan_page(row, now=request.now)}
    return page(request, "visits/plan.html", context | more, status=422 if more else 200)


@require_POST
@needs(Right.BOOK)
@of_the_firm
def plan_here(request: Request, pk: UUID) -> HttpResponse:
    """Work the plan out in this request, where no worker has begun to."""
    row = _the_plan(pk)
    return act(request, lambda: working_out.work_out(row.pk, now=request.now), then=address("visits:plan", row.pk))


@require_POST
@needs(Right.BOOK)
@of_the_firm
def plan_accept_all(request: Request, pk: UUID) -> HttpResponse:
    """Accept all that is still open, each by itself; those that cannot be are said."""
    row = _the_plan(pk)
    visits, refused = operations.accept_all(row, by=request.user, now=request.now)
    if visits:
        messages.success(request, f"{many(len(visits), 'visit')} booked.")
    if not refused:
        return go(request, address("visits:plan", row.pk))
    said = [{"what": f"{p.site.name}, {span(p.start, p.end)}", "why": why} for p, why in refused]
    return _show(request, row, not_accepted=said)


@needs(Right.BOOK)
@of_the_firm
def proposal_accept(request: Request, pk: UUID) -> HttpResponse:
    """Book what is proposed; where the booking warns of something, say why in spite of that."""
    row = _the_proposal(pk)
    form = bound(request, AcceptForm)
    context = {"proposal": row, "when": span(row.start, row.end), "back": address("visits:plan", row.plan_id)}
    return form_page(
        request,
        "visits/proposal_accept.html",
        form,
        context | {"people": ", ".join(user.name for user in row.engineers.order_by("name", "pk"))},
        do=lambda: operations.accept(row, by=request.user, now=request.now, **form.cleaned_data),
        then=address("visits:plan", row.plan_id),
        said=lambda visit: f"Visit {visit.number} to {row.site.name} booked.",
    )


@needs(Right.BOOK)
@of_the_firm
def proposal_refuse(request: Request, pk: UUID) -> HttpResponse:
    """Refuse what is proposed, with the reason."""
    row = _the_proposal(pk)
    form = bound(request, RefuseForm)
    context = {"proposal": row, "when": span(row.start, row.end), "back": address("visits:plan", row.plan_id)}
    return form_page(
        request,
        "visits/proposal_refuse.html",
        form,
        context,
        do=lambda: operations.refuse(row, by=request.user, now=request.now, **form.cleaned_data),
        then=address("visits:plan", row.plan_id),
        said=f"Refused: {row.site.name}. Its work is free for the next plan.",
    )


def _the_plan(pk: UUID) -> Plan:
    return get_object_or_404(Plan.objects.select_related("made_by"), pk=pk)


def _the_proposal(pk: UUID) -> Proposal:
    return get_object_or_404(Proposal.objects.select_related("site", "plan"), pk=pk)
