"""Pictures and papers of a closing: seen by whoever sees the remedial, from no guessable address."""

from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404

from jobsite.downloads import KEEP_A_DAY, as_picture
from jobsite.ledger.files import read_file
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from remedials.works.models import Proof, ProofPhoto, Remedial


@needs(Right.SEE_WORK)
def photo(request: Request, pk: UUID) -> HttpResponse:
    """A photograph after the work."""
    seen = Remedial.objects.visible_to(request.user)
    found = get_object_or_404(ProofPhoto.objects.filter(remedial__in=seen).select_related("file"), pk=pk)
    return as_picture(request, found.file)


@needs(Right.SEE_WORK)
def certificate(request: Request, pk: UUID) -> HttpResponse:
    """The certificate of a closing, to be saved: a browser never opens what somebody uploaded."""
    seen = Remedial.objects.visible_to(request.user)
    proofs = Proof.objects.filter(remedial__in=seen, certificate_file__isnull=False)
    found = get_object_or_404(proofs.select_related("certificate_file", "remedial"), pk=pk)
    if found.certificate_file is None:
        raise LookupError(pk)
    name = f"certificate-of-remedial-{found.remedial.number}.pdf"
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": KEEP_A_DAY}
    return HttpResponse(read_file(found.certificate_file), content_type="application/pdf", headers=headers)
