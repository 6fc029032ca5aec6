"""What the forms of remedials offer."""

from collections.abc import Iterable
from uuid import UUID

from inspections.models import Observation
from jobsite.premises.models import Circuit, Site
from remedials.works.models import Remedial, Remedies


def open_observations(site: Site, wanted: Iterable[UUID] = ()) -> list[Observation]:
    """The open observations of a site: those wanted, else those that no remedial carries yet. One statement."""
    rows = Observation.objects.filter(site=site).open().select_related("board", "unit")
    if keys := list(wanted):
        return list(rows.filter(pk__in=keys).order_by("number"))
    carried = Remedies.objects.filter(remedial__in=Remedial.objects.filter(site=site).carrying())
    return list(rows.exclude(pk__in=carried.values("observation")).order_by("number"))


def circuits_to_read(site: Site, observations: Iterable[Observation]) -> list[Circuit]:
    """Circuits on which a reading can be asked for: those of the observations' boards, else all of the site.

    One statement.
    """
    boards = {o.board_id for o in observations if o.board_id}
    rows = Circuit.objects.filter(site=site, retired_at=None, spare=False)
    rows = rows.filter(board__in=boards) if boards else rows
    return list(rows.select_related("board").order_by("board__sort", "board", "way", "phase"))
