"""Pages of sites, their units with who answers for them, and their supplies."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobsite import clock
from jobsite.pages import act, bound, page, wants_back
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises import forms, operations, policy, queries
from jobsite.premises.models import PartyAtUnit, Site, Supply, Unit
from jobsite.premises.views.common import ask, initial, premises_of, seen, the_site

ARCHIVED = "Archived: off the lists, not lost. Private links to how it stands open nothing until it is brought back."
BACK = "On the lists again. Private links to how it stands open again, but for those that were withdrawn."
LINKS_END = (
    "Private links by which they read how this unit stands end with that day too, unless they are something else here. "
    "A later day does not bring them back: give a new link."
)


@needs(Right.SEE_WORK)
def premises(request: Request, pk: UUID) -> HttpResponse:
    """What there is at a site and who answers for it."""
    site = the_site(request, pk)
    context = {
        "site": site,
        "may_site": policy.may_keep_site(request.user, site),
        "may_take_in": request.user.may(Right.TAKE_IN),
        **queries.ground_page(site, today=clock.local_day(request.now)),
    }
    return page(request, "premises/premises.html", context)


@needs(Right.SEE_WORK)
def site_page(request: Request, pk: UUID) -> HttpResponse:
    """On to the page that shows the site with its work, which is another floor's."""
    site = the_site(request, pk)
    return redirect("desk:site", site.merged_into_id or site.pk)


@needs(Right.TAKE_IN)
def take_in(request: Request, pk: UUID) -> HttpResponse:
    """On to where a list of the site's boards is taken in from a file, which is another floor's."""
    return redirect(f"{reverse('intake:new')}?site={the_site(request, pk).pk}")


@needs(Right.KEEP_CUSTOMERS)
def site_new(request: Request) -> HttpResponse:
    """Open a site, for a customer on the list or a new one."""
    form = bound(request, forms.NewSiteForm)
    return ask(
        request,
        form,
        "New site",
        do=lambda: _open(request, form),
        then=premises_of,
        said=lambda site: f"{site.name} opened. Next, its boards: take in a list of them, or add each.",
        back=reverse("premises:parties"),
        button="Open site",
    )


def _open(request: Request, form: forms.NewSiteForm) -> Site:
    new = form.new_customer()
    key = form.cleaned_data.pop("customer_id")
    who: dict[str, Any] = {"by": request.user, "now": request.now}
    if form.cleaned_data["customer"]:
        return operations.open_site(**form.cleaned_data, **who)
    del form.cleaned_data["customer"]
    return operations.open_site_for_new_customer(customer_id=key, customer=new, **form.cleaned_data, **who)


@needs(Right.KEEP_CUSTOMERS)
def site_edit(request: Request, pk: UUID) -> HttpResponse:
    """Change a site; a plain one with its kind, tenure and supply as its own."""
    site = the_site(request, pk)
    plain = site.units.filter(whole_site=True).exists() and site.supplies.current().count() == 1
    form_class: Any = forms.EditPlainSiteForm if plain else forms.EditSiteForm
    values = forms.plain_values(site) if plain else initial(form_class, site)
    form = bound(request, form_class, initial=values)
    return ask(
        request,
        form,
        f"Change {site.name}",
        do=lambda: _edit(request, site, form, plain),
        then=premises_of(site),
        said="Saved.",
        back=premises_of(site),
    )


def _edit(request: Request, site: Site, form: Any, plain: bool) -> Site:
    fields = dict(form.cleaned_data)
    who: dict[str, Any] = {"by": request.user, "now": request.now}
    if not plain:
        return operations.edit_site(site, **fields, **who)
    of_unit = {name: fields.pop(name) for name in form.OF_UNIT}
    of_supply = {name: fields.pop(name) for name in form.OF_SUPPLY}
    return operations.edit_plain_site(site, of_unit=of_unit, of_supply=of_supply, **fields, **who)


@require_POST
@needs(Right.KEEP_CUSTOMERS)
def site_archive(request: Request, pk: UUID) -> HttpResponse:
    """Take a site off the lists, or put it back."""
    site = the_site(request, pk)
    back = wants_back(request)
    do = operations.bring_back_site if back else operations.archive_site
    said = BACK if back else ARCHIVED
    return act(request, lambda: do(site, by=request.user, now=request.now), then=premises_of(site), said=said)


@needs(Right.KEEP_CUSTOMERS)
def unit_new(request: Request, pk: UUID) -> HttpResponse:
    """Add a unit to a site."""
    site = the_site(request, pk)
    form = bound(request, forms.NewUnitForm)
    return ask(
        request,
        form,
        "New unit",
        do=lambda: operations.add_unit(site, by=request.user, now=request.now, **form.cleaned_data),
        then=premises_of(site),
        said=lambda unit: f"{unit.name} added.",
        back=premises_of(site),
        button="Add unit",
        about=f"At {site.name}. What is inspected, owned or let by itself: a flat, the common parts, a workshop.",
    )


@needs(Right.KEEP_CUSTOMERS)
def unit_edit(request: Request, pk: UUID) -> HttpResponse:
    """Change a unit."""
    unit = seen(request, Unit, pk, "site")
    form = bound(request, forms.EditUnitForm, initial=initial(forms.EditUnitForm, unit))
    return ask(
        request,
        form,
        f"Change {unit.name}",
        do=lambda: operations.edit_unit(unit, by=request.user, now=request.now, **form.cleaned_data),
        then=premises_of(unit.site),
        said="Saved.",
        back=premises_of(unit.site),
        about=f"At {unit.site.name}",
        also={"Take it off the list": reverse("premises:unit_retire", args=[unit.pk])},
    )


@require_POST
@needs(Right.KEEP_CUSTOMERS)
def unit_retire(request: Request, pk: UUID) -> HttpResponse:
    """Take a unit off the site's list, or put it there again."""
    unit, back = seen(request, Unit, pk, "site"), wants_back(request)
    do = operations.bring_back_unit if back else operations.retire_unit
    return act(
        request,
        lambda: do(unit, by=request.user, now=request.now),
        then=premises_of(unit.site),
        said=f"{unit.name} is {'on the list again' if back else 'off the list, not lost'}.",
    )


@needs(Right.KEEP_CUSTOMERS)
def role_new(request: Request, pk: UUID) -> HttpResponse:
    """Enter who answers for a unit."""
    unit = seen(request, Unit, pk, "site")
    form = bound(request, forms.RoleForm, initial={"since": clock.local_day(request.now)})
    where = unit.site.name if unit.whole_site else f"{unit.site.name}, {unit.name}"
    return ask(
        request,
        form,
        "Who answers for it",
        do=lambda: operations.give_role(unit, by=request.user, now=request.now, **form.cleaned_data),
        then=premises_of(unit.site),
        said=lambda role: f"{role.party} entered: {role.get_role_display()}.",
        back=premises_of(unit.site),
        about=f"At {where}. Somebody who is not on the list is entered under Customers first.",
    )


@needs(Right.KEEP_CUSTOMERS)
def role_end(request: Request, pk: UUID) -> HttpResponse:
    """Say when a party's part ended."""
    rows = PartyAtUnit.objects.filter(unit__in=Unit.objects.visible_to(request.user))
    role = get_object_or_404(rows.select_related("party", "unit__site"), pk=pk)
    form = bound(request, forms.EndRoleForm, initial={"until": clock.local_day(request.now)})
    return ask(
        request,
        form,
        f"{role.party}: last day",
        do=lambda: operations.end_role(role, by=request.user, now=request.now, **form.cleaned_data),
        then=premises_of(role.unit.site),
        said="Saved.",
        back=premises_of(role.unit.site),
        about=f"{role.get_role_display()} at {role.unit.site.name}",
        caution=LINKS_END,
    )


@needs(Right.KEEP_PREMISES)
def supply_new(request: Request, pk: UUID) -> HttpResponse:
    """Add a supply to a site."""
    site = the_site(request, pk)
    form = bound(request, forms.NewSupplyForm, initial={"voltage": 230, "earthing": "unknown", "phases": ["L1"]})
    return ask(
        request,
        form,
        "New supply",
        do=lambda: operations.add_supply(site, by=request.user, now=request.now, **form.cleaned_data),
        then=premises_of(site),
        said=lambda supply: f"{supply.name} added.",
        back=premises_of(site),
        button="Add supply",
        about=f"At {site.name}. Where the network comes in.",
    )


@needs(Right.KEEP_PREMISES)
def supply_edit(request: Request, pk: UUID) -> HttpResponse:
    """Change a supply."""
    supply = seen(request, Supply, pk, "site")
    form = bound(request, forms.EditSupplyForm, initial=initial(forms.EditSupplyForm, supply))
    return ask(
        request,
        form,
        f"Change {supply.name}",
        do=lambda: operations.edit_supply(supply, by=request.user, now=request.now, **form.cleaned_data),
        then=premises_of(supply.site),
        said="Saved.",
        back=premises_of(supply.site),
        about=f"At {supply.site.name}",
        also=_other_supplies(supply),
    )


def _other_supplies(supply: Supply) -> dict[str, str]:
    """The button to take a supply out, where it is not the only one."""
    others = supply.site.supplies.current().exclude(pk=supply.pk).exists()
    return {"It was taken out": reverse("premises:supply_retire", args=[supply.pk])} if others else {}


@require_POST
@needs(Right.KEEP_PREMISES)
def supply_retire(request: Request, pk: UUID) -> HttpResponse:
    """Record that a supply was taken out, or that it is there after all."""
    supply, back = seen(request, Supply, pk, "site"), wants_back(request)
    do = operations.bring_back_supply if back else operations.retire_supply
    return act(
        request,
        lambda: do(supply, by=request.user, now=request.now),
        then=premises_of(supply.site),
        said=f"{supply.name} is {'there again' if back else 'taken out, not lost'}.",
    )
