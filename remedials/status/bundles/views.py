"""The office's pages: a site's record as of a date, the assessor's pack, and holds."""

from typing import Any
from uuid import UUID

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST, require_safe

from jobsite.ledger.files import read_file
from jobsite.ledger.models import Hold
from jobsite.pages import act, asked_anew, bound, form_page, go, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.people.views.common import ask
from jobsite.premises.models import Site
from remedials.status.bundles import forms, operations, operations_holds, policy, queries
from remedials.status.models import Bundle

HELD_FROM_NOW = "Held. Nothing of it is erased until a manager lifts the hold."
WORK_GOES_ON = (
    "Work goes on meanwhile: lines of a draft quote, limitations of a draft report, what a repair takes and times of access may "
    "still be changed or removed, and an alarm code goes when it is retired. The ledger says that it happened, when and by whom."
)


def _site(request: Request, pk: UUID) -> Site:
    return get_object_or_404(Site.objects.visible_to(request.user), pk=pk)


def _moved(request: Request, site: Site, name: str) -> HttpResponse | None:
    """On to the page `name` of the site that `site` went over to. A form that is sent is answered: nothing typed is lost."""
    if site.merged_into_id is None or request.method == "POST":
        return None
    return go(request, reverse(name, args=[site.merged_into_id]))


def _bundle(request: Request, pk: UUID) -> Bundle:
    return get_object_or_404(queries.seen_by(request.user), pk=pk)


def _address(bundle: Bundle) -> str:
    return reverse("proof:archive", args=[bundle.pk])


@needs(Right.DRAW_PROOF)
def site_record(request: Request, pk: UUID) -> HttpResponse:
    """Ask for a site's record as of a date; those that were drawn; what is held."""
    site = _site(request, pk)
    if moved := _moved(request, site, "proof:site_record"):
        return moved
    form = bound(request, forms.AsOfForm, initial={"instant": request.now})
    context: dict[str, Any] = {
        "site": site,
        "rows": queries.rows_of(queries.seen_by(request.user).filter(site=site)),
        "holds": queries.holds_in_force(site),
        "may_hold": policy.may_hold(request.user),
        "back": reverse("desk:site", args=[site.pk]),
    }
    return form_page(
        request,
        "status/bundles/site.html",
        form,
        context,
        do=lambda: operations.ask_for_bundle(site, by=request.user, now=request.now, **form.cleaned_data),
        then=_address,
    )


@needs(Right.DRAW_PROOF)
def assessor(request: Request) -> HttpResponse:
    """Ask for the proof of remedials picked by number; packs that were drawn."""
    wanted = request.GET.get("jobs", "")[:400]
    form = bound(request, forms.PackForm, initial={"jobs": wanted})
    rows = queries.rows_of(queries.seen_by(request.user).filter(kind=Bundle.Kind.ASSESSOR))
    return form_page(
        request,
        "status/bundles/assessor.html",
        form,
        {"rows": rows},
        do=lambda: operations.ask_for_pack(
            form.cleaned_data["jobs"], id=form.cleaned_data["id"], reason=form.cleaned_data["reason"], by=request.user,
            now=request.now,
        ),
        then=_address,
    )  # fmt: skip


@asked_anew
@needs(Right.DRAW_PROOF)
def archive(request: Request, pk: UUID) -> HttpResponse:
    """How far an archive has come; once it is made, how to take it away and how anybody checks it."""
    context = queries.archive_page(_bundle(request, pk), now=request.now)
    if not context["waiting"] and request.htmx:  # type: ignore[attr-defined]
        return go(request, request.path)  # it has ended: the page that waited shows what came of it
    return page(request, "status/bundles/archive.html", context, fragment="status/bundles/_progress.html")


@needs(Right.DRAW_PROOF)
@require_safe
def archive_file(request: Request, pk: UUID) -> HttpResponse:
    """The archive itself, byte for byte, as a download that no cache keeps."""
    document = _bundle(request, pk).document
    if document is None:
        raise Http404
    response = HttpResponse(read_file(document.file), content_type=document.file.media_type)
    response["Content-Disposition"] = f'attachment; filename="{document.name}"'
    response["Cache-Control"] = "private, no-store"
    return response


@require_POST
@needs(Right.DRAW_PROOF)
def archive_again(request: Request, pk: UUID) -> HttpResponse:
    """Have one drawn again that failed."""
    bundle = _bundle(request, pk)
    return act(request, lambda: operations.ask_again(bundle, by=request.user, now=request.now), then=_address(bundle))


@require_POST
@needs(Right.DRAW_PROOF)
def archive_here(request: Request, pk: UUID) -> HttpResponse:
    """Draw it in this request, where no worker has begun to."""
    bundle = _bundle(request, pk)
    return act(request, lambda: operations.draw(bundle.pk, now=request.now), then=_address(bundle))


@needs(Right.KEEP_PRIVACY)
def holds(request: Request) -> HttpResponse:
    """All holds, and a form to hold what is kept of the whole firm."""
    form = bound(request, forms.HoldForm)
    return form_page(
        request,
        "status/bundles/holds.html",
        form,
        {"holds": queries.all_holds(), "goes_on": WORK_GOES_ON},
        do=lambda: operations_holds.place_hold(None, by=request.user, now=request.now, **form.cleaned_data),
        then=reverse("proof:holds"),
        said=HELD_FROM_NOW,
    )


@needs(Right.KEEP_PRIVACY)
def hold_site(request: Request, pk: UUID) -> HttpResponse:
    """Hold all that is kept of a site."""
    site, back = _site(request, pk), reverse("proof:site_record", args=[pk])
    if moved := _moved(request, site, "proof:hold_site"):
        return moved
    form = bound(request, forms.HoldForm)
    return ask(
        request,
        form,
        "Hold the record",
        do=lambda: operations_holds.place_hold(site, by=request.user, now=request.now, **form.cleaned_data),
        then=back,
        said=HELD_FROM_NOW,
        back=back,
        button="Hold it",
        about=site.name,
        caution="While it stands nothing of this site is erased, whatever a retention period says or a customer asks. "
        f"{WORK_GOES_ON} Whether you must keep it, or may, is for the firm's legal adviser to say.",
    )


@needs(Right.KEEP_PRIVACY)
def hold_lift(request: Request, pk: UUID) -> HttpResponse:
    """Lift a hold, with the reason."""
    hold = get_object_or_404(Hold, pk=pk)
    if hold.site and not Site.objects.visible_to(request.user).filter(pk=hold.site).exists():
        raise Http404
    form = bound(request, forms.LiftForm)
    back = reverse("proof:site_record", args=[hold.site]) if hold.site else reverse("proof:holds")
    return ask(
        request,
        form,
        "Lift the hold",
        do=lambda: operations_holds.lift_hold(hold, why=form.cleaned_data["why"], by=request.user, now=request.now),
        then=back,
        said="Lifted. What is past its time may be erased again.",
        back=back,
        button="Lift the hold",
        about=hold.reason,
    )
