"""Pages on which our part at a site ends: the closing letter, its delivery, coming back."""

from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.views.decorators.http import require_POST

from jobsite import clock
from jobsite.addresses import address
from jobsite.documents import PDF
from jobsite.downloads import as_pdf, as_picture
from jobsite.forms import PlainForm
from jobsite.ledger.files import read_file, store_file
from jobsite.ledger.models import StoredFile
from jobsite.ledger.photographs import clean_photograph
from jobsite.pages import act, bound, form_page, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from jobsite.refused import Refused
from remedials.due.forms.leaving import DeliveredForm, LetterForm, SendForm
from remedials.due.models import Leaving
from remedials.due.operations import leaving as operations
from remedials.due.queries import leaving as queries

PAGE = "due/leaving.html"


def _site(request: Request, pk: UUID) -> Site:
    return get_object_or_404(Site.objects.visible_to(request.user).select_related("customer"), pk=pk)


def _letter(request: Request, pk: UUID) -> Leaving:
    rows = Leaving.objects.visible_to(request.user).select_related("site__customer", "letter", "proof", "owner")
    return get_object_or_404(rows, pk=pk)


def _at(site_id: UUID) -> str:
    return address("due:leaving", site_id)


@needs(Right.KEEP_CUSTOMERS)
def leaving(request: Request, pk: UUID) -> HttpResponse:
    """What must be settled before our part at a site ends, and the letter that is to be written; or the one that stands."""
    site = _site(request, pk)
    standing = queries.standing_at(site)
    if standing is not None or site.archived_at:
        return _standing(request, site, standing)
    first = {
        "to_name": site.customer.name,
        "to_address": site.customer.address,
        "owner": request.user.pk,
        "deliver_by": clock.local_day(request.now) + operations.DAYS_TO_DELIVER,
    }
    form = bound(request, LetterForm, initial=first)
    record = queries.on_record(site)
    if "look" in request.POST and form.is_valid():
        return _look(request, site, form, record)
    context = {
        **_about(site),
        "blocks": queries.what_blocks(site, now=request.now),
        "record": record,
        "items": queries.listed(record),
        "counted": queries.counted(record),
        "former": queries.former_of(site),
        "writing": True,
    }
    return form_page(
        request, PAGE, form, context,
        do=lambda: operations.write_letter(site, by=request.user, now=request.now, **form.cleaned_data),
        then=_at(site.pk), said="Written and kept. The site stays in every list until it is delivered.",
    )  # fmt: skip


def _about(site: Site) -> dict[str, Any]:
    return {
        "site": site,
        "site_href": address("desk:site", site.pk),
        "hand_over": address("premises:site_hand_over", site.pk),
    }


def _look(request: Request, site: Site, form: LetterForm, record: dict[str, Any]) -> HttpResponse:
    """The letter as it would be written now. Nothing is kept."""
    data = {name: form.cleaned_data[name] for name in ("why", "to_name", "to_address")}
    return as_pdf(
        operations.letter_document(site, record, now=request.now, **data).pdf, "closing letter, not written yet"
    )


def _standing(request: Request, site: Site, row: Leaving | None, *, refused: Refused | None = None) -> HttpResponse:
    context: dict[str, Any] = {**_about(site), "former": queries.former_of(site), "refused": refused}
    if row is not None:
        mails = operations.messages_of(row)
        context |= {
            "letter": queries.letter_shown(row),
            "counted": queries.counted(row.open_items),
            "mails": [queries.mail_shown(message) for message in mails],
            "send": SendForm(initial={"email": site.customer.email if row.to_name == site.customer.name else ""}),
            "blocks": [] if row.delivered_on else queries.what_blocks(site, now=request.now),
        }
    return page(request, PAGE, context)


@needs(Right.KEEP_CUSTOMERS)
def closing(request: Request, pk: UUID) -> HttpResponse:
    """On to the page of the site where a letter stands."""
    return redirect(_at(_letter(request, pk).site_id))


@needs(Right.KEEP_CUSTOMERS)
def letter(request: Request, pk: UUID) -> HttpResponse:
    """The letter as it was kept."""
    row = _letter(request, pk)
    if row.letter is None:
        raise Http404
    return as_pdf(read_file(row.letter), f"closing letter {row.number}")


@needs(Right.KEEP_CUSTOMERS)
def proof(request: Request, pk: UUID) -> HttpResponse:
    """What proves that a letter was delivered."""
    row = _letter(request, pk)
    if row.proof is None:
        raise Http404
    if row.proof.media_type == PDF:
        return as_pdf(read_file(row.proof), f"delivery of closing letter {row.number}")
    return as_picture(request, row.proof)


@needs(Right.KEEP_CUSTOMERS)
def send(request: Request, pk: UUID) -> HttpResponse:
    """Send the letter by e-mail."""
    row = _letter(request, pk)
    form = bound(request, SendForm)
    return form_page(
        request, "due/leaving_form.html", form, _context(row, "Send the closing letter by e-mail", "Send it"),
        do=lambda: operations.send_letter(row, by=request.user, now=request.now, **form.cleaned_data),
        then=_at(row.site_id), said="It goes out with the next messages. When it was sent, say that it was delivered.",
    )  # fmt: skip


@needs(Right.KEEP_CUSTOMERS)
def deliver(request: Request, pk: UUID) -> HttpResponse:
    """Say that the letter was delivered, which ends our part at the site."""
    row = _letter(request, pk)
    to = row.to_name if not row.delivered_to else row.delivered_to
    first = {"on": clock.local_day(request.now), "to": to, "version": row.version}
    form: Any = bound(request, DeliveredForm, initial=first)
    context = _context(row, "The closing letter was delivered", "End our part here") | {"ends": True}
    return form_page(
        request, "due/leaving_form.html", form, context, do=lambda: _deliver(request, row, form), then=_at(row.site_id),
        said=f"Our part at {row.site.name} has ended. It is off the lists, and its whole record is kept.",
    )  # fmt: skip


def _deliver(request: Request, row: Leaving, form: PlainForm) -> Leaving:
    data = dict(form.cleaned_data)
    file = _kept(data.pop("proof"), request)
    return operations.deliver_letter(row, proof=file, by=request.user, now=request.now, **data)


def _kept(file: Any, request: Request) -> StoredFile | None:
    """The proof, kept: a PDF byte for byte, a photograph made anew."""
    if file is None:
        return None
    data = file.read()
    if data.startswith(b"%PDF-"):
        return store_file(data, media_type=PDF, now=request.now)
    try:
        clean = clean_photograph(data)
    except Refused as refused:
        raise Refused(
            "This is neither a PDF nor a photograph that can be read (JPEG, PNG or WebP).", field="proof"
        ) from refused
    return store_file(clean.data, media_type="image/jpeg", now=request.now, received=data)


def _context(row: Leaving, title: str, button: str) -> dict[str, Any]:
    return {
        **_about(row.site), "title": title, "button": button, "back": _at(row.site_id), "letter": queries.letter_shown(row),
        "counted": queries.counted(row.open_items),
    }  # fmt: skip


@require_POST
@needs(Right.KEEP_CUSTOMERS)
def take_back(request: Request, pk: UUID) -> HttpResponse:
    """Take the letter back: our part at the site goes on."""
    row = _letter(request, pk)
    return act(
        request, lambda: operations.take_back(row, by=request.user, now=request.now), then=_at(row.site_id),
        said=f"Closing letter {row.number} is taken back: our part here goes on.",
        again=lambda refused: _standing(request, row.site, queries.standing_at(row.site), refused=refused),
    )  # fmt: skip
