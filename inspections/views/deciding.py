"""Pages on which a qualified person decides: all codes of a report, one code, what an investigation found."""

from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.contrib import messages
from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpResponse

from inspections import forms, operations, policy
from inspections.choices import Ended, InspectionState
from inspections.models import Inspection, Observation
from inspections.queries import deciding as queries
from inspections.queries.coding import to_do_now
from inspections.queries.observations import review_history
from inspections.views.common import CODING, LAW, ask, ask_about, at, the_inspection, the_observation, today
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


def _only_undecided(request: Request) -> bool:
    return request.GET.get("show") == "undecided"


def _codes_page(request: Request, row: Inspection, shown_again: dict[str, Any] | None = None) -> HttpResponse:
    said, only = request.GET.get("page", ""), _only_undecided(request)
    number = int(said) if said.isdecimal() and len(said) < 6 else 0
    context = queries.codes_page(row, only_undecided=only, number=number) | {"inspection": row, "only": only}
    context |= {"caution": CODING, "law": LAW, "narrowed": "&show=undecided" if only else ""}
    context["at_once"] = to_do_now(row, today=today(request))
    context["why_not"] = policy.why_not_decide(request.user, now=request.now)
    context["missed"] = queries.missed(row)
    context |= _compared(row) if context["all_decided"] else {}
    if shown_again:
        context["rows"] = [shown_again if r["id"] == shown_again["id"] else r for r in context["rows"]]
    return page(request, "inspections/codes.html", context, status=422 if shown_again else 200)


def _compared(row: Inspection) -> dict[str, Any]:
    """How the two assessments differ; of a report of our own there is only one."""
    return {"compared": queries.comparison(row)} if row.other_firm else {}


def _decide(request: Request, row: Inspection) -> HttpResponse:
    """Save one decision; htmx gets the row alone, otherwise back to the page at the next undecided row."""
    form = forms.CodeForm(request.POST)
    observation = _named(row, request.POST.get("observation", ""))
    error = _saved(request, observation, form)
    fresh = queries.the_observation(row, observation.pk)
    if fresh is None:
        raise Http404
    typed = {name: request.POST.get(name, "")[:10_000] for name in ("choice", "reason")} if error else {}
    earlier = queries.earlier_of([fresh])[fresh.pk]
    shown = queries.code_row(fresh, with_unit=False, earlier=earlier, error=error, **typed)
    if request.htmx:  # type: ignore[attr-defined]
        return _row_alone(request, row, shown)
    if error:
        return _codes_page(request, row, shown)
    messages.success(request, f"Code of observation {observation.number} decided.")
    return go(request, _next(request, row, observation))


def _row_alone(request: Request, row: Inspection, shown: dict[str, Any]) -> HttpResponse:
    """The decided row, how far it has come, and with the last one how the two assessments differ."""
    context = {"row": shown, "inspection": row, "swapped": True} | queries.progress_of(row)
    if not context["left"] and not shown["error"]:
        context |= _compared(row)
    return page(request, "inspections/_code_row.html", context, status=422 if shown["error"] else 200)


def _next(request: Request, row: Inspection, decided: Observation) -> str:
    """The page at the next undecided observation, narrowed as it was; the top where nothing is left."""
    only, then = _only_undecided(request), queries.next_undecided(decided)
    if then is None:
        return f"{at('codes', row)}#left"
    query = {"show": "undecided"} if only else {}
    if number := queries.page_of(then, only_undecided=only):
        query["page"] = str(number)
    return f"{at('codes', row)}{'?' if query else ''}{urlencode(query)}#o-{then.pk}"


def _named(row: Inspection, key: str) -> Observation:
    """The observation of this report that the form is about, else 404."""
    wanted = key_in(key)
    observation = queries.the_observation(row, wanted) if wanted else None
    if observation is None:
        raise Http404
    return observation


def _saved(request: Request, observation: Observation, form: forms.CodeForm) -> str:
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
def missed(request: Request, pk: UUID) -> HttpResponse:
    """Add what another firm's report missed, as our own observation."""
    row = the_inspection(request, pk)
    form = bound(request, forms.MissedForm, site=row.site)
    return ask(
        request,
        form,
        "What the report missed",
        do=lambda: operations.add_missed(row, by=request.user, now=request.now, **form.cleaned_data),
        then=f"{at('codes', row)}#missed",
        back=at("codes", row),
        said=lambda made: f"Observation {made.number} added as our own.",
        button="Add it",
        at_site=row.site.name,
        note="It is recorded today, as the firm's own observation with its own clocks. The report stays as it is.",
        caution=f"{CODING} {LAW}",
        why_not=policy.why_not_decide(request.user, now=request.now),
    )


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
