"""Facts and how sure they are: the list, one fact with its history, correcting it and putting it back."""

from typing import Any

from django.http import Http404, HttpResponse
from django.urls import reverse

from inspections import forms, operations, policy
from inspections.queries.facts import corrections_on, fact_groups, fact_history, fact_row, facts_from
from inspections.standards.registry import FACTS, AnyFact
from inspections.views.common import ask, today
from jobsite.pages import bound, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.words import many

CAUTION = (
    "These are what limits, dates and assessments are computed from. The current edition of the standard and the current "
    "law go before them. Those marked “from memory” or “not read in the text” are to be looked up before anybody relies "
    "on them."
)


@needs(Right.SEE_WORK)
def facts(request: Request) -> HttpResponse:
    """All published facts under their heads, with source and how sure each is."""
    form = forms.FactsForm(request.GET)
    form.is_valid()
    q, only = (str(form.cleaned_data.get(name) or "") for name in ("q", "only"))
    groups = fact_groups(today(request), text=q, only=only)
    count = sum(len(group["rows"]) for group in groups)
    context = {
        "groups": groups,
        "filter": form,
        "caution": CAUTION,
        "count": many(count, "fact"),
        "unfolded": bool(q or only),
    }
    return page(request, "inspections/facts.html", context, fragment="inspections/_facts_list.html")


@needs(Right.SEE_WORK)
def fact(request: Request, key: str) -> HttpResponse:
    """One fact: its value, source, how sure it is, and what was corrected of it."""
    found = _fact(key)
    rows = corrections_on(today(request))
    why_not = policy.why_not_correct(request.user, now=request.now)
    context = {
        "fact": fact_row(found, facts_from(rows), rows.get(key)),
        "shipped": {"shown": found.shown, "source": found.source, "sure": found.confidence.value},
        "history": fact_history(key),
        "why_not": why_not,
        "caution": CAUTION,
        "correct_at": reverse("inspections:correct_fact", args=[key]),
        "put_back_at": reverse("inspections:put_back_fact", args=[key]),
    }
    return page(request, "inspections/fact.html", context)


@needs(Right.REVIEW_CODES)
def correct_fact(request: Request, key: str) -> HttpResponse:
    """Put what was looked up in the place of a fact."""
    found: Any = _fact(key)
    used = facts_from(corrections_on(today(request))).of(found)
    first = {"value": found.text(used.value), "holds_from": today(request)}
    form = bound(request, forms.CorrectForm, fact=found, initial=first)
    return _ask(request, key, form, f"Correct: {found.title}", operations.correct_fact, "The fact is corrected.")


@needs(Right.REVIEW_CODES)
def put_back_fact(request: Request, key: str) -> HttpResponse:
    """Use a fact again as the program has it."""
    found = _fact(key)
    form = bound(request, forms.PutBackForm, initial={"holds_from": today(request)})
    said = "The fact is used as the program has it."
    return _ask(request, key, form, f"Put back: {found.title}", operations.put_back_fact, said)


def _fact(key: str) -> AnyFact:
    if key not in FACTS:
        raise Http404
    return FACTS[key]


def _ask(request: Request, key: str, form: Any, title: str, do: Any, said: str) -> HttpResponse:
    back = reverse("inspections:fact", args=[key])
    return ask(
        request,
        form,
        title,
        do=lambda: do(key, by=request.user, now=request.now, **form.cleaned_data),
        then=back,
        back=back,
        said=said,
        caution=CAUTION,
        why_not=policy.why_not_correct(request.user, now=request.now),
        facts=[("As the program has it", f"{FACTS[key].shown}: {FACTS[key].source}")],
    )
