"""What the pages here share: rows by the door of visible_to, and the plain page that is one form."""

from collections.abc import Callable
from datetime import date
from typing import Any
from uuid import UUID

from django import forms
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404

from inspections.models import Inspection, MadeSafe, Observation
from inspections.queries import observations
from jobsite import clock
from jobsite.addresses import address
from jobsite.pages import Words, form_page
from jobsite.people.guard import Request
from jobsite.premises.models import Site

LAW = "Dates that the law sets are shown with the rule they come from: check the current law."
CODING = "Coding is the inspector's judgement. The program warns and asks for a reason; it never decides."
TEMPORARY = (
    "Made safe is temporary: the defect stays open until it is remedied. Safe isolation by the firm's procedure: lock off, "
    "prove dead with an approved tester that was proved before and after. Competent people only."
)
RECORD = (
    "The limit is worked out from the record, and the record can be wrong: look at the device, the earthing and the "
    "conductors yourself. The current edition of BS 7671 and the maker's data go before it. Competent people only."
)


def today(request: Request) -> date:
    """The firm's date at this request."""
    return clock.local_day(request.now)


def the_site(request: Request, pk: UUID) -> Site:
    """The site if this person may see it, else 404."""
    return get_object_or_404(Site.objects.visible_to(request.user), pk=pk)


def the_inspection(request: Request, pk: UUID) -> Inspection:
    """The inspection if this person may see it, else 404."""
    return get_object_or_404(Inspection.objects.visible_to(request.user).select_related("site"), pk=pk)


def the_observation(request: Request, pk: UUID) -> Observation:
    """The observation if this person may see it, else 404."""
    rows = Observation.objects.visible_to(request.user)
    return get_object_or_404(rows.select_related("site", "unit", "board", "circuit", "inspection__site"), pk=pk)


def the_made_safe(observation: Observation) -> MadeSafe:
    """What stands made safe on the observation, else 404."""
    made = observations.standing_made_safe(observation)
    if made is None:
        raise Http404
    return made


def initial(form_class: type[forms.Form], row: Any, **more: Any) -> dict[str, Any]:
    """The values of `row` for the fields of `form_class`."""
    return {name: getattr(row, name) for name in form_class.base_fields if hasattr(row, name)} | more


def ask(
    request: Request,
    form: forms.BaseForm,
    title: str,
    *,
    do: Callable[[], Any],
    then: str | Callable[[Any], str],
    back: str,
    said: Words = "",
    button: str = "Save",
    template: str = "inspections/form.html",
    **context: Any,
) -> HttpResponse:
    """A page that is one form. `about` (of an observation) and `caution` stand above it, `why_not` instead of it."""
    context |= {"title": title, "back": back, "button": button}
    return form_page(request, template, form, context, do=do, then=then, said=said)


def ask_about(
    request: Request,
    observation: Observation,
    form: forms.BaseForm,
    title: str,
    *,
    do: Callable[[], Any],
    said: Words,
    **context: Any,
) -> HttpResponse:
    """The page of a form about one observation; afterwards back to where the observation belongs."""
    back = observations.back_of(observation)
    context = {"about": observations.observation_facts(observation, today(request))} | context
    return ask(request, form, title, do=do, then=back, back=back, said=said, **context)


def at(name: str, row: Any) -> str:
    """The address of the page `name` for `row`."""
    return address(f"inspections:{name}", row.pk)
