"""Who moves into a unit, and the papers that the law asks for then."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404

from inspections import forms, operations
from inspections.models import Paper
from inspections.queries import papers as queries
from inspections.views.common import LAW, ask, initial, today
from jobsite.addresses import address
from jobsite.pages import bound
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Unit

NO_NEW_INSPECTION = "A change of occupancy asks these questions; it asks for no new inspection by itself."
LANDLORDS = "The duty is the landlord's; the firm keeps the date and the record."


def _where(unit: Unit) -> str:
    return unit.site.name if unit.whole_site else f"{unit.name}, {unit.site.name}"


def occupancy_at(unit: Any) -> str:
    """The address of the page on who moves into a unit."""
    return address("inspections:occupancy", unit.pk)


@needs(Right.KEEP_CUSTOMERS)
def occupancy(request: Request, pk: UUID) -> HttpResponse:
    """Record who moves in; what the law asks of it stands below until it is answered."""
    unit = get_object_or_404(Unit.objects.visible_to(request.user).select_related("site"), pk=pk)
    form = bound(request, forms.OccupancyForm, initial={"since": today(request)})
    return ask(
        request,
        form,
        "Somebody moves in",
        do=lambda: operations.change_occupancy(unit, by=request.user, now=request.now, **form.cleaned_data),
        then=occupancy_at(unit),
        back=address("premises:premises", unit.site_id),
        said=_said,
        button="Record it",
        template="inspections/occupancy.html",
        at_site=_where(unit),
        caution=f"{NO_NEW_INSPECTION} {LAW}",
        **queries.occupancy_page(unit, today(request)),
    )


def _said(change: Any) -> str:
    papers = change.papers.count()
    asks = "1 paper stands" if papers == 1 else f"{papers} papers stand"
    return f"Recorded. {asks} in the due list." if papers else "Recorded. The law that we know asks for no paper here."


@needs(Right.KEEP_CUSTOMERS)
def paper(request: Request, pk: UUID) -> HttpResponse:
    """Say what became of a paper that the law asks for."""
    rows = Paper.objects.visible_to(request.user).select_related("unit__site", "answered_by")
    row = get_object_or_404(rows, pk=pk)
    form = bound(request, forms.PaperForm, initial=initial(forms.PaperForm, row))
    shown = queries.paper_row(row, today(request))
    facts = [
        ("To", row.to), ("Owed by", row.owed_by), ("By", shown["by"]), ("Rule", row.basis), ("So far", shown["done"]),
    ]  # fmt: skip
    return ask(
        request,
        form,
        row.what,
        do=lambda: operations.answer_paper(row, by=request.user, now=request.now, **form.cleaned_data),
        then=occupancy_at(row.unit),
        back=occupancy_at(row.unit),
        said="Saved.",
        at_site=_where(row.unit),
        facts=[(head, said) for head, said in facts if said],
        caution=f"{LANDLORDS} {LAW}",
    )
