"""Pages of the test instruments."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobsite import clock
from jobsite.ledger.files import read_file, store_file
from jobsite.pages import act, bound, page
from jobsite.people import forms, operations, queries
from jobsite.people.guard import Request, needs
from jobsite.people.models import Instrument, InstrumentCheck
from jobsite.people.rights import Right
from jobsite.people.views.common import ask

KEEP = "private, max-age=86400, immutable"
COMPARE = (
    "A quick comparison shows that it is still right; it is no calibration and extends none. Where it is wrong, take it "
    "out of use, and say how it was wrong: a competent person then decides what is read again."
)
FAILED_SAID = "Recorded: it was found wrong. What it has shown since it was last right is to be looked through."


@needs(Right.INSPECT)
def instruments(request: Request) -> HttpResponse:
    """All instruments and whether they are in their check."""
    rows = queries.instruments(today=clock.local_day(request.now))
    return page(request, "people/instruments.html", {"rows": rows, "keeps": request.user.may(Right.KEEP_PEOPLE)})


@needs(Right.KEEP_PEOPLE)
def instrument_new(request: Request) -> HttpResponse:
    """Add an instrument."""
    form = bound(request, forms.InstrumentForm)
    return ask(
        request,
        form,
        "New instrument",
        do=lambda: operations.add_instrument(by=request.user, now=request.now, **form.cleaned_data),
        then=lambda row: reverse("people:instrument_check", args=[row.pk]),
        said=lambda row: f"{row} added. Next: record its last check.",
        back=reverse("people:instruments"),
        button="Add instrument",
    )


@needs(Right.INSPECT)
def instrument_check(request: Request, pk: UUID) -> HttpResponse:
    """Record an accuracy check: a manager any, an engineer that it was compared."""
    row, calibrates = get_object_or_404(Instrument, pk=pk), request.user.may(Right.KEEP_PEOPLE)
    today, home = clock.local_day(request.now), reverse("works:instrument", args=[pk])
    first = {"checked_on": today, "last_good_on": None, "kind": request.GET.get("kind")}
    form = bound(request, forms.CheckForm, calibrates=calibrates, initial=first)
    return ask(
        request,
        form,
        f"Check of {row}",
        do=lambda: _check(request, row, dict(form.cleaned_data)),
        then=home,
        said=lambda made: FAILED_SAID if made.result == made.Result.FAILED else "Check recorded.",
        back=home,
        about=queries.last_good_words(row),
        caution="" if calibrates else COMPARE,
    )


def _check(request: Request, row: Instrument, given: dict[str, Any]) -> InstrumentCheck:
    given.setdefault("kind", InstrumentCheck.Kind.COMPARISON)
    if file := given.pop("file", None):
        given["file"] = store_file(file.read(), media_type="application/pdf", now=request.now)
    return operations.check_instrument(row, by=request.user, now=request.now, **given)


@needs(Right.INSPECT)
def check_file(request: Request, pk: UUID) -> HttpResponse:
    """The certificate of a check, to be saved: a browser never opens what somebody uploaded."""
    found = get_object_or_404(InstrumentCheck.objects.filter(file__isnull=False).select_related("file"), pk=pk)
    if found.file is None:
        raise LookupError(pk)
    headers = {"Content-Disposition": f'attachment; filename="check-of-{found.checked_on}.pdf"', "Cache-Control": KEEP}
    return HttpResponse(read_file(found.file), content_type="application/pdf", headers=headers)


@require_POST
@needs(Right.KEEP_PEOPLE)
def instrument_archive(request: Request, pk: UUID) -> HttpResponse:
    """Take an instrument out of use."""
    row = get_object_or_404(Instrument, pk=pk)
    return act(
        request,
        lambda: operations.archive_instrument(row, by=request.user, now=request.now),
        then=reverse("people:instruments"),
        said=f"{row} is out of use; its readings stay.",
    )
