"""Pages on which a qualified person decides: all codes of a report, one code, what an investigation found."""

from typing import Any
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse

from inspections import forms, operations, policy
from inspections.choices import Ended, InspectionState
from inspections.models import Inspection, Observation
from inspections.queries import coding as queries
from inspections.queries.observations import review_history
from inspections.views.common import CODING, LAW, ask_about, at, the_inspection, the_observation, today
from jobsite.ids import key_in
from jobsite.pages import bound, go, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import ChangedMeanwhile, NotAllowed, Refused


@needs(Right.SEE_WORK)
def codes(request: Request, pk: UUID) -> HttpResponse:
    """Every observation of a report with its code: each decision is saved by itself."""
    row = the_inspection(request, pk)
    if row.state == InspectionState.DRAFT:
        return go(request, at("inspection", row))
    if request.method == "POST":
        return _decide(request, row)
    return _codes_page(request, row)


def _codes_page(request: Request, row: Inspection, shown_again: dict[str, Any] | None = None) -> HttpResponse:
    context = queries.codes_page(row) | {"inspection": row, "caution": CODING, "law": LAW}
    context["at_once"] = queries.to_do_now(row, today=today(request))
    context["why_not"] = policy.why_not_decide(request.user, now=request.now)
    if shown_again:
        context["rows"] = [shown_again if r["id"] == shown_again["id"] else r for r in context["rows"]]
    return page(request, "inspections/codes.html", context, status=422 if shown_again else 200)


def _decide(request: Request, row: Inspection) -> HttpResponse:
    """Save one decision; htmx gets the row alone, otherwise back to the page at that row."""
    form = forms.ReviewForm(request.POST)
    observation = _named(row, request.POST.get("observation", ""))
    error = _saved(request, observation, form)
    fresh = queries.the_observation(row, observation.pk)
    if fresh is None:
        raise Http404
    typed = {name: request.POST.get(name, "")[:10_000] for name in ("decision", "code", "reason")} if error else {}
    shown = queries.code_row(fresh, with_unit=False, error=error, **typed)
    if request.htmx:  # type: ignore[attr-defined]
        context = {"row": shown, "inspection": row, "waiting": queries.waiting(row), "swapped": True}
        return page(request, "inspections/_code_row.html", context, status=422 if error else 200)
    if error:
        return _codes_page(request, row, shown)
    messages.success(request, f"Code of observation {observation.number} decided.")
    return go(request, f"{at('codes', row)}#o-{queries.next_undecided(observation) or observation.pk}")


def _named(row: Inspection, key: str) -> Observation:
    """The observation of this report that the form is about, else 404."""
    wanted = key_in(key)
    observation = queries.the_observation(row, wanted) if wanted else None
    if observation is None:
        raise Http404
    return observation


def _saved(request: Request, observation: Observation, form: forms.ReviewForm) -> str:
    """Decide as the form says; what is wrong in a sentence, "" where it is done."""
    if not form.is_valid():
        return " ".join(
            f"{form.fields[name].label}: {' '.join(map(str, found))}" for name, found in form.errors.items()
        )
    try:
        operations.review(observation, by=request.user, now=request.now, **form.cleaned_data)
    except NotAllowed as refused:
        raise PermissionDenied(refused.sentence) from refused
    except ChangedMeanwhile as met:
        return f"{met.sentence} The code in force is shown as it is now: decide again."
    except Refused as refused:
        return refused.sentence
    return ""


@needs(Right.REVIEW_CODES)
def review(request: Request, pk: UUID) -> HttpResponse:
    """Decide the code of one observation."""
    row = the_observation(request, pk)
    form = _bound_review(request, row)
    return ask_about(
        request,
        row,
        form,
        f"Review observation {row.number}" if row.code else f"Code observation {row.number}",
        do=lambda: operations.review(row, by=request.user, now=request.now, **form.cleaned_data),
        said="Decided.",
        button="Decide",
        caution=f"{CODING} {LAW}",
        why_not=policy.why_not_decide(request.user, now=request.now) or _no_review(row),
        history=review_history(row),
    )


def _bound_review(request: Request, row: Observation) -> forms.ReviewForm:
    first = {"version": row.version}
    data = request.POST if request.method == "POST" else None
    return forms.ReviewForm(data, coded=bool(row.code), initial=first)


def _no_review(row: Observation) -> str:
    if row.draft:
        return "Its report is not issued yet: change the code there."
    if row.ended not in ("", Ended.NO_CODE):
        return f"This observation is closed ({row.get_ended_display()}): its code is not decided any more."
    return ""


@needs(Right.REVIEW_CODES)
def finding(request: Request, pk: UUID) -> HttpResponse:
    """Record what the further investigation of an FI found."""
    row = the_observation(request, pk)
    form = forms.FindingForm(request.POST if request.method == "POST" else None)
    return ask_about(
        request,
        row,
        form,
        f"Finding of observation {row.number}",
        do=lambda: operations.record_finding(row, by=request.user, now=request.now, **form.cleaned_data),
        said="Finding recorded.",
        button="Record the finding",
        caution=f"An FI ends in a finding, which starts its own clocks today. {CODING} {LAW}",
        why_not=policy.why_not_decide(request.user, now=request.now),
    )


@needs(Right.REVIEW_CODES)
def withdraw_finding(request: Request, pk: UUID) -> HttpResponse:
    """Withdraw a finding that was recorded in error."""
    row = the_observation(request, pk)
    form = bound(request, forms.WithdrawFindingForm)
    return ask_about(
        request,
        row,
        form,
        f"Withdraw the finding of observation {row.number}",
        do=lambda: operations.withdraw_finding(row, by=request.user, now=request.now, **form.cleaned_data),
        said="The finding is withdrawn. The investigation is open again.",
        button="Withdraw the finding",
        caution="What it found, where that is still open, is withdrawn with it; the FI keeps its old dates.",
        why_not=policy.why_not_decide(request.user, now=request.now),
    )
