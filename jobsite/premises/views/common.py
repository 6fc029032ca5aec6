"""What the pages of premises share: rows by the door of visible_to, and where their pages are."""

from typing import Any
from uuid import UUID

from django.shortcuts import get_object_or_404
from django.urls import reverse

from jobsite.people.guard import Request
from jobsite.people.views.common import ask, initial
from jobsite.premises.models import Board, Circuit, Site

__all__ = ["ask", "board_at", "initial", "premises_of", "seen", "the_board", "the_circuit", "the_site"]


def seen(request: Request, model: Any, pk: UUID, *related: str) -> Any:
    """The row if this person may see it, else 404."""
    return get_object_or_404(model.objects.visible_to(request.user).select_related(*related), pk=pk)


def the_site(request: Request, pk: UUID) -> Site:
    """The site if this person may see it, else 404."""
    return seen(request, Site, pk, "customer")


def the_board(request: Request, pk: UUID) -> Board:
    """The board if this person may see it, else 404."""
    return seen(request, Board, pk, "site", "verified_by")


def the_circuit(request: Request, pk: UUID) -> Circuit:
    """The circuit if this person may see it, else 404."""
    return seen(request, Circuit, pk, "site", "board")


def premises_of(site: Any) -> str:
    """The address of the page with all that there is at a site."""
    return reverse("premises:premises", args=[site.pk])


def board_at(board: Any) -> str:
    """The address of a board's page."""
    return reverse("premises:board", args=[board.pk])
