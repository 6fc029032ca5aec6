"""Attempts to get in: logged, replied to, and what they left behind."""

from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404

from jobsite import clock
from jobsite.downloads import as_picture
from jobsite.ids import key_in
from jobsite.ledger.files import read_file
from jobsite.ledger.models import StoredFile
from jobsite.pages import bound
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from remedials.visits.choices import AttemptHow
from remedials.visits.forms import getting_in as forms
from remedials.visits.models import Attempt, Visit
from remedials.visits.operations import attempts
from remedials.visits.queries.held import held
from remedials.visits.views.common import of_the_firm
from remedials.visits.views.getting_in import ask, the_site

NOT_KEPT = "private, no-store"


@needs(Right.SEE_WORK)
def attempt_new(request: Request, pk: UUID) -> HttpResponse:
    """Log that somebody tried to get in, or to agree when."""
    site = the_site(request, pk)
    visit = _visit(request, site.pk)
    initial = {"at": request.now, "how": AttemptHow.VISIT if visit else None}
    form = bound(request, forms.AttemptForm, site=site, initial=initial)

    def do() -> Attempt:
        data = dict(form.cleaned_data)
        photo = data.pop("photo", None)
        return attempts.log_attempt(
            site, by=request.user, now=request.now, visit=visit, photo=photo.read() if photo else None, **data
        )

    about = f"About visit {visit.number}." if visit else ""
    hold = held("attempt", site.pk, kind="attempt", label="An attempt to get in", visit=visit.pk if visit else None)
    return ask(
        request, form, site, "An attempt to get in", "Log it", do=do, said="Logged.", about=about, hold=hold,
        caution="What is logged here stays as it is, and is printed as evidence: only what happened, nothing about health.",
    )  # fmt: skip


def _visit(request: Request, site: UUID) -> Visit | None:
    """The visit that the address names, if it is to this site."""
    key = key_in(request.GET.get("visit", ""))
    return Visit.objects.visible_to(request.user).filter(pk=key, site=site).first() if key else None


def _the_attempt(request: Request, pk: UUID) -> Attempt:
    rows = Attempt.objects.visible_to(request.user).select_related("site", "photo", "letter")
    return get_object_or_404(rows, pk=pk)


@needs(Right.SEE_WORK)
@of_the_firm
def attempt_reply(request: Request, pk: UUID) -> HttpResponse:
    """Add what they replied."""
    row = _the_attempt(request, pk)
    form = bound(request, forms.ReplyForm, initial={"replied_on": clock.local_day(request.now)})
    return ask(
        request, form, row.site, "A reply", "Add the reply", said="Added.",
        about=f"To the attempt by {row.get_how_display()}, {row.whom}.",
        do=lambda: attempts.note_reply(row, by=request.user, now=request.now, **form.cleaned_data),
    )  # fmt: skip


@needs(Right.SEE_WORK)
@of_the_firm
def attempt_photo(request: Request, pk: UUID) -> HttpResponse:
    """The photograph of an attempt."""
    photo = _the_attempt(request, pk).photo
    if photo is None:
        raise Http404
    return as_picture(request, photo, keep=NOT_KEPT)


@needs(Right.SEE_WORK)
@of_the_firm
def attempt_letter(request: Request, pk: UUID) -> HttpResponse:
    """The letter as it went out, byte for byte."""
    row = _the_attempt(request, pk)
    return _file(row.letter, f"{row.how}-{row.at:%Y-%m-%d}.pdf")


def _file(file: StoredFile | None, name: str) -> HttpResponse:
    if file is None:
        raise Http404
    headers = {"Cache-Control": NOT_KEPT}
    if name:
        headers["Content-Disposition"] = f'attachment; filename="{name}"'
    return HttpResponse(read_file(file), content_type=file.media_type, headers=headers)
