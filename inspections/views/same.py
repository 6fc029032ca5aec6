"""Pages about the same defect seen twice: still there?, which earlier one it is, and taking that back."""

from collections.abc import Iterable
from uuid import UUID

from django.http import Http404, HttpResponse
from django.views.decorators.http import require_POST

from inspections import forms, operations, policy
from inspections.choices import InspectionState, StillThere
from inspections.models import Inspection, Observation
from inspections.operations.joining import CORRECTED
from inspections.queries import alike, not_seen
from inspections.queries.observations import observation_facts
from inspections.views.common import ask, ask_about, at, the_inspection, the_observation, today
from jobsite import words
from jobsite.ids import new_id
from jobsite.pages import act, bound, next_address, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import Refused

MOST = 300
GONE = (
    "It stays open until the report is issued by a qualified person, who answers for it. Where nobody looked, say so "
    "instead: then it stays open and is shown as not confirmed."
)
GONE_NOW = "A qualified person who has looked answers for this: it ends the observation, by name and with the reason."


@needs(Right.SEE_WORK)
def earlier(request: Request, pk: UUID, refused: Refused | None = None) -> HttpResponse:
    """Still there? The earlier open observations that an inspection covers and does not note again, each to be answered."""
    row = the_inspection(request, pk)
    context = not_seen.earlier_page(row, today=today(request)) | {"inspection": row, "refused": refused}
    context["may"] = _may_answer(request, row)
    context["why_not_gone"] = "" if context["draft"] else policy.why_not_decide(request.user, now=request.now)
    return page(request, "inspections/earlier.html", context)


def _may_answer(request: Request, row: Inspection) -> bool:
    if row.state == InspectionState.DRAFT:
        return policy.may_change_inspection(request.user, row)
    return row.state == InspectionState.ISSUED and policy.may_inspect(request.user)


@require_POST
@needs(Right.INSPECT)
def note_again(request: Request, pk: UUID, seen: UUID) -> HttpResponse:
    """It is still there: noted again on the draft as it was."""
    row, observation = _both(request, pk, seen)
    return act(
        request,
        lambda: operations.note_again(row, earlier=observation, id=new_id(), by=request.user, now=request.now),
        then=_back(request, row),
        said=_noted_again,
        again=lambda refused: earlier(request, pk, refused=refused),
    )


def _noted_again(made: Observation) -> str:
    code = f"with its code {made.code}" if made.code else "it has no code yet: give it one"
    return f"Still there: noted again as observation {made.number}, {code}."


@require_POST
@needs(Right.INSPECT)
def not_looked(request: Request, pk: UUID, seen: UUID) -> HttpResponse:
    """Nobody looked at it: it stays open, and is shown as not confirmed."""
    row, observation = _both(request, pk, seen)
    return act(
        request,
        lambda: operations.answer_not_seen(
            row, observation=observation, answer=StillThere.NOT_LOOKED, by=request.user, now=request.now
        ),
        then=_back(request, row),
        said=f"Observation {observation.number} was not looked at: it stays open.",
        again=lambda refused: earlier(request, pk, refused=refused),
    )


@needs(Right.INSPECT)
def found_gone(request: Request, pk: UUID, seen: UUID) -> HttpResponse:
    """It is not there any more: what was seen instead."""
    row, observation = _both(request, pk, seen)
    form = bound(request, forms.GoneForm)
    draft = row.state == InspectionState.DRAFT
    return ask(
        request,
        form,
        f"Observation {observation.number} is not there any more",
        do=lambda: operations.answer_not_seen(
            row, observation=observation, answer=StillThere.GONE, by=request.user, now=request.now, **form.cleaned_data
        ),
        then=_back(request, row),
        back=at("earlier", row),
        said="Kept: it ends with the issue of the report." if draft else "It is closed: not there any more.",
        button="It is not there any more",
        about=observation_facts(observation, today(request)),
        caution=GONE if draft else GONE_NOW,
        why_not="" if draft else policy.why_not_decide(request.user, now=request.now),
        next=request.GET.get("next", ""),
    )


@require_POST
@needs(Right.INSPECT)
def take_back_answer(request: Request, pk: UUID, seen: UUID) -> HttpResponse:
    """Take an answer back: it is asked about again."""
    row, observation = _both(request, pk, seen)
    return act(
        request,
        lambda: operations.take_back_answer(row, observation=observation, by=request.user, now=request.now),
        then=f"{at('earlier', row)}#o-{observation.pk}",
        said=f"Observation {observation.number} is asked about again.",
        again=lambda refused: earlier(request, pk, refused=refused),
    )


@needs(Right.INSPECT)
def same_in_report(request: Request, pk: UUID, seen: UUID) -> HttpResponse:
    """Which observation of an issued report is of the same defect as an earlier one: it continues that."""
    row, observation = _both(request, pk, seen)
    own = list(row.observations.filter(ended="", draft=False, continues=None).order_by("number")[:MOST])
    found = alike.earlier_like(map(alike.asked_of, own), site=row.site_id, on=row.inspected_on, report=row.pk)
    likely = [one for one in own if observation.pk in [other.id for other in found.get(str(one.pk), ())]]
    form = _bound_same(request, likely, own)
    return ask(
        request,
        form,
        f"Observation {observation.number} in this report",
        do=lambda: operations.continue_earlier(
            _chosen(form, own), earlier=observation, by=request.user, now=request.now
        ),
        then=_back(request, row),
        back=at("earlier", row),
        said=lambda made: f"Observation {made.number} continues observation {observation.number}.",
        button="It is the same defect",
        about=observation_facts(observation, today(request)),
        note="" if own else "Every observation of this report continues another one, or is closed.",
    )


@needs(Right.INSPECT)
def same_as(request: Request, pk: UUID) -> HttpResponse:
    """Which earlier open observation is of the same defect as this one, which continues it."""
    row = the_observation(request, pk)
    rows = Observation.objects.open().filter(site=row.site_id, recorded_on__lte=row.recorded_on).exclude(pk=row.pk)
    rows = rows.exclude(inspection=row.inspection_id) if row.inspection_id else rows
    open_ones = list(rows.select_related("unit", "board", "circuit").order_by("number")[:MOST])
    found = alike.earlier_like(
        [alike.asked_of(row)], site=row.site_id, on=row.recorded_on, report=row.inspection_id, besides=[row.pk]
    )
    order = [one.id for one in found.get(str(row.pk), ())]
    likely = sorted((one for one in open_ones if one.pk in order), key=lambda one: order.index(one.pk))
    form = _bound_same(request, likely, open_ones)
    return ask_about(
        request,
        row,
        form,
        f"Observation {row.number}: the same defect again",
        do=lambda: operations.continue_earlier(row, earlier=_chosen(form, open_ones), by=request.user, now=request.now),
        said=lambda made: f"Its age runs from {words.day(made.first_recorded_on)}. The earlier one ends here.",
        button="It is the same defect",
        caution="The earlier one ends here. Its age, what was made safe and work that is planned go over.",
        why_not="" if open_ones else "No earlier observation is open at this site.",
    )


@needs(Right.INSPECT)
def part(request: Request, pk: UUID) -> HttpResponse:
    """Take back that an observation continues an earlier one."""
    row = the_observation(request, pk)
    form = bound(request, forms.PartForm)
    number = row.continues.number if row.continues else ""
    return ask_about(
        request,
        row,
        form,
        f"Observation {row.number} is another defect",
        do=lambda: operations.part_from_earlier(row, by=request.user, now=request.now, **form.cleaned_data),
        said="Both are open now, each for itself.",
        button="They are two",
        caution=f"It is taken back that this continues observation {number}: what went over goes back.",
        why_not=_why_not_part(row),
    )


def _why_not_part(row: Observation) -> str:
    if row.continues is None:
        return "It continues no earlier one."
    return CORRECTED.format(row.continues.number) if row.corrects else ""


@needs(Right.INSPECT)
def there_after_all(request: Request, pk: UUID) -> HttpResponse:
    """Open again what was found gone."""
    row = the_observation(request, pk)
    form = bound(request, forms.ThereForm)
    return ask_about(
        request,
        row,
        form,
        f"Observation {row.number} is there after all",
        do=lambda: operations.reopen_observation(row, by=request.user, now=request.now, **form.cleaned_data),
        said="It is open again.",
        button="It is there",
        why_not="" if row.ended == "gone" else "It was not found gone.",
    )


def _both(request: Request, pk: UUID, seen: UUID) -> tuple[Inspection, Observation]:
    """The inspection and an observation of the same site, both seen by this person, else 404."""
    row, observation = the_inspection(request, pk), the_observation(request, seen)
    if observation.site_id != row.site_id:
        raise Http404
    return row, observation


def _back(request: Request, row: Inspection) -> str:
    return next_address(request, at("earlier", row))


def _bound_same(request: Request, likely: Iterable[Observation], all_of_them: Iterable[Observation]) -> forms.SameForm:
    first = list(likely)
    rest = [one for one in all_of_them if one not in first]
    data = request.POST if request.method == "POST" else None
    return forms.SameForm(data, likely=[_choice(one) for one in first], rest=[_choice(one) for one in rest])


def _choice(row: Observation) -> tuple[str, str]:
    return str(row.pk), f"{row.number} · {row.code or 'not coded'} · {words.day(row.recorded_on)} · {row.text[:80]}"


def _chosen(form: forms.SameForm, rows: Iterable[Observation]) -> Observation:
    return next(row for row in rows if str(row.pk) == form.cleaned_data["other"])
