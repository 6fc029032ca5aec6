"""The page of a draft: its observations are typed one after another, changed in place, or dropped."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from inspections import forms, operations, policy, rules
from inspections.forms.fields import board_called
from inspections.models import Inspection, Observation
from inspections.queries import alike, drafts
from inspections.queries.not_seen import left_open
from inspections.queries.observations import back_of, photo_rows
from inspections.queries.suggestions import ways_of
from inspections.views.common import CODING, at, initial, the_inspection, the_observation, the_site, today
from jobsite import words
from jobsite.ids import keys_in
from jobsite.pages import act, bound, form_page, go, page, too_late
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Board
from jobsite.refused import Refused

ISSUED_MEANWHILE = "The report was issued meanwhile and does not change any more. Begin a reissue: what was noted too late can be put right in its form."


def draft(request: Request, row: Inspection, refused: Refused | None = None) -> HttpResponse:
    """A draft with the form for its next observation, what is noted so far below it."""
    may = policy.may_change_inspection(request.user, row)
    context: dict[str, Any] = {"inspection": row, "may": may, "refused": refused, "caution": CODING}
    context["hold"] = f"observation:{row.pk}"
    if row.replaces_id:
        context["hold_also"] = f"observation:{row.replaces_id}"  # what came too late for that report
    if request.method == "POST" and may and not refused:
        return _note(request, row, context)
    shown = drafts.draft_page(row)
    context |= shown | {"why_not_issue": why_not_issue(request, row), "earlier": left_open(row)}
    if may and not refused:
        first = _as_before(request) | {"item": rules.next_item(shown["last_item"])}
        context["form"] = cursor(forms.ObservationForm(inspection=row, initial=first))
    return page(request, "inspections/draft.html", context)


def _note(request: Request, row: Inspection, context: dict[str, Any]) -> HttpResponse:
    """Note what was typed. Typed on the page it is answered by what changes there; else by the whole page again."""
    form = bound(request, forms.ObservationForm, inspection=row)
    if not form.is_valid():
        cursor(form)
    in_place = bool(request.htmx)  # type: ignore[attr-defined]
    if not in_place:
        context |= drafts.draft_page(row) | {"why_not_issue": why_not_issue(request, row), "earlier": left_open(row)}
    return form_page(
        request,
        "inspections/draft.html",
        form,
        context,
        do=lambda: operations.note_observation(row, by=request.user, now=request.now, **with_photos(form)),
        then=lambda made: noted(request, row, made) if in_place else _next_entry(row, made),
        said=lambda made: f"Observation {made.number} noted.",
        fragment="inspections/_entry.html",
    )


def noted(request: Request, row: Inspection, made: Observation) -> HttpResponse:
    """What changes on the page of the draft after one observation."""
    context = drafts.noted(row, made) | {"inspection": row, "may": True}
    context |= {"earlier": left_open(row)} if made.continues_id else {}
    return page(request, "inspections/_noted.html", context)


def noted_late(request: Request, row: Inspection) -> HttpResponse:
    """Typed for a draft that was issued meanwhile: refused, unless it was saved before and only the answer got lost."""
    made = Observation.objects.filter(pk__in=keys_in([request.POST.get("id", "")]), inspection=row).first()
    if made is None:
        return too_late(request, ISSUED_MEANWHILE, at("inspection", row))
    return act(request, lambda: made, then=at("inspection", row), said=f"Observation {made.number} noted.")


def with_photos(form: Any) -> dict[str, Any]:
    """The cleaned values, the photographs as bytes."""
    values = dict(form.cleaned_data)
    return values | {"photos": [photo.read() for photo in values.pop("photos")]}


def cursor(form: Any, otherwise: str = "") -> Any:
    """The form with the cursor in the first field that is wrong, else in the one named, else in its first."""
    wrong = [name for name in form.errors if name in form.fields] if form.is_bound else []
    first = wrong[0] if wrong else otherwise or next(name for name in form.fields if name != "id")
    form.fields[first].widget.attrs["autofocus"] = True
    return form


def _as_before(request: Request) -> dict[str, str]:
    """Unit and board of the observation noted before: the next one is mostly on the same."""
    return {name: request.GET[name] for name in ("unit", "board") if request.GET.get(name)}


def _next_entry(row: Inspection, made: Observation) -> str:
    board = f"&board={made.board_id}" if made.board_id else ""
    return f"{at('inspection', row)}?unit={made.unit_id}{board}"


def why_not_issue(request: Request, row: Inspection) -> str:
    """Why this person may not issue the draft; "" where they may."""
    if policy.may_issue_inspection(request.user, row, now=request.now):
        return ""
    if row.other_firm:
        return "The office takes another firm's report into the record."
    return (
        f"Our own report is issued by a qualified person. The record has none for you on {words.day(today(request))}."
    )


@needs(Right.SEE_WORK)
def ways(request: Request, pk: UUID) -> HttpResponse:
    """What is offered in the field of the way, once a board was typed: its ways with what each supplies."""
    boards = list(Board.objects.current().filter(site=the_site(request, pk)).order_by("sort", "pk"))
    board = board_called(request.GET.get("board", "")[:200], boards)
    return page(request, "inspections/_ways.html", {"ways": ways_of(board)})


@require_POST
@needs(Right.INSPECT)
def like(request: Request, pk: UUID) -> HttpResponse:
    """The earlier open observations that what is being typed may be. It changes nothing; posted, because it may be long."""
    row = the_inspection(request, pk)
    asked = forms.LikeForm(request.POST, site=row.site, units=row.units.all()).asked()
    found = alike.in_draft(row, asked) if asked else []
    return page(request, "inspections/_like_these.html", {"rows": alike.proposals(found, today=today(request))})


@needs(Right.INSPECT)
def change(request: Request, pk: UUID) -> HttpResponse:
    """Change an observation of a draft: in its row where it was opened there, else on a page of its own."""
    row = the_observation(request, pk)
    if row.inspection and not row.draft and request.method == "POST":
        return too_late(request, ISSUED_MEANWHILE, back_of(row))
    if row.inspection is None or not row.draft:
        return go(request, back_of(row))
    inspection = row.inspection
    way = row.circuit.way_name if row.circuit else ""
    first = initial(forms.ChangeObservationForm, row, way=way, continues=row.continues_id, photos=())
    names = f"id_{row.pk}_%s"  # the form of the next observation may stand on the same page
    form = bound(request, forms.ChangeObservationForm, inspection=inspection, initial=first, auto_id=names)
    back = at("inspection", inspection)
    context = {"title": f"Observation {row.number}", "back": back, "caution": CODING, "row": row}
    context |= {"photos": photo_rows(row), "here": at("change", row), "drop": at("drop", row)}
    context |= {"hold": f"observation-change:{row.pk}", "hold_row": f"o-{row.pk}"}
    in_place = bool(request.htmx)  # type: ignore[attr-defined]
    return form_page(
        request,
        "inspections/change.html",
        cursor(form, "text"),
        context,
        do=lambda: operations.change_observation(row, by=request.user, now=request.now, **with_photos(form)),
        then=lambda made: noted(request, inspection, made) if in_place else back,
        said="Observation saved.",
        fragment="inspections/_change_row.html",
    )


@require_POST
@needs(Right.INSPECT)
def drop(request: Request, pk: UUID) -> HttpResponse:
    """Take an observation off a draft."""
    row = the_observation(request, pk)
    where = row.inspection
    return act(
        request,
        lambda: operations.drop_observation(row, by=request.user, now=request.now),
        then=at("inspection", where) if where else reverse("desk:observation", args=[row.pk]),
        said=f"Observation {row.number} dropped.",
        again=(lambda refused: draft(request, where, refused=refused)) if where else None,
    )
