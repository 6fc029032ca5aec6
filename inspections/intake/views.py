"""Pages on which a spreadsheet comes in, is looked over, and is taken in."""

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
from inspections.models import Intake
from inspections.queries.coding import to_do_now
from inspections.queries.observations import sites_for_call
from jobsite import clock, words
from jobsite.downloads import XLSX
from jobsite.forms import PlainForm
from jobsite.ledger.files import read_file
from jobsite.pages import act, bound, form_page, go, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.people.views.common import ask
from jobsite.premises.models import Site
from jobsite.refused import Refused

IMPATIENT = timedelta(seconds=15)
"""After so long without a worker, the page offers to read the file itself."""
FORMS: dict[str, type[forms.BoardsForm]] = {IntakeKind.BOARDS: forms.BoardsForm, IntakeKind.REPORT: forms.ReportForm}
TITLES = {IntakeKind.BOARDS: "Take in boards and circuits", IntakeKind.REPORT: "Take in an earlier report"}
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
    form = bound(request, FORMS[kind], site=site, today=clock.local_day(request.now))
    back = f"{reverse('intake:new')}?site={site.pk}"
    return form_page(
        request,
        "inspections/intake/new.html",
        form,
        {"site": site, "kind": kind, "title": TITLES[IntakeKind(kind)], "back": back},
        do=lambda: _received(request, site, kind, form),
        then=lambda made: reverse("intake:intake", args=[made.pk]),
        said="File received.",
    )


def _received(request: Request, site: Site, kind: str, form: forms.BoardsForm) -> Intake:
    values = form.cleaned_data
    return operations.receive(
        site,
        id=values["id"],
        kind=kind,
        data=values["file"].read(),
        file_name=values["file"].name or "",
        unit=values["unit"],
        header=form.header(),
        by=request.user,
        now=request.now,
    )


def _intake(request: Request, pk: UUID) -> Intake:
    intake = queries.intake_of(request.user, pk)
    if intake is None:
        raise Http404
    return intake


@needs(Right.TAKE_IN)
def intake(request: Request, pk: UUID, refused: Refused | None = None) -> HttpResponse:
    """Wait while the file is read, look over what was found, and take it in; afterwards what became of it."""
    row = _intake(request, pk)
    context = _particulars(row) | {"refused": refused}
    if row.state == IntakeState.RECEIVED:
        slow = request.now - row.progress.changed_at > IMPATIENT
        return page(
            request,
            "inspections/intake/waiting.html",
            context | queries.progress_of(row) | {"slow": slow},
            fragment="inspections/intake/_progress.html",
        )
    if request.htmx:  # type: ignore[attr-defined]
        return go(request, request.path)  # reading has ended: the page that waited shows what was found
    if row.state == IntakeState.READ:
        return _look_over(request, row, context)
    if row.inspection:
        context["at_once"] = to_do_now(row.inspection, today=clock.local_day(request.now))
    return page(request, "inspections/intake/ended.html", context | queries.ending(row))


def _particulars(row: Intake) -> dict[str, Any]:
    received = f"{words.when(row.uploaded_at)} by {row.uploaded_by}"
    return {"intake": row, "site": row.site, "received": received, "kind": row.get_kind_display()}


def _look_over(request: Request, row: Intake, context: dict[str, Any]) -> HttpResponse:
    form = bound(request, forms.LeaveOutForm, refused=row.found.get("refused", []), decided=row.left_out)
    more = request.GET.get("more", "")
    shown = queries.preview(row, more=int(more) if more.isdecimal() and len(more) < 5 else 0)
    return form_page(
        request,
        "inspections/intake/look_over.html",
        form,
        context | shown,
        do=lambda: _take_in(request, row, form),
        then=_next_of,
        said=lambda made: f"Taken in: {queries.in_words(made.found)}.",
    )


def _take_in(request: Request, row: Intake, form: forms.LeaveOutForm) -> Intake:
    try:
        return operations.take_in(row, left_out=form.reasons(), by=request.user, now=request.now)
    except Refused as refused:
        refused.field = form.names.get(refused.field or "")
        raise


def _next_of(made: Intake) -> str:
    if made.inspection_id:
        return reverse("inspections:codes", args=[made.inspection_id])
    return reverse("desk:site", args=[made.site_id])


@needs(Right.TAKE_IN)
def leave_out(request: Request, pk: UUID) -> HttpResponse:
    """Leave one row out that could be taken in, with the reason."""
    row, name = _intake(request, pk), request.GET.get("row", "")[:300]
    form = bound(request, forms.ReasonForm)
    back = reverse("intake:intake", args=[pk])
    said = next((f"{one['name']} {one['more']}" for one in row.found.get("accepted", []) if one["row"] == name), "")
    return ask(
        request,
        form,
        f"Leave out {name}",
        do=lambda: operations.leave_out(row, row=name, by=request.user, now=request.now, **form.cleaned_data),
        then=back,
        said=lambda made: _left_out_words(row, made),
        back=back,
        button="Leave it out",
        about=said,
        caution="Rows that need this one, such as the circuits of a board, are refused with it.",
    )


def _left_out_words(before: Intake, after: Intake) -> str:
    besides = len(after.found["refused"]) - len(before.found["refused"]) - 1
    return f"Left out. {words.many(besides, 'row')} that need it are refused with it." if besides > 0 else "Left out."


@needs(Right.TAKE_IN)
def put_back(request: Request, pk: UUID) -> HttpResponse:
    """Take a row in after all."""
    row, name = _intake(request, pk), request.GET.get("row", "")[:300]
    back = reverse("intake:intake", args=[pk])
    return ask(
        request,
        bound(request, PlainForm),
        f"Take in {name} after all?",
        do=lambda: operations.put_back(row, row=name, by=request.user, now=request.now),
        then=back,
        said="It stands among the rows to be taken in, if nothing else is wrong with it.",
        back=back,
        button="Take it in after all",
    )


@require_POST
@needs(Right.TAKE_IN)
def read_here(request: Request, pk: UUID) -> HttpResponse:
    """Read the file in this request, where no worker has begun to."""
    row = _intake(request, pk)
    return act(request, lambda: operations.read(row.pk, now=request.now), then=reverse("intake:intake", args=[pk]))


@require_POST
@needs(Right.TAKE_IN)
def read_again(request: Request, pk: UUID) -> HttpResponse:
    """Have the file read once more."""
    row = _intake(request, pk)
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
    row = _intake(request, pk)
    return act(
        request,
        lambda: operations.set_aside(row, by=request.user, now=request.now),
        then=f"{reverse('intake:new')}?site={row.site_id}",
        said="Set aside. The file stays kept.",
    )


@needs(Right.TAKE_IN)
def file(request: Request, pk: UUID) -> HttpResponse:
    """The file as it was received, byte for byte, always as a download."""
    row = _intake(request, pk)
    ending = "xlsx" if row.file.media_type == XLSX else "csv"
    response = HttpResponse(read_file(row.file), content_type="application/octet-stream")
    response["Content-Disposition"] = f'attachment; filename="intake-{row.uploaded_at:%Y-%m-%d}.{ending}"'
    response["Cache-Control"] = "private, no-store"
    return response


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
