"""Who moves into a unit, and what is owed in writing: one paper, its document, who has it; who asked for a report."""

from typing import Any
from uuid import UUID

from django.core.files.uploadedfile import UploadedFile
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_POST

from inspections import forms, operations
from inspections.models import Paper, PaperDocument, PaperSupply
from inspections.queries import papers as queries
from inspections.queries.documents import LANDLORDS, WORDS, kind_of
from inspections.standards.duty_rows import FIRM
from inspections.views.common import LAW, ask, at, initial, the_inspection, the_site, today
from jobsite import words
from jobsite.addresses import address
from jobsite.downloads import as_pdf, as_received
from jobsite.ids import new_id
from jobsite.ledger.files import read_file, store_file
from jobsite.pages import act, bound, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Unit
from jobsite.refused import Refused

NO_NEW_INSPECTION = "A change of occupancy asks these questions; it asks for no new inspection by itself."
FIRMS = "The firm owes this one itself."
NOTICE_LAW = "What has to be notified, to whom and by when is mostly written here from memory: check the current rule."
SENT = "What is e-mailed was not given yet: record below that it reached them, once you know."


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


# --- one paper --------------------------------------------------------------------------------------------------------


def _the_paper(request: Request, pk: UUID) -> Paper:
    rows = Paper.objects.visible_to(request.user).select_related(
        "unit__site", "site", "inspection__file", "inspection__inspector", "request", "change__occupier"
    )
    return get_object_or_404(rows.prefetch_related("supplies__document", "supplies__recorded_by"), pk=pk)


def _caution(paper: Paper) -> str:
    return f"{FIRMS} {NOTICE_LAW}" if paper.owed_by == FIRM else f"{LANDLORDS} {LAW}"


@needs(Right.KEEP_CUSTOMERS)
def paper(request: Request, pk: UUID, refused: Refused | None = None) -> HttpResponse:
    """A paper that is owed: why, its document, who has it; and the form that records that it was handed over."""
    row = _the_paper(request, pk)
    first = {"on": today(request), "version": row.version}
    given = refused is None and request.method == "POST"
    form = bound(request, forms.SupplyForm, paper=row, initial=first) if given else _unbound(row, first)
    shown = queries.paper_page(row, today(request))
    return ask(
        request,
        form,
        shown.pop("title"),
        do=lambda: operations.record_supply(row, by=request.user, now=request.now, **_given(request, form)),
        then=at("paper", row),
        back=_belongs_to(row),
        said=lambda made: "Recorded: the paper is met." if made.answer else "Recorded. The paper stays open.",
        button="Record it",
        template="inspections/paper.html",
        paper=row,
        refused=refused,
        at_site=_where(row.unit),
        caution=_caution(row),
        sent=SENT,
        **shown,
    )


def _unbound(row: Paper, first: dict[str, Any]) -> forms.SupplyForm:
    return forms.SupplyForm(paper=row, initial=first)


def _given(request: Request, form: Any) -> dict[str, Any]:
    """The cleaned values, with what shows it kept byte for byte."""
    values = dict(form.cleaned_data)
    upload: UploadedFile | None = values.pop("receipt", None)
    if upload:
        data = upload.read()
        media = "application/pdf" if data.startswith(b"%PDF-") else "application/octet-stream"
        values |= {"file": store_file(data, media_type=media, now=request.now), "file_name": (upload.name or "")[:200]}
    return values


def _belongs_to(row: Paper) -> str:
    """The page to which a paper belongs: the report, who moves in, else the papers of its site."""
    if row.inspection:
        return at("inspection", row.inspection)
    return occupancy_at(row.unit) if row.change_id else address("inspections:papers", row.site_id)


@needs(Right.KEEP_CUSTOMERS)
def paper_answer(request: Request, pk: UUID) -> HttpResponse:
    """Say otherwise what became of a paper: done, not needed and why, or open again."""
    row = _the_paper(request, pk)
    form = bound(request, forms.PaperForm, initial=initial(forms.PaperForm, row))
    shown = queries.paper_page(row, today(request))
    return ask(
        request,
        form,
        shown["title"],
        do=lambda: operations.answer_paper(row, by=request.user, now=request.now, **form.cleaned_data),
        then=at("paper", row),
        back=at("paper", row),
        said="Saved.",
        at_site=_where(row.unit),
        facts=shown["facts"],
        caution=_caution(row),
    )


@require_POST
@needs(Right.KEEP_CUSTOMERS)
def paper_make(request: Request, pk: UUID) -> HttpResponse:
    """Make the document of a paper from the record as it stands, and keep it."""
    row = _the_paper(request, pk)
    return act(
        request,
        lambda: operations.make_paper_document(row, id=new_id(), by=request.user, now=request.now),
        then=at("paper", row),
        said="Made and kept: it is listed below.",
        again=lambda refused: paper(request, pk, refused=refused),
    )


@needs(Right.KEEP_CUSTOMERS)
def paper_document(request: Request, pk: UUID) -> HttpResponse:
    """A document of a paper, as it was made."""
    rows = PaperDocument.objects.filter(paper__in=Paper.objects.visible_to(request.user)).select_related("file")
    row = get_object_or_404(rows, pk=pk)
    return as_pdf(read_file(row.file), row.name.removesuffix(".pdf"))


@needs(Right.KEEP_CUSTOMERS)
def paper_mail(request: Request, pk: UUID) -> HttpResponse:
    """Send a paper by e-mail, with its document and the report where that is kept."""
    row = _the_paper(request, pk)
    form = bound(request, forms.MailForm, paper=row)
    shown = queries.paper_page(row, today(request))
    what = WORDS.get(kind_of(row), "")
    return ask(
        request,
        form,
        f"Send by e-mail: {row.what}",
        do=lambda: operations.mail_paper(row, by=request.user, now=request.now, **form.cleaned_data),
        then=at("paper", row),
        back=at("paper", row),
        said=lambda rows: f"{words.many(len(rows), 'message')} written. {SENT}",
        button="Send it",
        at_site=_where(row.unit),
        note=f"The {what} is made and attached. {shown['with']}".strip(),
        facts=shown["facts"],
        caution=_caution(row),
    )


@needs(Right.KEEP_CUSTOMERS)
def supply_file(request: Request, pk: UUID) -> HttpResponse:
    """What shows that a paper was handed over, or the report that went with it, byte for byte."""
    seen = PaperSupply.objects.filter(paper__in=Paper.objects.visible_to(request.user))
    row = get_object_or_404(seen.select_related("file"), pk=pk)
    if row.file is None:
        raise Http404
    return as_received(read_file(row.file), row.file_name)


@needs(Right.KEEP_CUSTOMERS)
def supply_back(request: Request, pk: UUID) -> HttpResponse:
    """Take back that a paper was handed over, where it was recorded in error."""
    seen = PaperSupply.objects.filter(paper__in=Paper.objects.visible_to(request.user))
    row = get_object_or_404(seen.select_related("paper__unit__site", "paper__site"), pk=pk)
    form = bound(request, forms.BackForm)
    return ask(
        request,
        form,
        f"Take back: {row}",
        do=lambda: operations.take_back_supply(row, by=request.user, now=request.now, **form.cleaned_data),
        then=at("paper", row.paper),
        back=at("paper", row.paper),
        said="Taken back. It stays on record as an entry that was taken back.",
        button="Take it back",
        at_site=_where(row.paper.unit),
        note="Where the paper counted as met, it is open again.",
    )


# --- who asked, and all papers of a site ------------------------------------------------------------------------------


@needs(Right.KEEP_CUSTOMERS)
def asked_for(request: Request, pk: UUID) -> HttpResponse:
    """Record that the authority, or somebody who may become the tenant, asked in writing for a copy of a report."""
    row = the_inspection(request, pk)
    form = bound(request, forms.RequestForm, inspection=row, initial={"asked_on": today(request)})
    return ask(
        request,
        form,
        "Somebody asked in writing for the report",
        do=lambda: operations.record_request(row, by=request.user, now=request.now, **form.cleaned_data),
        then=at("inspection", row),
        back=at("inspection", row),
        said=_asked,
        button="Record it",
        at_site=row.site.name,
        caution=f"{LANDLORDS} {LAW}",
    )


def _asked(made: Any) -> str:
    paper = made.papers.first()
    if paper is None:
        return "Recorded. The law that we know sets no day for it here: send it as soon as you can."
    return f"Recorded. A copy is due by {words.day(paper.due_on)}."


@needs(Right.SEE_WORK)
def papers(request: Request, pk: UUID) -> HttpResponse:
    """All papers of a site: still to be given, given, and those of former times."""
    site = the_site(request, pk)
    context = {"site": site, "groups": queries.papers_at(site, today(request)), "caution": f"{LANDLORDS} {LAW}"}
    return page(request, "inspections/papers.html", context | {"may": request.user.may(Right.KEEP_CUSTOMERS)})
