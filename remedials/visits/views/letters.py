"""Letters that ask to be let in, and the attempts printed as evidence."""

from datetime import timedelta
from uuid import UUID

from django.http import HttpResponse

from jobsite import clock
from jobsite.documents import PDF
from jobsite.ledger.files import read_file
from jobsite.pages import bound, page, show_refusal
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import Refused
from remedials.visits.forms.getting_in import EvidenceForm
from remedials.visits.forms.letters import LetterForm
from remedials.visits.operations.letters import keep_evidence, write_letter
from remedials.visits.queries.evidence import evidence as print_evidence
from remedials.visits.queries.getting_in import next_letter
from remedials.visits.views.getting_in import ASK, ask, home, the_site

YEAR = timedelta(days=365)


@needs(Right.BOOK)
def letter_new(request: Request, pk: UUID) -> HttpResponse:
    """Write the first, second or final letter; it is kept and logged as it went out."""
    site = the_site(request, pk)
    today = clock.local_day(request.now)
    initial = {"which": next_letter(site), "answer_by": today + timedelta(days=7), "sent": "post"}
    initial |= {"to_address": "\n".join([*site.address.splitlines(), site.postcode])}
    form = bound(request, LetterForm, site=site, initial=initial)
    return ask(
        request, form, site, "A letter", "Write and keep it", said="Written, kept and logged. Print it from the attempt.",
        do=lambda: write_letter(site, by=request.user, now=request.now, **form.cleaned_data),
        caution="Nothing about the health of anybody: what is written here is printed and kept.",
    )  # fmt: skip


@needs(Right.BOOK)
def evidence(request: Request, pk: UUID) -> HttpResponse:
    """Every attempt of some days as a PDF, to hand to the landlord."""
    site = the_site(request, pk)
    today = clock.local_day(request.now)
    form = bound(request, EvidenceForm, site=site, initial={"first": today - YEAR, "last": today})
    if form.is_valid():
        data = form.cleaned_data
        try:
            made = print_evidence(site, data["unit"], data["first"], data["last"], now=request.now)
            kept = keep_evidence(made, site, data["unit"], by=request.user, now=request.now)
        except Refused as refused:
            show_refusal(form, refused)
        else:
            name = f"attempts-{data['first']}-{data['last']}.pdf"
            headers = {"Content-Disposition": f'attachment; filename="{name}"', "Cache-Control": "private, no-store"}
            return HttpResponse(read_file(kept.file), content_type=PDF, headers=headers)
    context = {
        "form": form, "title": "Print the attempts", "place": site.name, "back": home(site.pk), "button": "Make the PDF",
        "about": "How, when, whom, what was asked and replied, photos and letters kept, without an opinion.",
    }  # fmt: skip
    return page(request, ASK, context)
