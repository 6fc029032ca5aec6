"""What can be chosen in forms: pairs of key and label, grouped by board for circuits."""

from jobsite.premises.models import Board, Circuit, Party, Site
from jobsite.premises.queries.labels import board_label, circuit_label

Pairs = list[tuple[str, str]]
Groups = list[tuple[str, Pairs]]


def boards_for_choice(site: Site) -> Pairs:
    """The boards of a site that are still there, in order. One statement."""
    return [(str(board.pk), board_label(board)) for board in site.boards.current().order_by("sort")]


def units_for_choice(site: Site) -> Pairs:
    """The units of a site that are still there, in order. One statement."""
    return [(str(unit.pk), unit.name) for unit in site.units.current().order_by("sort")]


def circuits_for_choice(site: Site, *, without: Board | None = None) -> Groups:
    """The circuits of a site by board, but those of `without`. One statement."""
    circuits = Circuit.objects.current().filter(site=site, board__retired_at__isnull=True)
    if without is not None:
        circuits = circuits.exclude(board=without)
    groups: dict[str, Pairs] = {}
    for circuit in circuits.select_related("board").order_by("board__sort", "way", "phase"):
        groups.setdefault(board_label(circuit.board), []).append((str(circuit.pk), circuit_label(circuit)))
    return list(groups.items())


def feeders_for_choice(site: Site, *, without: Board | None = None) -> Groups:
    """What can feed a board: "supply:KEY" for each supply, then "circuit:KEY" by board. Two statements."""
    supplies = [(f"supply:{supply.pk}", supply.name) for supply in site.supplies.current().order_by("sort")]
    circuits = circuits_for_choice(site, without=without)
    return [
        ("From the network", supplies),
        *((board, [(f"circuit:{key}", label) for key, label in pairs]) for board, pairs in circuits),
    ]


def parties_for_choice() -> Pairs:
    """All current parties by name. One statement."""
    return [(str(pk), name) for pk, name in Party.objects.current().order_by("sort", "pk").values_list("pk", "name")]
