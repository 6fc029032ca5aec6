"""What the pages of remedials share: rows by the door of visible_to, and the page that is one form."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.forms import BaseForm
from django.http import HttpResponse
from django.shortcuts import get_object_or_404

from jobsite.addresses import address
from jobsite.ledger.files import store_file
from jobsite.ledger.models import StoredFile
from jobsite.marks import code_mark
from jobsite.pages import Words, form_page
from jobsite.people.guard import Request
from remedials.works.models import Remedial
from remedials.works.queries.lists import observations_by_remedial

FORM = "works/form.html"


def the_remedial(request: Request, pk: UUID) -> Remedial:
    """The remedial if this person may see it, else 404."""
    return get_object_or_404(Remedial.objects.visible_to(request.user).select_related("site"), pk=pk)


def home_of(remedial: Remedial) -> str:
    """The address of the page of a remedial, where it is told whole."""
    return address("desk:remedial", remedial.pk)


def about(remedial: Remedial) -> dict[str, Any]:
    """What stands above a form on a remedial: its number and work, its site, its codes. One statement."""
    items = observations_by_remedial([remedial]).get(remedial.pk, [])
    return {
        "number": str(remedial.number),
        "work": remedial.work,
        "site": remedial.site.name,
        "stage": remedial.get_stage_display(),
        "marks": [code_mark(o.code, o.made_safe and not o.ended, needed=o.needs_code) for o in items],
        "items": items,
        "address": home_of(remedial),
    }


def ask(
    request: Request,
    form: BaseForm,
    title: str,
    *,
    remedial: Remedial,
    do: Callable[[], Any],
    said: Words,
    button: str,
    caution: str = "",
    **context: Any,
) -> HttpResponse:
    """A page that is one form on one remedial, and goes on to the page of the remedial."""
    shown = {"title": title, "about": about(remedial), "back": home_of(remedial), "button": button, "caution": caution}
    return form_page(request, FORM, form, shown | context, do=do, then=home_of(remedial), said=said)


def kept(form: BaseForm, name: str, request: Request) -> StoredFile | None:
    """The PDF uploaded in the field `name`, kept byte for byte; None where there is none."""
    file = form.cleaned_data.pop(name, None)
    return store_file(file.read(), media_type="application/pdf", now=request.now) if file else None
