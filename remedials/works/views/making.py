"""Making a remedial from observations, and changing it."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from inspections.choices import Quantity
from jobsite.addresses import address
from jobsite.ids import keys_in
from jobsite.pages import bound, form_page
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises.models import Site
from remedials.works import operations
from remedials.works.forms import EditForm, MakeForm
from remedials.works.operations.making import EDITABLE, Required
from remedials.works.queries.choices import circuits_to_read, open_observations
from remedials.works.queries.closing import observations_of, required_readings
from remedials.works.views.common import ask, home_of, the_remedial


@needs(Right.PLAN_WORK)
def make(request: Request, pk: UUID) -> HttpResponse:
    """A new remedial for the observations named in the address, or for any open ones that no remedial carries."""
    site = get_object_or_404(Site.objects.visible_to(request.user), pk=pk)
    wanted = keys_in(request.GET.getlist("observation"))
    observations = open_observations(site, wanted)
    circuits = circuits_to_read(site, observations)
    form = bound(request, MakeForm, site=site, observations=observations, circuits=circuits, initial={})
    if not wanted and not form.is_bound:
        form.initial["observations"] = []
    context = {
        "site": site,
        "back": address("desk:site", site.pk),
        "some": bool(observations),
        "all": reverse("works:make", args=[site.pk]) if wanted else "",
    }
    return form_page(
        request,
        "works/make.html",
        form,
        context,
        do=lambda: operations.make_remedial(
            readings=form.readings(), by=request.user, now=request.now, **form.cleaned_data
        ),
        then=home_of,
        said=lambda remedial: f"Remedial {remedial.number} made.",
    )


@needs(Right.PLAN_WORK)
def edit(request: Request, pk: UUID) -> HttpResponse:
    """Change what a remedial asks for."""
    remedial = the_remedial(request, pk)
    circuits = circuits_to_read(remedial.site, observations_of(remedial))
    asked = required_readings(remedial)
    listed = {circuit.pk for circuit in circuits}
    circuits += list({need.circuit_id: need.circuit for need in asked if need.circuit_id not in listed}.values())
    initial: dict[str, Any] = {name: getattr(remedial, name) for name in (*EDITABLE, "version")}
    form = bound(request, EditForm, remedial=remedial, circuits=circuits, initial=initial)

    def do() -> Any:
        before = [Required(n.circuit, n.limit_entered, n.limit_source, Quantity(n.quantity)) for n in asked]
        readings = form.readings(before)
        return operations.edit_remedial(
            remedial, readings=readings, by=request.user, now=request.now, **form.cleaned_data
        )

    title = f"Change remedial {remedial.number}"
    return ask(request, form, title, remedial=remedial, do=do, said="Remedial changed.", button="Save the change")
