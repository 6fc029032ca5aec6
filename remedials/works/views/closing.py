"""The engineer's page: photographs one by one, readings judged at once, and closing with proof."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.core.exceptions import PermissionDenied
from django.forms import BaseForm
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_POST

from inspections.models import Reading
from inspections.operations import take_reading
from inspections.standards.quantities import Quantity
from jobsite import clock
from jobsite.addresses import address
from jobsite.ids import keys_in
from jobsite.pages import act, bound, form_page, page, show_refusal
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import Refused
from remedials.works import forms, operations, policy
from remedials.works.models import PowerStep, ProofPhoto, Remedial, RequiredReading
from remedials.works.queries import pages
from remedials.works.queries.around import ground_of
from remedials.works.queries.closing import Closing, closed_words, closing, proof_standing, sent_back_words
from remedials.works.queries.items import to_bring
from remedials.works.queries.steps import power_steps, to_isolate
from remedials.works.rules import Given
from remedials.works.states import Move, Stage, after
from remedials.works.views.common import home_of, kept, the_remedial

CLOSED = frozenset({Stage.DONE, Stage.REVIEWED})


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
            made_at=request.made_at,
            **form.spent(),
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
    """What the page shows besides the form that closes; `given`: a refused form of it, a reading's by its key."""
    remedial, items = found.remedial, pages.items_of(found.observations)
    stage = Stage(remedial.stage)
    asked = _asked(request, found, given)
    power = power_steps(remedial)
    return {
        "remedial": remedial,
        "home": home_of(remedial),
        "items": items,
        "around": _around(found),
        "off": to_isolate(remedial, found.observations, found.needs),
        "power": power,
        "power_matters": remedial.power_off is not False or bool(power["rows"]),
        "power_forms": {
            kind: given.get(f"power-{kind}") or forms.PowerForm(kind=kind) for kind in PowerStep.Kind.values
        },
        "photos": pages.photos_of(found.photos, found.observations),
        "photo_form": given.get("photo") or forms.PhotoForm(items=items),
        "dead": [row for row in asked if row["quantity"].dead],
        "live": [row for row in asked if not row["quantity"].dead],
        "facts": found.for_phone(),
        "no_instrument": not all(row["ready"] for row in asked),
        "sent_back": sent_back_words(remedial) if stage in (Stage.APPROVED, Stage.BOOKED) else "",
        "bring": to_bring(remedial.items.all()),
        "may_close": after(stage, Move.CLOSE) is not None,
        "part_done": after(stage, Move.PART_DONE) is not None,
        "again": stage in CLOSED,
        "found_else": address("inspections:found", remedial.site_id, remedial=remedial.pk),
    }


def _asked(request: Request, found: Closing, given: dict[str, BaseForm]) -> list[dict[str, Any]]:
    """The required readings, each with its form and whether it can be taken: an instrument is there, or none is needed."""
    tools = pages.instruments(now=request.now) if found.needs else pages.Tools([], "")
    asked = pages.readings_asked(found, on=clock.local_day(request.now))
    for row in asked:
        row["form"] = given.get(row["id"]) or _reading_form(None, row, tools)
        row["ready"] = bool(tools.choices) or row["quantity"].yes_no
    return asked


def _around(found: Closing) -> dict[str, Any]:
    """What to know of the boards it is about. One statement."""
    boards = [o.board_id for o in found.observations] + [need.circuit.board_id for need in found.needs]
    ground = ground_of([found.remedial.site_id])[found.remedial.site_id]
    return ground.around(boards, besides=[o.pk for o in found.observations])


def _reading_form(request: Request | None, row: dict[str, Any], tools: pages.Tools) -> forms.ReadingForm:
    more = {
        "quantity": row["quantity"],
        "instruments": tools.choices,
        "judge": {"data-judge": row["judge"], "data-tools": tools.words},
        "enter": bool(row["enter"]),
        "auto_id": f"reading-{row['id']}-%s",
    }
    kind = forms.CheckForm if row["quantity"].yes_no else forms.ReadingForm
    return kind(request.POST, **more) if request else kind(**more)


# --- photographs ------------------------------------------------------------------------------------------------------


@require_POST
@needs(Right.DO_WORK)
def photo_add(request: Request, pk: UUID) -> HttpResponse:
    """Adds photographs, a phone one at a time; a refused one is said beside its field."""
    remedial = _the_work(request, pk)
    items = pages.items_of(closing(remedial).observations)
    form = forms.PhotoForm(request.POST, request.FILES, items=items)
    return _part(request, remedial, form, "photo", "photos", lambda: _add_photos(request, remedial, form))


def _add_photos(request: Request, remedial: Remedial, form: forms.PhotoForm) -> None:
    shows = form.shows()
    for file in form.cleaned_data["photo"]:
        operations.add_proof_photo(remedial, data=file.read(), observation=shows, by=request.user, now=request.now)


def _part(
    request: Request, remedial: Remedial, form: BaseForm, name: str, anchor: str, do: Callable[[], Any], part: str = ""
) -> HttpResponse:
    """One part of the page was sent: on to the page with it, or what is wrong in its place (422): for a held form the
    template `part` alone, so that nothing typed elsewhere on the page is touched; else the page again.
    """
    if form.is_valid():
        try:
            do()
        except Refused as refused:
            show_refusal(form, refused)
        else:
            return act(request, lambda: remedial, then=f"{address('works:close', remedial.pk)}#{anchor}")
    found = closing(remedial)
    shown = _shown(request, found, **{name: form})
    shown |= {"form": forms.CloseForm(remedial=remedial, reads=bool(found.needs)), "missing": found.missing(Given())}
    shown["row"] = next((row for row in [*shown["dead"], *shown["live"]] if row["id"] == name), None)
    return page(request, "works/close.html", shown, fragment=part, status=422)


@require_POST
@needs(Right.DO_WORK)
def power(request: Request, pk: UUID) -> HttpResponse:
    """Keeps that power is off, locked and proved dead by the engineer's word, or on again."""
    remedial = _the_work(request, pk)
    kind = PowerStep.Kind.ON if request.POST.get("kind") == PowerStep.Kind.ON else PowerStep.Kind.OFF
    form = forms.PowerForm(request.POST, kind=kind)
    return _part(
        request,
        remedial,
        form,
        f"power-{kind}",
        f"power-{kind}",
        lambda: operations.record_power(
            remedial, by=request.user, now=request.now, made_at=request.made_at, **form.cleaned_data
        ),
        part=f"works/_power_{kind}.html",
    )


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
    row = pages.reading_asked(need, on=clock.local_day(request.made_at))
    form = _reading_form(request, row, pages.instruments(now=request.now))
    anchor, do = f"reading-{need.pk}", lambda: _take(request, need, form)
    return _part(request, remedial, form, row["id"], anchor, do, part="works/_reading.html")


def _take(request: Request, need: RequiredReading, form: forms.ReadingForm) -> Reading:
    limit = {"test": pages.test_of(need)} if need.limit_entered is not None else {}
    return take_reading(
        need.circuit,
        quantity=Quantity(need.quantity),
        by=request.user,
        now=request.now,
        made_at=request.made_at,
        **form.reading() | limit,
    )
