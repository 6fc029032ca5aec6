"""One instrument with its checks; and where it was found wrong, what it has shown since and what becomes of that."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from jobsite import clock
from jobsite.addresses import address
from jobsite.pages import as_file, bound, file_wanted, files, form_page, page, pager
from jobsite.people import operations as of_people
from jobsite.people import policy as of_competence
from jobsite.people.guard import Request, needs
from jobsite.people.models import Instrument, InstrumentFault
from jobsite.people.queries.instruments import checks_of, last_good, one_instrument
from jobsite.people.rights import Right
from remedials.works import operations, policy
from remedials.works.forms import FoundWrongForm, RecallForm
from remedials.works.models import RecallDecision
from remedials.works.queries import recalls as of_recalls

WHAT_FOLLOWS = (
    "Recording it changes no reading and reopens nothing by itself. What this instrument has shown since it was last "
    "right is listed with the closed work that it proved: a competent person decides, one by one, what is read "
    "again. Until a new calibration is recorded its readings are flagged."
)
DECIDED = {"again": "To be read again", "kept": "Kept"}


@needs(Right.INSPECT)
def instrument(request: Request, pk: UUID) -> HttpResponse:
    """One instrument: whether what it shows counts, its checks, what was found wrong with it."""
    row, today = get_object_or_404(Instrument, pk=pk), clock.local_day(request.now)
    checks = checks_of(row)
    context = {
        "instrument": one_instrument(row, today=today, on_record=bool(checks)),
        "checks": checks,
        "faults": of_recalls.faults(request.user, row),
        "since": of_recalls.readings_since_check(row),
        "keeps": request.user.may(Right.KEEP_PEOPLE),
        "compares": of_competence.may_compare(request.user),
    }
    return page(request, "works/instrument.html", context)


@needs(Right.KEEP_PEOPLE)
def found_wrong(request: Request, pk: UUID) -> HttpResponse:
    """Record that an instrument was found wrong otherwise than by a check of it."""
    row = get_object_or_404(Instrument, pk=pk)
    first = {"last_good_on": last_good(row), "found_on": clock.local_day(request.now)}
    form = bound(request, FoundWrongForm, initial=first)
    return form_page(
        request,
        "works/found_wrong.html",
        form,
        {"instrument": row, "caution": WHAT_FOLLOWS, "back": address("works:instrument", pk)},
        do=lambda: of_people.find_instrument_wrong(row, by=request.user, now=request.now, **form.cleaned_data),
        then=lambda made: address("works:recall", made.pk),
        said="Recorded. Look through what it has shown since.",
    )


@needs(Right.REVIEW_PROOF)
def recalls(request: Request) -> HttpResponse:
    """Every instrument that was found wrong, with how many of its readings are still to decide or to read again."""
    return page(request, "works/recalls.html", {"rows": of_recalls.faults(request.user)})


@needs(Right.REVIEW_PROOF)
def recall(request: Request, pk: UUID) -> HttpResponse:
    """What one instrument has shown since it was last right, and what was decided of each; also as a file."""
    fault = _fault(pk)
    state = request.GET.get("state", "undecided")
    state = state if state in of_recalls.STATES else "undecided"
    if kind := file_wanted(request):
        return as_file(kind, "recall", of_recalls.HEADS, of_recalls.cells(fault, request.user, state=state))
    found = of_recalls.page_of(fault, request.user, state=state, after=request.GET.get("after", ""))
    counts = of_recalls.counts(fault, request.user)
    counts["settled"] = counts["all"] - counts["undecided"] - counts["again"]
    states = [
        {
            "words": words,
            "count": counts[key or "all"],
            "here": key == state,
            "at": address("works:recall", pk, state=key),
        }
        for key, words in of_recalls.STATES.items()
    ]
    context: dict[str, Any] = {
        "fault": of_recalls.fault_words(fault),
        "rows": found.rows,
        "pager": pager(request, found),
    }
    context |= {"states": states, "left": counts["undecided"], "unread": counts["again"], "files": files(request)}
    return page(request, "works/recall.html", context, fragment="works/_recall.html")


def _fault(pk: UUID) -> InstrumentFault:
    return get_object_or_404(InstrumentFault.objects.select_related("instrument", "recorded_by"), pk=pk)


@needs(Right.REVIEW_PROOF)
def recall_decide(request: Request, pk: UUID, reading: UUID) -> HttpResponse:
    """Decide of one reading; then on to the next that is undecided."""
    fault = _fault(pk)
    rows = of_recalls.with_work(of_recalls.doubtful(fault, request.user))
    row = get_object_or_404(rows, pk=reading)
    shown = of_recalls.recall_rows([row], fault)[0]
    keep = policy.why_not_keep(request.user, row, now=request.now)
    again = (
        ""
        if policy.may_reopen(request.user, now=request.now)
        else "Only the office or a qualified person decides this."
    )
    stands = next((one.pk for one in row.made if one.fault_id == fault.pk and one.replaced_at is None), None)
    context: dict[str, Any] = {
        "fault": of_recalls.fault_words(fault),
        "row": shown,
        "left": of_recalls.counts(fault, request.user)["undecided"],
        "next": _next(request, fault, reading),
        "why_not": again or keep if again else "",
        "keep": keep,
    }
    if again and request.method != "POST":
        return page(request, "works/recall_decide.html", context)
    form = bound(request, RecallForm, may_keep=not keep, initial={"seen": stands})
    return form_page(
        request,
        "works/recall_decide.html",
        form,
        context,
        do=lambda: operations.decide_recall(fault, row, by=request.user, now=request.now, **form.cleaned_data),
        then=lambda _: _next(request, fault, reading) or address("works:recall", pk),
        said=_decided,
    )


def _next(request: Request, fault: InstrumentFault, reading: UUID) -> str:
    found = of_recalls.next_to_decide(fault, request.user, besides=reading)
    return reverse("works:recall_decide", args=[fault.pk, found]) if found else ""


def _decided(made: RecallDecision) -> str:
    return f"{DECIDED[made.decision]}. Recorded with your reason."
