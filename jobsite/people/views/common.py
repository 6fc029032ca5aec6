"""A page that is one form, for this floor and those above it."""

from collections.abc import Callable
from typing import Any

from django import forms
from django.db import models
from django.http import HttpResponse

from jobsite.pages import Words, form_page
from jobsite.people.guard import Request

FORM = "people/form.html"


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
    also: dict[str, str] | None = None,
    note: tuple[str, str] | None = None,
    held: dict[str, str] | None = None,
) -> HttpResponse:
    """A page that is one form. `about`: where this is, above the form; `caution` stands in its box before it.

    `also`: buttons below the form that do another thing with the same row, label to address; `note`: address and words of
    a page for something else that may be meant; `held`: how a phone keeps the form (`hold` and `hold_…` of `_form.html`).
    """
    context: dict[str, Any] = {"title": title, "back": back, "button": button, "about": about}
    context |= {"caution": caution, "also": also, "note": note} | (held or {})
    return form_page(request, FORM, form, context, do=do, then=then, said=said)


def initial(form_class: type[forms.Form], row: models.Model, **more: Any) -> dict[str, Any]:
    """The values of `row` for the fields of `form_class`."""
    return {name: getattr(row, name) for name in form_class.base_fields if hasattr(row, name)} | more
