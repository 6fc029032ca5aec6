"""Pages on which an inspection is found or begun, and its particulars and limitations are entered."""

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
from inspections.models import Inspection, Limitation
from inspections.queries import inspections as queries
from inspections.standards.editions import edition_in_force
from inspections.views.common import ask, at, initial, the_inspection, the_site, today
from inspections.views.issuing import inspection
from jobsite.forms import PlainForm
from jobsite.ledger.files import store_file
from jobsite.pages import act, as_file, bound, file_wanted, files, form_page, page, pager
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right

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
    typed = takes_in and request.GET.get("whose") == "another"
    first: dict[str, Any] = {"kind": "periodic", "inspected_on": None if typed else today(request)}
    if typed:
        first["other_firm"] = "yes"
    if not takes_in:  # only our own can be meant; another firm's names its edition itself
        first["edition"] = edition_in_force(today(request)).value
    form = bound(request, forms.InspectionForm, site=site, takes_in=takes_in, initial=first)
    return ask(
        request,
        form,
        "Another firm's report, typed from paper" if typed else "New inspection",
        do=lambda: operations.start_inspection(site, by=request.user, now=request.now, **_kept(request, form)),
        then=lambda made: at("inspection", made),
        back=reverse("desk:site", args=[site.pk]),
        said="Entered. Next: its observations, one after another.",
        button="Begin",
        at_site=site.name,
        hold=f"inspection:{site.pk}",
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
        hold=f"inspection-change:{row.pk}",
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


@needs(Right.INSPECT)
def limitation_new(request: Request, pk: UUID) -> HttpResponse:
    """Note what the inspection did not cover: on the page of the draft one after another, else on a page of its own."""
    row = the_inspection(request, pk)
    form = bound(request, forms.LimitationForm, inspection=row, auto_id="id_limit_%s")
    form.fields["what"].widget.attrs["autofocus"] = True
    in_place = bool(request.htmx)  # type: ignore[attr-defined]
    context: dict[str, Any] = {
        "title": "Limitation",
        "back": at("inspection", row),
        "button": "Save",
        "at_site": row.site.name,
    }
    context |= {"here": at("limitation_new", row), "hold": f"limitation:{row.pk}", "inspection": row, "may": True}
    context["note"] = "It stays visible, also to the customer, until a later inspection covers it."
    return form_page(
        request,
        "inspections/form.html",
        form,
        context,
        do=lambda: operations.add_limitation(row, by=request.user, now=request.now, **form.cleaned_data),
        then=lambda _made: _limits(request, row) if in_place else at("inspection", row),
        said="Limitation noted.",
        fragment="inspections/_limitation_form.html",
    )


def _limits(request: Request, row: Inspection) -> HttpResponse:
    """What changes on the page of the draft after a limitation was noted."""
    several = queries.many_units(row)["several"]
    context = {"limitations": queries.limitation_rows(row, several), "may": True, "apart": True}
    return page(request, "inspections/_limited.html", context)


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
