"""What the pages of intake share: the upload by the door of visible_to, and what stands above it."""

from typing import Any
from uuid import UUID

from django.http import Http404

from inspections.intake import queries
from inspections.models import Intake
from jobsite import words
from jobsite.people.guard import Request


def the_intake(request: Request, pk: UUID) -> Intake:
    """The upload if this person may see it, else 404."""
    intake = queries.intake_of(request.user, pk)
    if intake is None:
        raise Http404
    return intake


def particulars(row: Intake) -> dict[str, Any]:
    """What stands above every page of an upload."""
    received = f"{words.when(row.uploaded_at)} by {row.uploaded_by}"
    return {"intake": row, "site": row.site, "received": received, "kind": row.get_kind_display()}
