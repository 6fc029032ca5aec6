"""Photos and reports as files, each behind the row that refers to it."""

from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404

from inspections import operations
from inspections.models import DangerNotice, Inspection, MadeSafe, Observation, ObservationPhoto
from jobsite.downloads import as_pdf, as_picture, as_received
from jobsite.ledger.files import read_file
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Site


@needs(Right.SEE_WORK)
def photo(request: Request, pk: UUID) -> HttpResponse:
    """A photo of a defect as found, for those who may see the observation."""
    seen = Observation.objects.visible_to(request.user)
    row = get_object_or_404(ObservationPhoto.objects.filter(observation__in=seen).select_related("file"), pk=pk)
    return as_picture(request, row.file)


@needs(Right.SEE_WORK)
def made_safe_photo(request: Request, pk: UUID) -> HttpResponse:
    """The photo of what was made safe, for those who may see the observation."""
    seen = Observation.objects.visible_to(request.user)
    row = get_object_or_404(MadeSafe.objects.filter(observation__in=seen).select_related("photo"), pk=pk)
    if row.photo is None:
        raise Http404
    return as_picture(request, row.photo)


@needs(Right.SEE_WORK)
def report_file(request: Request, pk: UUID) -> HttpResponse:
    """The report as it was received, byte for byte, always as a download."""
    rows = Inspection.objects.visible_to(request.user).select_related("file")
    row = get_object_or_404(rows, pk=pk)
    if row.file is None:
        raise Http404
    ending = "pdf" if row.file.media_type == "application/pdf" else "bin"
    return as_received(read_file(row.file), f"report-{row.number}.{ending}")


@needs(Right.SEE_WORK)
def notice_document(request: Request, pk: UUID) -> HttpResponse:
    """A danger notice to hand over, print or send, for those who may see its site."""
    seen = DangerNotice.objects.filter(site__in=Site.objects.visible_to(request.user))
    row = get_object_or_404(seen.select_related("site", "given_by"), pk=pk)
    kept = operations.keep_notice_document(row, by=request.user, now=request.now)
    return as_pdf(read_file(kept.file), f"danger notice {row.number}")
