"""Pages of the test instruments."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobsite import clock
from jobsite.pages import act, bound, page
from jobsite.people import forms, operations, queries
from jobsite.people.guard import Request, needs
from jobsite.people.models import Instrument
from jobsite.people.rights import Right
from jobsite.people.views.common import ask, initial


@needs(Right.KEEP_PEOPLE)
def instruments(request: Request) -> HttpResponse:
    """All instruments and whether they are in their check."""
    rows = queries.instruments(today=clock.local_day(request.now))
    return page(request, "people/instruments.html", {"rows": rows})


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


@needs(Right.KEEP_PEOPLE)
def instrument_check(request: Request, pk: UUID) -> HttpResponse:
    """Record an accuracy check."""
    row = get_object_or_404(Instrument, pk=pk)
    form = bound(request, forms.CheckForm, initial=initial(forms.CheckForm, row))
    return ask(
        request,
        form,
        f"Check of {row}",
        do=lambda: operations.check_instrument(row, by=request.user, now=request.now, **form.cleaned_data),
        then=reverse("people:instruments"),
        said="Check recorded.",
        back=reverse("people:instruments"),
        about="Readings taken outside of these days are flagged and don't close a remedial by themselves.",
    )


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
