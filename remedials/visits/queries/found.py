"""Where somebody stands who found something else: what the visit and the remedial at hand preset, and the way back."""

from typing import Any
from uuid import UUID

from jobsite.addresses import address
from jobsite.people.models import User
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from remedials.visits.models import Visit
from remedials.works.models import Remedial


def while_at(site: Site, user: User, *, visit: UUID | None, remedial: UUID | None) -> dict[str, Any]:
    """Of a visit and a remedial at `site` that `user` sees: their keys, the unit, board and circuit, where to go back to.

    What is not there, or at another site, is left out. Three statements at most, none where neither is named.
    """
    row = Visit.objects.visible_to(user).filter(pk=visit, site=site).first() if visit else None
    work = Remedial.objects.visible_to(user).filter(pk=remedial, site=site).first() if remedial else None
    at: dict[str, Any] = {"keys": {}, "unit": None, "board": None, "circuit": None, "back": ""}
    if row:
        at["keys"]["visit"], at["back"] = str(row.pk), address("visits:visit", row.pk)
    if work:
        at["keys"]["remedial"], at["unit"] = str(work.pk), work.unit_id
        closing = "works:close" if user.may(Right.DO_WORK) else "desk:remedial"
        at["back"] = at["back"] or address(closing, work.pk)
        first = work.observations.filter(board__retired_at=None).exclude(board=None).order_by("number").first()
        if first:
            at["board"], at["circuit"] = first.board_id, first.circuit_id
    return at
