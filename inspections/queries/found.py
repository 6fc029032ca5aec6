"""What the page "found something else" offers: the boards and circuits of a site, and where one stands."""

from dataclasses import dataclass
from typing import Any
from uuid import UUID

from django.conf import settings
from django.utils.module_loading import import_string

from jobsite.people.models import User
from jobsite.premises.models import Board, Circuit, Site, Unit

Choices = list[tuple[str, Any]]


@dataclass(frozen=True)
class Places:
    """The units, boards and circuits of a site that are there now."""

    units: list[Unit]
    boards: list[Board]
    circuits: list[Circuit]

    def board_choices(self) -> Choices:
        """Each board with its place."""
        return [(str(board.pk), _board(board)) for board in self.boards]

    def circuit_choices(self) -> Choices:
        """The circuits in groups by board, named as in `board_choices`, in the order of their ways."""
        by_board: dict[UUID, list[tuple[str, str]]] = {board.pk: [] for board in self.boards}
        for circuit in self.circuits:
            by_board[circuit.board_id].append((str(circuit.pk), _named(circuit)))
        return [(_board(board), by_board[board.pk]) for board in self.boards if by_board[board.pk]]


def places_of(site: Site) -> Places:
    """The units, boards and circuits of `site`. Three statements."""
    units = Unit.objects.filter(site=site, retired_at=None).order_by("sort", "pk")
    boards = Board.objects.current().filter(site=site).order_by("sort", "pk")
    circuits = Circuit.objects.current().filter(board__site=site, board__retired_at=None).order_by("way", "phase")
    return Places(list(units), list(boards), list(circuits))


def while_at(site: Site, user: User, *, visit: UUID | None, remedial: UUID | None) -> dict[str, Any]:
    """What the visit and the remedial at hand preset (the setting FOUND_WHILE_AT)."""
    found: dict[str, Any] = import_string(settings.FOUND_WHILE_AT)(site, user, visit=visit, remedial=remedial)
    return found


def _board(board: Board) -> str:
    return f"{board}, {board.place}" if board.place else str(board)


def _named(circuit: Circuit) -> str:
    said = circuit.designation or (f"“{circuit.label_found}”" if circuit.label_found else "")
    return f"{circuit.way_name} {said}".strip()
