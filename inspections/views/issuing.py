"""An inspection's own page, and what is done with it as a whole: issued, its dates counted again."""

import re
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from inspections import forms, operations, policy
from inspections.choices import InspectionState
from inspections.models import Inspection, Observation
from inspections.queries import inspections as queries
from inspections.queries.coding import open_codes
from inspections.queries.not_seen import left_by
from inspections.views.common import ask, at, the_inspection, today
from inspections.views.drafting import draft, noted_late
from jobsite import words
from jobsite.forms import LONGEST
from jobsite.ids import key_in, new_id
from jobsite.pages import act, bound, go, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import Refused

SHORT_NUMBER = re.compile(r"[0-9]{1,18}")
SEEN = re.compile(r"[0-9]{1,18}:[0-9]{1,18}")
GOES = (
    "What was noted goes with the draft; the history keeps that it was there. Where somebody is in danger, say so to whoever "
    "is there and give a danger notice first: a draft with one is not deleted."
)


@needs(Right.SEE_WORK)
def inspection(request: Request, pk: UUID, refused: Refused | None = None) -> HttpResponse:
    """A draft with the form for its next observation, or an issued report as it stands."""
    row = the_inspection(request, pk)
    if row.state == InspectionState.DRAFT:
        return draft(request, row, refused)
    if request.method == "POST" and not refused:
        return noted_late(request, row)
    return report(request, row, refused)


def report(request: Request, row: Inspection, refused: Refused | None) -> HttpResponse:
    """An issued report: read only."""
    context = queries.report_page(row, today(request)) | {"inspection": row, "refused": refused}
    context |= {"may_inspect": policy.may_inspect(request.user), "not_confirmed": left_by(row)}
    context["may_papers"] = policy.may_keep_papers(request.user)
    context["may_reissue"] = policy.may_reissue(request.user, row)
    return page(request, "inspections/report.html", context)


@require_POST
@needs(Right.INSPECT)
def issue(request: Request, pk: UUID) -> HttpResponse:
    """Issue our own report, or take another firm's into the record; of a reissue with why it leaves something out."""
    row = the_inspection(request, pk)
    reason = request.POST.get("left_out_reason", "")[:LONGEST]
    return act(
        request,
        lambda: operations.issue_inspection(
            row, left_out_reason=reason, shown=_as_shown(request), by=request.user, now=request.now
        ),
        then=at("codes", row) if row.other_firm else at("inspection", row),
        said=_issued,
        again=lambda refused: inspection(request, pk, refused=refused),
    )


def _as_shown(request: Request) -> operations.Shown | None:
    """The draft as the page that was sent from showed it; None where it does not say."""
    version = request.POST.get("version", "")
    if not SHORT_NUMBER.fullmatch(version):
        return None
    pairs = (seen.split(":") for seen in request.POST.getlist("seen") if SEEN.fullmatch(seen))
    limits = (key_in(value) for value in request.POST.getlist("limit"))
    return operations.Shown(
        int(version),
        {int(number): int(at_version) for number, at_version in pairs},
        frozenset(key for key in limits if key),
    )


def _issued(row: Inspection) -> str:
    """What is said after the issue; of another firm's report also what its codes ask for."""
    if not row.other_firm:
        return "Report issued."
    left = left_by(row).get("count", "")
    return f"Taken in: {open_codes(row)}. Next: review its codes.{f' {left}: answer for them on its page.' if left else ''}"


@require_POST
@needs(Right.INSPECT)
def count_again(request: Request, pk: UUID) -> HttpResponse:
    """Count the dates of a report again, after the tenure, the nation or the firm's policy was changed."""
    row = the_inspection(request, pk)
    return act(
        request,
        lambda: operations.count_dates_again(row, by=request.user, now=request.now),
        then=at("inspection", row),
        said=lambda moved: f"{words.many(moved, 'date')} changed." if moved else "No date changed.",
        again=lambda refused: inspection(request, pk, refused=refused),
    )


@needs(Right.INSPECT)
def reissue(request: Request, pk: UUID) -> HttpResponse:
    """Begin a correction of an issued report."""
    row = the_inspection(request, pk)
    form = bound(request, forms.ReissueForm)
    return ask(
        request,
        form,
        f"Reissue {queries.shown.title(row)}",
        do=lambda: operations.reissue_inspection(row, by=request.user, now=request.now, **form.cleaned_data),
        then=lambda made: at("inspection", made),
        back=at("inspection", row),
        said="A draft with copies of everything. Correct it, then issue it: until then the report stays in force.",
        button="Begin the reissue",
        at_site=row.site.name,
        note="An issued report never changes. A reissue replaces it, and it stays readable. Ages, locks, works and "
        "decisions go over to the corrected report.",
    )


@require_POST
@needs(Right.INSPECT)
def bring_back(request: Request, pk: UUID) -> HttpResponse:
    """Take an observation of the former report into its reissue again."""
    row = the_inspection(request, pk)
    seen = Observation.objects.visible_to(request.user).filter(inspection=row.replaces_id)
    former = seen.filter(pk=key_in(request.POST.get("former", ""))).first()

    def bring() -> Observation:
        if former is None:
            raise Refused("Choose an observation of the report that this one replaces.")
        return operations.bring_back(row, former=former, id=new_id(), by=request.user, now=request.now)

    return act(
        request,
        bring,
        then=at("inspection", row),
        said=lambda copy: f"It is in the reissue again, as observation {copy.number}.",
        again=lambda refused: inspection(request, pk, refused=refused),
    )


@needs(Right.INSPECT)
def delete(request: Request, pk: UUID) -> HttpResponse:
    """Delete a draft, once it was looked at what goes with it."""
    row = the_inspection(request, pk)
    if row.state != InspectionState.DRAFT:
        return go(request, at("inspection", row))
    form = bound(request, forms.DeleteForm)
    return ask(
        request,
        form,
        f"Delete {queries.shown.title(row)}",
        do=lambda: operations.delete_draft(row, by=request.user, now=request.now, **form.cleaned_data),
        then=reverse("desk:site", args=[row.site_id]),
        back=at("inspection", row),
        said=f"Draft {row.number} deleted.",
        button="Delete the draft",
        at_site=row.site.name,
        caution=GOES,
        facts=[("Noted so far", open_codes(row)), ("Limitations", str(row.limitations.count()))],
    )
