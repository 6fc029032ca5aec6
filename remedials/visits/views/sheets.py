"""The job sheet of a visit, and what to bring to it or on a day."""

from datetime import date, timedelta
from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404

from jobsite import clock
from jobsite.addresses import address
from jobsite.downloads import as_pdf
from jobsite.pages import page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import Refused
from remedials.visits import queries
from remedials.visits.forms.sheets import DayForm
from remedials.visits.models import Visit


def _the_visit(request: Request, pk: UUID) -> Visit:
    """The visit if this person may see it, else 404: a subcontractor's own only."""
    rows: Any = Visit.objects.visible_to(request.user).select_related("site__customer")
    if request.user.subcontractor:
        rows = rows.filter(attendances__engineer=request.user, attendances__cancelled=False)
    return get_object_or_404(rows, pk=pk)


@needs(Right.SEE_WORK)
def sheet(request: Request, pk: UUID) -> HttpResponse:
    """The job sheet as a PDF."""
    visit = _the_visit(request, pk)
    try:
        made = queries.job_sheet(visit, request.user, now=request.now)
    except Refused as refused:
        return page(request, "refused.html", {"refused": refused, "back": address("visits:visit", pk)})
    return as_pdf(made.pdf, f"job sheet {visit.number}")


@needs(Right.SEE_WORK)
def bring(request: Request, pk: UUID) -> HttpResponse:
    """What to bring to a visit, added up."""
    return page(request, "visits/bring.html", queries.bring.of_visit(_the_visit(request, pk)))


@needs(Right.DO_WORK)
def bring_on(request: Request) -> HttpResponse:
    """What the person brings along on a day, for all their visits: today unless told otherwise."""
    form = DayForm({"day": request.GET.get("day", "")})
    typed: date | None = form.cleaned_data["day"] if form.is_valid() else None
    on = typed or clock.local_day(request.now)
    context = queries.bring.of_day(request.user, on)
    context |= {"earlier": f"{request.path}?day={on - timedelta(days=1)}"}
    context |= {"later": f"{request.path}?day={on + timedelta(days=1)}"}
    return page(request, "visits/bring.html", context)
