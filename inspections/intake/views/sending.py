"""Pages on which a spreadsheet comes in, is read, set aside, and given back as it came."""

from __future__ import annotations

from datetime import timedelta
from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from inspections.choices import IntakeKind, IntakeState
from inspections.intake import forms, operations, queries
from inspections.intake.columns import BOARDS, CIRCUITS, COMBINED, OBSERVATIONS
from inspections.intake.templates import SHEETS, template
from inspections.intake.views.common import the_intake
from inspections.models import Intake
from inspections.queries.observations import sites_for_call
from jobsite import clock
from jobsite.downloads import XLSX, as_received
from jobsite.ids import key_in
from jobsite.ledger.files import read_file
from jobsite.pages import act, bound, form_page, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Site

IMPATIENT = timedelta(seconds=15)
"""After so long without a worker, the page offers to read the file itself."""
FORMS: dict[str, type[forms.BoardsForm]] = {IntakeKind.BOARDS: forms.BoardsForm, IntakeKind.REPORT: forms.ReportForm}
TITLES = {IntakeKind.BOARDS: "Take in boards and circuits", IntakeKind.REPORT: "Take in an earlier report"}
PASTED_NAME = "pasted text.txt"
TABLES = (
    ("Boards", "One row a board.", BOARDS),
    ("Circuits", "One row a circuit. Boards and circuits may be two sheets of one file, or two files.", CIRCUITS),
    ("Boards and circuits in one sheet", "A row for each circuit, what is known of its board beside it.", COMBINED),
    ("Observations", "One row an observation of the report.", OBSERVATIONS),
)


@needs(Right.TAKE_IN)
def new(request: Request) -> HttpResponse:
    """Choose the site, then what the spreadsheet holds, then send it."""
    if not request.GET.get("site"):
        text = request.GET.get("q", "")[:200]
        context = {"q": text, "sites": sites_for_call(request.user, text)}
        return page(request, "inspections/intake/sites.html", context, fragment="inspections/intake/_sites.html")
    site = _site_of(request)
    kind = request.GET.get("kind", "")
    if kind not in FORMS:
        choice: dict[str, Any] = {
            "site": site,
            "waiting": queries.intakes_of(site),
            "boards": site.boards.current().exists(),
        }
        return page(request, "inspections/intake/kinds.html", choice)
    return _send(request, site, kind)


def _site_of(request: Request) -> Site:
    try:
        key = UUID(request.GET["site"])
    except ValueError:
        raise Http404 from None
    return get_object_or_404(Site.objects.visible_to(request.user).current(), pk=key)


def _send(request: Request, site: Site, kind: str) -> HttpResponse:
    before = _before(request, site)
    as_text = kind == IntakeKind.REPORT and (request.GET.get("as") == "text" or before is not None)
    form_class = forms.PastedForm if as_text else FORMS[kind]
    form = bound(
        request, form_class, site=site, today=clock.local_day(request.now), initial=queries.typed_before(before)
    )
    back = f"{reverse('intake:new')}?site={site.pk}"
    context = {"site": site, "kind": kind, "as_text": as_text, "title": TITLES[IntakeKind(kind)], "back": back}
    return form_page(
        request,
        "inspections/intake/new.html",
        form,
        context,
        do=lambda: _received(request, site, kind, form, before),
        then=lambda made: reverse("intake:intake", args=[made.pk]),
        said="Text received." if as_text else "File received.",
    )


def _before(request: Request, site: Site) -> Intake | None:
    """The pasted text that is to be changed, where the address names one of this site."""
    key = key_in(request.GET.get("instead_of", ""))
    row = queries.intake_of(request.user, key) if key else None
    return row if row and row.site_id == site.pk and queries.is_pasted(row) else None


def _received(request: Request, site: Site, kind: str, form: forms.BoardsForm, before: Intake | None) -> Intake:
    values = form.cleaned_data
    upload = values.get("file")
    return operations.receive(
        site,
        id=values["id"],
        kind=kind,
        data=upload.read() if upload else values["text"].encode(),
        file_name=(upload.name or "") if upload else PASTED_NAME,
        unit=values["unit"],
        header=form.header(),
        by=request.user,
        now=request.now,
        instead_of=before,
    )


@require_POST
@needs(Right.TAKE_IN)
def read_here(request: Request, pk: UUID) -> HttpResponse:
    """Read the file, or take it in, in this request, where no worker has begun to."""
    row = the_intake(request, pk)
    do = operations.take_in_asked if row.state == IntakeState.TAKING_IN else operations.read
    return act(request, lambda: do(row.pk, now=request.now), then=reverse("intake:intake", args=[pk]))


@require_POST
@needs(Right.TAKE_IN)
def read_again(request: Request, pk: UUID) -> HttpResponse:
    """Have the file read once more."""
    row = the_intake(request, pk)
    return act(
        request,
        lambda: operations.read_again(row, by=request.user, now=request.now),
        then=reverse("intake:intake", args=[pk]),
        said="The file is read again.",
    )


@require_POST
@needs(Right.TAKE_IN)
def set_aside(request: Request, pk: UUID) -> HttpResponse:
    """Decide that the file isn't taken in."""
    row = the_intake(request, pk)
    return act(
        request,
        lambda: operations.set_aside(row, by=request.user, now=request.now),
        then=f"{reverse('intake:new')}?site={row.site_id}",
        said="Set aside. The file stays kept.",
    )


@needs(Right.TAKE_IN)
def file(request: Request, pk: UUID) -> HttpResponse:
    """The file as it was received, byte for byte, always as a download."""
    row = the_intake(request, pk)
    ending = "txt" if queries.is_pasted(row) else "xlsx" if row.file.media_type == XLSX else "csv"
    return as_received(read_file(row.file), f"intake-{row.uploaded_at:%Y-%m-%d}.{ending}")


@needs(Right.TAKE_IN)
def empty(request: Request, kind: str) -> HttpResponse:
    """An empty template to fill in."""
    if kind not in SHEETS:
        raise Http404
    response = HttpResponse(template(kind), content_type=XLSX)
    response["Content-Disposition"] = f'attachment; filename="{kind}.xlsx"'
    return response


@needs(Right.TAKE_IN)
def columns(request: Request) -> HttpResponse:
    """Which column heads are known, and what is expected below them."""
    return page(request, "inspections/intake/columns.html", {"tables": TABLES})
