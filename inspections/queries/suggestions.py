"""What is offered while somebody types where an observation is: the ways of a board, the places used before."""

from inspections.models import Observation
from jobsite.premises.models import Board, Circuit, Site

MOST_PLACES = 60
Pairs = list[tuple[str, str]]


def ways_of(board: Board | None) -> Pairs:
    """The ways of `board` in order, each with what it supplies; none without a board. One statement at most."""
    if board is None:
        return []
    rows = Circuit.objects.current().filter(board=board).order_by("way", "phase")
    return [(row.way_name, row.designation or row.label_found) for row in rows]


def places_at(site: Site) -> Pairs:
    """The places that observations of this site named before, each once. One statement."""
    rows = Observation.objects.filter(site=site).exclude(place="").order_by("place")
    return [(place, "") for place in rows.values_list("place", flat=True).distinct()[:MOST_PLACES]]
