"""A copy of a report with personal data left out: looked over and made by the office, read behind a private link."""

from datetime import timedelta
from typing import Any, cast
from uuid import UUID

from django.contrib import messages as notices
from django.http import Http404, HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from inspections import forms as paper_forms
from inspections import operations as papers
from inspections.models import Inspection, Paper
from jobsite import clock
from jobsite.addresses import address
from jobsite.downloads import as_pdf
from jobsite.ledger.files import read_file
from jobsite.ledger.models import Document
from jobsite.marks import code_mark
from jobsite.pages import bound, page, show_refusal
from jobsite.people.guard import Request, needs, private
from jobsite.people.links import find_link
from jobsite.people.models import PrivateLink
from jobsite.people.opening import no_such_link
from jobsite.people.operations import count_use, make_link
from jobsite.people.rights import Right
from jobsite.people.views.common import FORM, ask
from jobsite.premises.forms.links import MAIL
from jobsite.premises.models import Site, Unit
from jobsite.premises.operations.sharing import letter, link_address, send_link
from jobsite.refused import Refused
from jobsite.words import when
from remedials.status.copies import forms, queries
from remedials.status.copies.operations import CHANGED, WHY, make_copy, opens_copy, state_of
from remedials.status.copies.rules import pieces, without
from remedials.status.models import ReportCopy
from remedials.status.queries import whom_to_ring

USUAL_LIFE = timedelta(days=90)
LAW = (
    "Whether a copy like this meets a duty is for whoever has the duty to say: the law may ask for the report itself, as it "
    "was written. Check the current law for the nation and the tenure."
)
MACHINE = (
    "What is marked was found by its form: e-mail addresses, telephone numbers, names on record, and what looks like a name. "
    "It finds not every name and marks what is none. What is sure was left out below; the rest is yours to decide."
)


def _report(request: Request, pk: UUID) -> Inspection:
    return get_object_or_404(Inspection.objects.visible_to(request.user).select_related("site"), pk=pk)


def _unit(request: Request, report: Inspection) -> Unit | None:
    """The unit that the address asks for; None for the whole report."""
    try:
        wanted = UUID(request.GET.get("unit") or "0" * 32)
    except ValueError as error:
        raise Http404 from error
    return get_object_or_404(report.units.all(), pk=wanted) if wanted.int else None


def _copy(request: Request, pk: UUID) -> ReportCopy:
    rows = ReportCopy.objects.select_related("document__file")
    return get_object_or_404(rows.filter(document__site__in=Site.objects.visible_to(request.user).values("pk")), pk=pk)


@needs(Right.SHARE_STATUS)
def copy_new(request: Request, pk: UUID) -> HttpResponse:
    """The free text of a report with what may be personal marked; changed here, it goes into the copy, never the report."""
    report = _report(request, pk)
    unit = _unit(request, report)
    said, names = queries.said_of(report, unit), queries.names_around(report)
    texts = queries.texts_in(said)
    form = bound(request, forms.LookOverForm, texts=texts, names=names, initial={"seen": state_of(said)})
    if form.is_valid():
        try:
            made = make_copy(report, unit=unit, by=request.user, now=request.now, **form.cleaned_data)
        except Refused as refused:
            if refused.sentence == CHANGED:
                form.now_seen(state_of(said))
            show_refusal(form, refused)
        else:
            notices.success(request, "The copy is made and kept. The report is as it was.")
            return HttpResponseRedirect(address("proof:copy", made.pk))
    rows = [
        {
            "field": form[key], "pieces": pieces(words, names), "marked": _marked(words, names),
            "typed": _typed(form[key].value() or "", words, names) if form.is_bound else [],
        }
        for key, _, words in texts
    ]  # fmt: skip
    here = address("proof:copy_new", report.pk)
    units = [(one.name, f"{here}?unit={one.pk}", one == unit) for one in report.units.order_by("sort", "pk")]
    context = {
        "report": report, "unit": unit, "form": form, "rows": rows, "law": LAW, "machine": MACHINE, "here": here,
        "units": units if len(units) > 1 else [], "copies": queries.copies_of(report),
        "back": address("inspections:inspection", report.pk),
    }  # fmt: skip
    return page(request, "status/copies/look_over.html", context)


def _marked(words: str, names: tuple[str, ...]) -> bool:
    return any(what for _, what in pieces(words, names))


def _typed(now: str, words: str, names: tuple[str, ...]) -> list[tuple[str, str]]:
    """What stands in a field after somebody changed it, with what may be personal marked; empty where nothing is."""
    return pieces(now, names) if now not in (words, without(words, names)) and _marked(now, names) else []


@needs(Right.SHARE_STATUS)
def copy(request: Request, pk: UUID) -> HttpResponse:
    """A copy as it is kept, and the ways of handing it out."""
    row = _copy(request, pk)
    document = row.document
    report = get_object_or_404(Inspection, pk=document.subject)
    links = PrivateLink.objects.filter(purpose=PrivateLink.Purpose.COPY, thing=document.pk).order_by("-made_at", "-pk")
    context = {
        "copy": row, "made": when(document.made_at), "law": LAW, "report": report,
        "in_force": queries.still_in_force(row),
        "back": address("proof:copy_new", report.pk),
        "papers": [
            {
                "what": paper.what, "to": paper.named or paper.to, "basis": paper.basis,
                "href": f"{address('proof:copy', document.pk)}papers/{paper.pk}/",
            }
            for paper in queries.papers_to_meet(report, document.unit)
        ],
        "links": [
            {
                "to": link.sent_to, "until": when(link.expires_at), "opened": link.uses,
                "ended": bool(link.withdrawn_at) or link.expires_at <= request.now,
                "href": address("premises:link_withdraw", link.pk),
            }
            for link in links
        ],
    }  # fmt: skip
    return page(request, "status/copies/copy.html", context)


@needs(Right.SHARE_STATUS)
def copy_file(request: Request, pk: UUID) -> HttpResponse:
    """The copy as a PDF."""
    document = _copy(request, pk).document
    return as_pdf(read_file(document.file), document.name.removesuffix(".pdf"))


@never_cache
@needs(Right.SHARE_STATUS)
def copy_link(request: Request, pk: UUID) -> HttpResponse:
    """Make a private link to the copy: shown once, or sent."""
    row = _copy(request, pk)
    document, site = row.document, get_object_or_404(Site, pk=row.document.site)
    form = bound(
        request,
        forms.CopyLinkForm,
        site=site,
        today=clock.local_day(request.now),
        initial={"expires_at": request.now + USUAL_LIFE},
    )
    back = address("proof:copy", document.pk)
    if form.is_valid():
        try:
            link, shown = _hand(request, document, site, form.cleaned_data)
        except Refused as refused:
            show_refusal(form, refused)
        else:
            if form.cleaned_data["how"] == MAIL:
                notices.success(request, "The e-mail with the link goes out with the next run of sending.")
                return HttpResponseRedirect(back)
            context = {"link": link, "ends": when(link.expires_at), "address": shown, "back": back}
            return page(request, "premises/link_made.html", context | {"shown": "this copy of the report"})
    context = {"form": form, "title": "A private link to this copy", "about": document.title, "back": back}
    return page(request, FORM, context | {"button": "Make the link", "caution": LAW})


def _hand(request: Request, document: Document, site: Site, data: dict[str, Any]) -> tuple[PrivateLink, str]:
    """The link, and its address where it is to be shown."""
    party = data.get("party")
    opens: dict[str, Any] = {
        "id": data["id"], "purpose": PrivateLink.Purpose.COPY, "site": site.pk, "unit": document.unit,
        "thing": document.pk, "expires_at": data["expires_at"], "by": request.user, "now": request.now,
    }  # fmt: skip
    if data["how"] == MAIL and party is not None:
        shows = opens_copy(site)
        body = letter(party, about=shows.about, note=data["note"], expires_at=data["expires_at"])
        return send_link(party=party, address=data["email"], subject=shows.subject, body=body, why=WHY, **opens), ""
    link, token = make_link(party=party.pk if party else None, sent_to=data["sent_to"], **opens)
    return link, link_address(link, token)


@needs(Right.KEEP_CUSTOMERS)
def copy_meets(request: Request, pk: UUID, paper: UUID) -> HttpResponse:
    """Record that a paper that the law asks for was met by this copy: to whom it was given, when, how."""
    document = _copy(request, pk).document
    owed = get_object_or_404(Paper.objects.visible_to(request.user).select_related("unit__site", "site"), pk=paper)
    first = {"on": clock.local_day(request.now), "version": owed.version, "note": f"{document.title}."}
    form = bound(request, paper_forms.SupplyForm, paper=owed, initial=first)
    for name in ("document", "receipt"):
        form.fields.pop(name, None)
    return ask(
        request,
        form,
        f"Met by this copy: {owed.what}",
        do=lambda: papers.record_supply(
            owed, by=request.user, now=request.now, file=document.file, file_name=document.name, **form.cleaned_data
        ),
        then=address("inspections:paper", owed.pk),
        said=lambda made: "Recorded: the paper is met." if made.answer else "Recorded. The paper stays open.",
        back=address("proof:copy", document.pk),
        button="Record it",
        about=owed.basis,
        caution=f"{LAW} An entry that was recorded in error is taken back on the paper's page.",
    )


# --- behind its private link ------------------------------------------------------------------------------------------


def _opened(request: HttpRequest, token: str) -> tuple[PrivateLink, ReportCopy] | None:
    link = find_link(token, purpose=PrivateLink.Purpose.COPY, now=cast(Request, request).now)
    row = queries.copy_by(link.thing) if link else None
    return (link, row) if link and row else None


@private
@require_safe
def shared(request: HttpRequest, token: str) -> HttpResponse:
    """The copy as a page. Opening it changes nothing but the count of its uses."""
    opened = _opened(request, token)
    if opened is None:
        return no_such_link(request)
    link, row = opened
    if request.method == "GET":
        count_use(link, now=cast(Request, request).now)
    facts = row.facts
    items = [item | {"mark": code_mark(item["code"]) if item["code"] else ""} for item in facts["items"]]
    context = {
        "copy": facts | {"items": items}, "firm": whom_to_ring(), "made": when(row.document.made_at),
        "in_force": queries.still_in_force(row), "name": row.document.name,
    }  # fmt: skip
    # Rendered without the request: no session is read, so no cookie is set.
    return HttpResponse(render_to_string("status/copies/shared.html", context))


@private
@require_safe
def shared_file(request: HttpRequest, token: str) -> HttpResponse:
    """The copy as a PDF, to keep."""
    opened = _opened(request, token)
    if opened is None:
        return no_such_link(request)
    document = opened[1].document
    response = HttpResponse(read_file(document.file), content_type=document.file.media_type)
    response["Content-Disposition"] = f'attachment; filename="{document.name}"'
    return response
