"""What is kept and why: for the firm, for anybody, and of one customer; their data handed over and erased."""

from typing import Any
from uuid import UUID

from django.http import FileResponse, Http404, HttpRequest, HttpResponse
from django.http.response import HttpResponseBase
from django.shortcuts import get_object_or_404
from django.template.loader import render_to_string
from django.urls import reverse
from django.views.decorators.cache import never_cache
from django.views.decorators.http import require_safe

from jobsite import clock
from jobsite.addresses import address
from jobsite.pages import bound, form_page, page, show_refusal
from jobsite.people.guard import Request, needs, open_to_all
from jobsite.people.invitations import full_address
from jobsite.people.rights import Right
from jobsite.people.views.common import FORM, ask, initial
from jobsite.premises.models import Party
from jobsite.refused import Refused
from remedials.status.privacy import forms
from remedials.status.privacy.operations.erasing import erase_customer
from remedials.status.privacy.operations.exporting import export_of, note_export
from remedials.status.privacy.operations.retention import set_retention
from remedials.status.privacy.queries.about import blocks_of, erased_of, stays_of, subject_of
from remedials.status.privacy.queries.kept import erasure_shown, kept_page, public_page, retention_of
from remedials.status.privacy.rules import ARTICLES, BACKUPS, BY_KEY, VERIFY


@needs(Right.KEEP_PRIVACY)
def retention(request: Request) -> HttpResponse:
    """What is kept, how long, why; what is past its time; what is held; what was erased."""
    return page(request, "status/privacy/kept.html", kept_page(now=request.now))


@needs(Right.KEEP_PRIVACY)
def retention_edit(request: Request, data: str) -> HttpResponse:
    """Say how long one kind of data is kept, and why."""
    if data not in BY_KEY:
        raise Http404
    form = bound(request, forms.RetentionForm, initial=initial(forms.RetentionForm, retention_of(data)))
    known, back = BY_KEY[data], address("proof:retention")
    return ask(
        request,
        form,
        f"How long: {known.label}",
        do=lambda: set_retention(data, by=request.user, now=request.now, **form.cleaned_data),
        then=back,
        said="Saved.",
        back=back,
        about=f"{known.holds} Counted from {known.counts_from}.",
        caution=f"{known.sheds} What is past its time goes with the next run, within hours, and cannot be got back. "
        f"What is held stays. {VERIFY}",
    )


@open_to_all
@require_safe
def public(request: HttpRequest) -> HttpResponse:
    """What is kept about anybody, and why. It says nothing of any person."""
    # Rendered without the request: no session is read, so no cookie is set.
    response = HttpResponse(render_to_string("status/privacy/public.html", public_page()))
    response["Cache-Control"] = "no-store"
    response["Referrer-Policy"] = "no-referrer"
    return response


# --- one customer's data ----------------------------------------------------------------------------------------------


@needs(Right.KEEP_PRIVACY)
def personal(request: Request, pk: UUID) -> HttpResponse:
    """What is kept about a customer, what would be erased, what stays and why; the way to a copy and to erasing it."""
    party = get_object_or_404(Party.objects.visible_to(request.user), pk=pk)
    return page(request, "status/privacy/personal.html", _about(request, party))


def _about(request: Request, party: Party) -> dict[str, Any]:
    who = subject_of(party, instead="Erased customer")
    return {
        "party": party,
        "back": address("premises:party", party.pk),
        "export": f"{address('proof:personal', party.pk)}export/",
        "erase": f"{address('proof:personal', party.pk)}erase/",
        "erasures": [erasure_shown(row) for row in party.erasures.select_related("by")],
        "erased": [] if party.erased_at else [{"label": k, "rows": n} for k, n in erased_of(who).items()],
        "stays": stays_of(who),
        "blocks": [] if party.erased_at else blocks_of(party, who.sites, today=clock.local_day(request.now)),
        "articles": ARTICLES,
        "backups": BACKUPS,
    }


@never_cache
@needs(Right.KEEP_PRIVACY)
def export(request: Request, pk: UUID) -> HttpResponseBase:
    """Hand a customer's own data over: the archive is the answer itself, and is kept nowhere."""
    party = get_object_or_404(Party.objects.visible_to(request.user), pk=pk)
    form = bound(request, forms.ExportForm, initial={"asked_on": clock.local_day(request.now)})
    if form.is_valid():
        try:
            note_export(party, by=request.user, now=request.now, **form.cleaned_data)
        except Refused as refused:
            show_refusal(form, refused)
        else:
            archive = export_of(party, page=full_address(reverse("status:privacy")), now=request.now)
            return FileResponse(
                archive, as_attachment=True, filename="personal-data.zip", content_type="application/zip"
            )
    context = {"form": form, "title": f"A copy of what is kept about {party.name}", "button": "Make the archive"}
    about = "One archive: what is kept as JSON, the documents that were given to them, and a word on what is in it."
    caution = (
        "Make sure first that whoever asks is who they say, and send it in a way that nobody else can read. "
        "Look through it before it goes out: free text may name others."
    )
    return page(request, FORM, context | {"about": about, "caution": caution, "back": address("proof:personal", pk)})


@never_cache
@needs(Right.KEEP_PRIVACY)
def erase(request: Request, pk: UUID) -> HttpResponse:
    """Erase a customer's personal data, with what goes and what stays above the button."""
    party = get_object_or_404(Party.objects.visible_to(request.user), pk=pk)
    form = bound(request, forms.ErasureForm, initial={"asked_on": clock.local_day(request.now)})

    def do() -> Any:
        values = {name: form.cleaned_data[name] for name in ("id", "asked_on", "why")}
        return erase_customer(party, by=request.user, now=request.now, **values)

    context = _about(request, party) | {"title": f"Erase what is kept about {party.name}"}
    return form_page(
        request, "status/privacy/erase.html", form, context, do=do, then=address("proof:personal", party.pk),
        said="Erased. What stays is listed below, with its reason.",
    )  # fmt: skip
