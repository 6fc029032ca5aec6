"""Pages on which an inspection is begun, its observations are entered one after another, and it is issued."""

from typing import Any
from uuid import UUID

from django import forms as django_forms
from django.core.files.uploadedfile import UploadedFile
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from inspections import forms, operations, policy
from inspections.choices import InspectionState
from inspections.models import Inspection, Limitation, Observation
from inspections.queries import inspections as queries
from inspections.queries.coding import open_codes
from inspections.queries.observations import back_of
from inspections.standards.editions import edition_in_force
from inspections.views.common import CODING, ask, at, initial, the_inspection, the_observation, the_site, today
from jobsite import words
from jobsite.forms import PlainForm
from jobsite.ledger.files import store_file
from jobsite.pages import act, as_file, bound, file_wanted, files, form_page, go, page, pager
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import Refused

PDF = b"%PDF-"


class FilterForm(PlainForm):
    """What narrows the list of inspections; it stands in the address."""

    q = django_forms.CharField(label="Site, firm, reference, number", required=False, max_length=200)
    state = django_forms.ChoiceField(label="State", choices=[("", "all"), *queries.STATES], required=False)


@needs(Right.SEE_WORK)
def inspections(request: Request) -> HttpResponse:
    """The list of inspections and reports, newest first."""
    narrow = FilterForm(request.GET or None)
    wanted = {"text": "", "state": ""}
    if narrow.is_valid():
        wanted = {"text": narrow.cleaned_data["q"].strip(), "state": narrow.cleaned_data["state"]}
    if kind := file_wanted(request):
        return as_file(kind, "inspections", queries.HEADS, queries.cells(request.user, **wanted))
    found = queries.inspections(request.user, after=request.GET.get("after", ""), **wanted)
    context = {"rows": found.rows, "pager": pager(request, found), "filter": narrow, "files": files(request)}
    return page(request, "inspections/list.html", context, fragment="inspections/_list.html")


@needs(Right.INSPECT)
def new(request: Request, pk: UUID) -> HttpResponse:
    """Begin an inspection at a site: our own, or another firm's report typed by hand."""
    site = the_site(request, pk)
    takes_in = policy.may_enter_inspection(request.user, other_firm=True)
    first = {"kind": "periodic", "inspected_on": today(request)}
    form = bound(request, forms.InspectionForm, site=site, takes_in=takes_in, initial=first)
    return ask(
        request,
        form,
        "New inspection",
        do=lambda: operations.start_inspection(site, by=request.user, now=request.now, **_kept(request, form)),
        then=lambda made: at("inspection", made),
        back=reverse("desk:site", args=[site.pk]),
        said="Entered. Next: its observations, one after another.",
        button="Begin",
        at_site=site.name,
        note=f"Today's edition is {edition_in_force(today(request)).label}.",
    )


@needs(Right.INSPECT)
def edit(request: Request, pk: UUID) -> HttpResponse:
    """Change the particulars of a draft."""
    row = the_inspection(request, pk)
    first = {"units": row.units.all(), "boards": row.boards.all()}
    form = bound(
        request, forms.EditInspectionForm, site=row.site, initial=initial(forms.EditInspectionForm, row, **first)
    )
    return ask(
        request,
        form,
        f"Particulars of {queries.shown.title(row)}",
        do=lambda: operations.edit_inspection(row, by=request.user, now=request.now, **_kept(request, form)),
        then=at("inspection", row),
        back=at("inspection", row),
        said="Particulars saved.",
        at_site=row.site.name,
        note=f"The report on file: {row.file_name}" if row.file_name else "",
    )


def _kept(request: Request, form: django_forms.BaseForm) -> dict[str, Any]:
    """The cleaned values, the uploaded report kept byte for byte; without a new one the file on record stays."""
    values = dict(form.cleaned_data)
    upload: UploadedFile | None = values.pop("file", None)
    if upload:
        data = upload.read()
        media = "application/pdf" if data.startswith(PDF) else "application/octet-stream"
        values |= {"file": store_file(data, media_type=media, now=request.now), "file_name": (upload.name or "")[:200]}
    return values


@needs(Right.SEE_WORK)
def inspection(request: Request, pk: UUID, refused: Refused | None = None) -> HttpResponse:
    """A draft with the form for its next observation, or an issued report as it stands."""
    row = the_inspection(request, pk)
    if row.state != InspectionState.DRAFT:
        return report(request, row, refused)
    may = policy.may_change_inspection(request.user, row)
    context: dict[str, Any] = queries.draft_page(row) | {"inspection": row, "may": may, "refused": refused}
    context |= {"caution": CODING, "why_not_issue": _why_not_issue(request, row)}
    if refused or not may:
        return page(request, "inspections/draft.html", context)
    form = bound(request, forms.ObservationForm, inspection=row, initial=_as_before(request))
    form.fields[_first_of(form)].widget.attrs["autofocus"] = True
    return form_page(
        request,
        "inspections/draft.html",
        form,
        context,
        do=lambda: operations.note_observation(row, by=request.user, now=request.now, **form.cleaned_data),
        then=lambda made: _next_entry(row, made),
        said=lambda made: f"Observation {made.number} noted.",
    )


def _first_of(form: django_forms.BaseForm) -> str:
    """The field that the cursor stands in: the first that is wrong, else the first."""
    wrong = [name for name in form.errors if name in form.fields] if form.is_bound else []
    return wrong[0] if wrong else next(name for name in form.fields if name != "id")


def _as_before(request: Request) -> dict[str, str]:
    """Unit and board of the observation noted before: the next one is mostly on the same."""
    return {name: request.GET[name] for name in ("unit", "board") if request.GET.get(name)}


def _next_entry(row: Inspection, made: Observation) -> str:
    board = f"&board={made.board_id}" if made.board_id else ""
    return f"{at('inspection', row)}?unit={made.unit_id}{board}"


def _why_not_issue(request: Request, row: Inspection) -> str:
    """Why this person may not issue the draft; "" where they may."""
    if policy.may_issue_inspection(request.user, row, now=request.now):
        return ""
    if row.other_firm:
        return "The office takes another firm's report into the record."
    return (
        f"Our own report is issued by a qualified person. The record has none for you on {words.day(today(request))}."
    )


def report(request: Request, row: Inspection, refused: Refused | None) -> HttpResponse:
    """An issued report: read only."""
    context = queries.report_page(row, today(request)) | {"inspection": row, "refused": refused}
    context["may_inspect"] = policy.may_inspect(request.user)
    return page(request, "inspections/report.html", context)


@require_POST
@needs(Right.INSPECT)
def issue(request: Request, pk: UUID) -> HttpResponse:
    """Issue our own report, or take another firm's into the record."""
    row = the_inspection(request, pk)
    return act(
        request,
        lambda: operations.issue_inspection(row, by=request.user, now=request.now),
        then=at("codes", row) if row.other_firm else at("inspection", row),
        said=_issued,
        again=lambda refused: inspection(request, pk, refused=refused),
    )


def _issued(row: Inspection) -> str:
    """What is said after the issue; of another firm's report also what its codes ask for."""
    if not row.other_firm:
        return "Report issued."
    return f"Taken in: {open_codes(row)}. Next: review its codes."


@require_POST
@needs(Right.INSPECT)
def count_again(request: Request, pk: UUID) -> HttpResponse:
    """Count the dates of a report again, after the tenure, the nation or the firm's policy was changed."""
    row = the_inspection(request, pk)
    return act(
        request,
        lambda: operations.count_dates_again(row, by=request.user, now=request.now),
        then=at("inspection", row),
        said=lambda moved: f"{words.many(moved, 'date')} changed." if moved else "No date changed.",
        again=lambda refused: inspection(request, pk, refused=refused),
    )


@needs(Right.INSPECT)
def change(request: Request, pk: UUID) -> HttpResponse:
    """Change an observation of a draft."""
    row = the_observation(request, pk)
    if row.inspection is None or not row.draft:
        return go(request, back_of(row))
    way = row.circuit.way_name if row.circuit else ""
    first = initial(forms.ChangeObservationForm, row, way=way, continues=row.continues_id)
    form = bound(request, forms.ChangeObservationForm, inspection=row.inspection, initial=first)
    back = at("inspection", row.inspection)
    return ask(
        request,
        form,
        f"Observation {row.number}",
        do=lambda: operations.change_observation(row, by=request.user, now=request.now, **form.cleaned_data),
        then=back,
        back=back,
        said="Observation saved.",
        caution=CODING,
    )


@require_POST
@needs(Right.INSPECT)
def drop(request: Request, pk: UUID) -> HttpResponse:
    """Take an observation off a draft."""
    row = the_observation(request, pk)
    where = row.inspection
    return act(
        request,
        lambda: operations.drop_observation(row, by=request.user, now=request.now),
        then=at("inspection", where) if where else reverse("desk:observation", args=[row.pk]),
        said=f"Observation {row.number} dropped.",
        again=(lambda refused: inspection(request, where.pk, refused=refused)) if where else None,
    )


@needs(Right.INSPECT)
def limitation_new(request: Request, pk: UUID) -> HttpResponse:
    """Note what the inspection did not cover."""
    row = the_inspection(request, pk)
    form = bound(request, forms.LimitationForm, inspection=row)
    return ask(
        request,
        form,
        "Limitation",
        do=lambda: operations.add_limitation(row, by=request.user, now=request.now, **form.cleaned_data),
        then=at("inspection", row),
        back=at("inspection", row),
        said="Limitation noted.",
        at_site=row.site.name,
        note="It stays visible, also to the customer, until a later inspection covers it.",
    )


def _the_limitation(request: Request, pk: UUID) -> Limitation:
    seen = Inspection.objects.visible_to(request.user)
    rows = Limitation.objects.filter(inspection__in=seen).select_related("inspection__site")
    return get_object_or_404(rows, pk=pk)


@require_POST
@needs(Right.INSPECT)
def limitation_remove(request: Request, pk: UUID) -> HttpResponse:
    """Take a limitation off a draft."""
    row = _the_limitation(request, pk)
    return act(
        request,
        lambda: operations.remove_limitation(row, by=request.user, now=request.now),
        then=at("inspection", row.inspection),
        said="Limitation taken off.",
        again=lambda refused: inspection(request, row.inspection_id, refused=refused),
    )


@needs(Right.INSPECT)
def limitation_cover(request: Request, pk: UUID) -> HttpResponse:
    """Say which later inspection covered what this one left out."""
    row = _the_limitation(request, pk)
    limited = row.inspection
    later = Inspection.objects.filter(
        site=limited.site_id, state=InspectionState.ISSUED, inspected_on__gte=limited.inspected_on
    ).exclude(pk=limited.pk)
    form = bound(request, forms.CoverForm, later=later.order_by("-inspected_on"))
    back = at("inspection", limited)
    return ask(
        request,
        form,
        "Covered by a later inspection",
        do=lambda: operations.cover_limitation(row, by=request.user, now=request.now, **form.cleaned_data),
        then=back,
        back=back,
        said="Noted as covered.",
        at_site=limited.site.name,
        note=f"Not covered: {row.what}",
    )
