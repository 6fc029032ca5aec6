"""An inspection's own page, and what is done with it as a whole: issued, its dates counted again."""

from uuid import UUID

from django.http import HttpResponse
from django.views.decorators.http import require_POST

from inspections import operations, policy
from inspections.choices import InspectionState
from inspections.models import Inspection
from inspections.queries import inspections as queries
from inspections.queries.coding import open_codes
from inspections.queries.not_seen import left_by
from inspections.views.common import at, the_inspection, today
from inspections.views.drafting import draft
from jobsite import words
from jobsite.pages import act, page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.refused import Refused


@needs(Right.SEE_WORK)
def inspection(request: Request, pk: UUID, refused: Refused | None = None) -> HttpResponse:
    """A draft with the form for its next observation, or an issued report as it stands."""
    row = the_inspection(request, pk)
    if row.state == InspectionState.DRAFT:
        return draft(request, row, refused)
    return report(request, row, refused)


def report(request: Request, row: Inspection, refused: Refused | None) -> HttpResponse:
    """An issued report: read only."""
    context = queries.report_page(row, today(request)) | {"inspection": row, "refused": refused}
    context |= {"may_inspect": policy.may_inspect(request.user), "not_confirmed": left_by(row)}
    return page(request, "inspections/report.html", context)


@require_POST
@needs(Right.INSPECT)
def issue(request: Request, pk: UUID) -> HttpResponse:
    """Issue our own report, or take another firm's into the record."""
    row = the_inspection(request, pk)
    return act(
        request,
        lambda: operations.issue_inspection(row, by=request.user, now=request.now),
        then=at("codes", row) if row.other_firm else at("inspection", row),
        said=_issued,
        again=lambda refused: inspection(request, pk, refused=refused),
    )


def _issued(row: Inspection) -> str:
    """What is said after the issue; of another firm's report also what its codes ask for."""
    if not row.other_firm:
        return "Report issued."
    return f"Taken in: {open_codes(row)}. Next: review its codes."


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
