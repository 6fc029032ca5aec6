"""What the pages of premises share: rows by the door of visible_to, and the plain page of a form."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django import forms
from django.db import models
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from jobsite.pages import Words, form_page
from jobsite.people.guard import Request
from jobsite.premises.models import Board, Circuit, Site

FORM = "premises/form.html"


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


def initial(form_class: type[forms.Form], row: models.Model, **more: Any) -> dict[str, Any]:
    """The values of `row` for the fields of `form_class`."""
    return {name: getattr(row, name) for name in form_class.base_fields if hasattr(row, name)} | more


def ask(
    request: Request,
    form: forms.BaseForm,
    title: str,
    *,
    do: Callable[[], Any],
    then: str | Callable[[Any], str],
    said: Words = "",
    back: str,
    button: str = "Save",
    about: str = "",
    caution: str = "",
) -> HttpResponse:
    """A page that is one form. `about`: where this is, above the form; `caution` stands in its box before it."""
    context = {"title": title, "back": back, "button": button, "about": about, "caution": caution}
    return form_page(request, FORM, form, context, do=do, then=then, said=said)


def premises_of(site: Any) -> str:
    """The address of the page with all that there is at a site."""
    return reverse("premises:premises", args=[site.pk])


def board_at(board: Any) -> str:
    """The address of a board's page."""
    return reverse("premises:board", args=[board.pk])
