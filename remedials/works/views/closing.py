"""The engineer's page: photographs one by one, readings judged at once, and closing with proof."""

from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.forms import BaseForm
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_POST

from inspections.operations import take_reading
from inspections.standards.quantities import Quantity
from jobsite import clock
from jobsite.ids import keys_in
from jobsite.pages import act, bound, form_page, page, show_refusal
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import Refused
from remedials.works import forms, operations, policy
from remedials.works.models import ProofPhoto, Remedial, RequiredReading
from remedials.works.queries import pages
from remedials.works.queries.around import ground_of
from remedials.works.queries.closing import Closing, closed_words, closing, proof_standing
from remedials.works.queries.items import to_bring
from remedials.works.rules import Given
from remedials.works.states import Move, Stage, after
from remedials.works.views.common import home_of, kept, the_remedial

CLOSED = frozenset({Stage.DONE, Stage.REVIEWED})
CHANGED = {"HX-Trigger": "proof-changed"}


def _the_work(request: Request, pk: UUID) -> Remedial:
    """The remedial, for an engineer who may close it; 404 for one not seen, 403 for another's."""
    remedial = the_remedial(request, pk)
    if not policy.may_close(request.user, remedial):
        raise PermissionDenied("Only an engineer who sees this site may close its remedials.")
    return remedial


@needs(Right.DO_WORK)
def close(request: Request, pk: UUID) -> HttpResponse:
    """What to do, the photographs, the readings, and the form that closes with proof."""
    remedial = _the_work(request, pk)
    found = closing(remedial)
    form = bound(
        request, forms.CloseForm, remedial=remedial, reads=bool(found.needs), closed=_closed(request, remedial)
    )

    def do() -> Any:
        file = kept(form, "certificate_file", request)
        return operations.close_remedial(
            remedial,
            readings=found.readings,
            certificate_file=file,
            by=request.user,
            now=request.now,
            **form.cleaned_data,
        )

    return form_page(
        request,
        "works/close.html",
        form,
        _shown(request, found) | {"missing": found.missing(_given(form))},
        do=do,
        then=lambda proof: reverse("visits:my_day") if proof.state == "stands" else home_of(remedial),
        said=lambda proof: _said(remedial, proof.state),
    )


def _closed(request: Request, remedial: Remedial) -> str:
    """That this person closed it already, in words; "" for others, and where the same form is only sent again."""
    first = proof_standing(remedial) if remedial.stage in CLOSED else None
    if first is None or first.done_by_id != request.user.pk:
        return ""
    sent = keys_in([request.POST.get("id", "")])
    return "" if remedial.proofs.filter(pk__in=sent).exists() else closed_words(first)


def _said(remedial: Remedial, state: str) -> str:
    if state == "beside":
        return f"Remedial {remedial.number} was closed already: yours is filed beside it."
    return f"Remedial {remedial.number} closed with proof."


def _given(form: BaseForm) -> Given:
    """What has been typed so far, valid or not."""
    if not form.is_bound:
        return Given()
    typed = {name: str(form[name].value() or "") for name in form.fields if name != "certificate_file"}
    return Given(
        bool(typed.get("certificate_number", "").strip() or form.files.get("certificate_file")),
        typed.get("no_photo_reason", ""),
        typed.get("exception_reason", ""),
    )


def _shown(request: Request, found: Closing, **given: BaseForm) -> dict[str, Any]:
    """What the page shows besides the form that closes; `given`: a refused photo form, or a reading's by its key."""
    remedial, items = found.remedial, pages.items_of(found.observations)
    on = clock.local_day(request.now)
    tools = pages.instruments(now=request.now) if found.needs else []
    asked = pages.readings_asked(found, on=on)
    for row in asked:
        row["form"] = given.get(row["id"]) or _reading_form(None, row, tools)
    stage = Stage(remedial.stage)
    return {
        "remedial": remedial,
        "home": home_of(remedial),
        "items": items,
        "around": _around(found),
        "photos": pages.photos_of(found.photos, found.observations),
        "photo_form": given.get("photo") or forms.PhotoForm(items=items),
        "asked": asked,
        "bring": to_bring(remedial.items.all()),
        "tools": bool(tools),
        "may_close": after(stage, Move.CLOSE) is not None,
        "part_done": after(stage, Move.PART_DONE) is not None,
        "again": stage in CLOSED,
    }


def _around(found: Closing) -> dict[str, Any]:
    """What to know of the boards it is about. One statement."""
    boards = [o.board_id for o in found.observations] + [need.circuit.board_id for need in found.needs]
    ground = ground_of([found.remedial.site_id])[found.remedial.site_id]
    return ground.around(boards, besides=[o.pk for o in found.observations])


def _reading_form(request: Request | None, row: dict[str, Any], tools: list[tuple[str, str]]) -> forms.ReadingForm:
    more = {"quantity": row["quantity"], "instruments": tools, "enter": bool(row["enter"]), "prefix": row["id"]}
    kind = forms.CheckForm if row["quantity"].yes_no else forms.ReadingForm
    return kind(request.POST, **more) if request else kind(**more)


@require_POST
@needs(Right.DO_WORK)
def missing(request: Request, pk: UUID) -> HttpResponse:
    """What is still missing to close, with what has been typed so far."""
    found = closing(_the_work(request, pk))
    form = forms.CloseForm(request.POST, request.FILES, remedial=found.remedial, reads=bool(found.needs))
    return render(request, "works/_missing.html", {"missing": found.missing(_given(form))})


# --- photographs ------------------------------------------------------------------------------------------------------


@require_POST
@needs(Right.DO_WORK)
def photo_add(request: Request, pk: UUID) -> HttpResponse:
    """Adds one photograph and shows all; a refused one is said beside its field."""
    remedial = _the_work(request, pk)
    items = pages.items_of(closing(remedial).observations)
    form = forms.PhotoForm(request.POST, request.FILES, items=items)
    done = False
    if form.is_valid():
        try:
            operations.add_proof_photo(
                remedial,
                data=form.cleaned_data["photo"].read(),
                observation=form.shows(),
                by=request.user,
                now=request.now,
            )
            done = True
        except Refused as refused:
            show_refusal(form, refused)
    return _after(request, remedial, "works/_photos.html", "photos", {} if done else {"photo": form})


def _after(
    request: Request, remedial: Remedial, fragment: str, anchor: str, given: dict[str, BaseForm], **context: Any
) -> HttpResponse:
    """Part of the page as it is now: that part alone for htmx, else the page again (422) or on to it."""
    address = f"{reverse('works:close', args=[remedial.pk])}#{anchor}"
    if not given and not request.htmx:  # type: ignore[attr-defined]
        return act(request, lambda: remedial, then=address)
    found = closing(remedial)
    shown = _shown(request, found, **given) | context
    if context.get("row"):
        shown["row"] = next(row for row in shown["asked"] if row["id"] == context["row"])
    shown |= {"form": forms.CloseForm(remedial=remedial, reads=bool(found.needs)), "missing": found.missing(Given())}
    response = page(request, "works/close.html", shown, fragment=fragment, status=422 if given else 200)
    for name, value in CHANGED.items():
        response[name] = value
    return response


@require_POST
@needs(Right.DO_WORK)
def photo_remove(request: Request, pk: UUID) -> HttpResponse:
    """Takes away a photograph that no closing has used yet."""
    seen = Remedial.objects.visible_to(request.user)
    photo = get_object_or_404(ProofPhoto.objects.filter(remedial__in=seen).select_related("remedial"), pk=pk)
    then = reverse("works:close", args=[photo.remedial_id])
    return act(
        request,
        lambda: operations.remove_proof_photo(photo, by=request.user, now=request.now),
        then=f"{then}#photos",
        said="Photo taken away.",
    )


# --- readings ---------------------------------------------------------------------------------------------------------


@require_POST
@needs(Right.DO_WORK)
def reading(request: Request, pk: UUID) -> HttpResponse:
    """Keeps one reading and says at once whether it passes, by which limit and why."""
    seen = Remedial.objects.visible_to(request.user)
    needs_of = RequiredReading.objects.filter(remedial__in=seen).select_related("circuit__board", "remedial")
    need = get_object_or_404(needs_of, pk=pk)
    remedial = _the_work(request, need.remedial_id)
    row = pages.reading_asked(need, on=clock.local_day(request.now))
    form = _reading_form(request, row, pages.instruments(now=request.now))
    given: dict[str, BaseForm] = {} if _took(request, need, form) else {row["id"]: form}
    return _after(request, remedial, "works/_reading.html", f"reading-{need.pk}", given, row=row["id"])


def _took(request: Request, need: RequiredReading, form: forms.ReadingForm) -> bool:
    """Whether the reading was kept; the form says why not."""
    if not form.is_valid():
        return False
    limit = {"test": pages.test_of(need)} if need.limit_entered is not None else {}
    quantity = Quantity(need.quantity)
    try:
        take_reading(need.circuit, quantity=quantity, by=request.user, now=request.now, **form.reading() | limit)
    except Refused as refused:
        show_refusal(form, refused)
        return False
    return True
