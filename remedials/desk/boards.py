"""The pages of a board and of what should go dead: those of premises, with what is open and locked off there."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse

from inspections.queries.readings import latest_rows
from jobsite import clock
from jobsite.addresses import address
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Board
from jobsite.premises.views import boards
from jobsite.premises.views import isolation as isolating
from jobsite.refused import Refused
from remedials.desk.queries import open_items
from remedials.works.queries.around import ground_of
from remedials.works.queries.locks import locks_of


@needs(Right.SEE_WORK)
def board(request: Request, pk: UUID, refused: Refused | None = None) -> HttpResponse:
    """A board and its ways; above them what is open on it, and every C1 of the site that is not made safe."""

    def reads(row: Board) -> bool:
        return request.user.may(Right.INSPECT) and row.retired_at is None

    def more(row: Board) -> dict[str, Any]:
        today = clock.local_day(request.now)
        found = [o for o in open_items.open_observations(row.site) if o.board_id == row.pk]
        steps = open_items.steps_of(row.site, request.user, today=today)
        return {
            "open_rows": open_items.open_rows(found, steps, request.user, today=today),
            "readings": latest_rows(row),
            "read_at": address("inspections:board_readings", row.pk) if reads(row) else "",
            "around": ground_of([row.site_id])[row.site_id].around([row.pk]),
        }

    return boards.board(request, pk, refused=refused, template="desk/board.html", more=more, locks=locks_of)


@needs(Right.SEE_WORK)
def isolation(request: Request, pk: UUID) -> HttpResponse:
    """What should go dead for a piece of work, with the locks and keys that stand at the site."""
    return isolating.isolation(request, pk, locks=locks_of)
