"""Pages of customers and other parties."""

from typing import Any
from uuid import UUID

from django.http import HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_POST

from jobsite.addresses import address
from jobsite.pages import act, as_file, bound, file_wanted, files, next_address, page, pager, wants_back
from jobsite.people.guard import Request, needs
from jobsite.people.rights import Right
from jobsite.premises import operations, queries
from jobsite.premises.forms import EditPartyForm, NewPartyForm
from jobsite.premises.models import Party
from jobsite.premises.queries.links import links_of_party
from jobsite.premises.views.common import ask, initial, seen


def _at(party: Party) -> str:
    return reverse("premises:party", args=[party.pk])


@needs(Right.KEEP_CUSTOMERS)
def parties(request: Request) -> HttpResponse:
    """Customers and other parties by name; `?q=` narrows the list, `?archived=yes` shows those archived."""
    chosen: dict[str, Any] = {"words": request.GET.get("q", "")[:200]}
    chosen["archived"] = request.GET.get("archived") == "yes"
    if kind := file_wanted(request):
        return as_file(kind, "customers", queries.HEADS, queries.party_cells(request.user, **chosen))
    found = queries.parties(request.user, **chosen, after=request.GET.get("after", ""))
    context = {"rows": found.rows, "pager": pager(request, found), "files": files(request), **chosen}
    context["links"] = address("premises:every_link") if request.user.may(Right.SHARE_STATUS) else ""
    return page(request, "premises/parties.html", context, fragment="premises/_parties.html")


@needs(Right.KEEP_CUSTOMERS)
def party(request: Request, pk: UUID) -> HttpResponse:
    """One party: how to reach it, its sites, its parts at units."""
    row = seen(request, Party, pk)
    return page(
        request,
        "premises/party.html",
        {
            "party": row,
            "prices": request.user.may(Right.PRICE),
            "privacy": request.user.may(Right.KEEP_PRIVACY),
            **queries.party_page(row),
            **_links(request, row),
        },
    )


def _links(request: Request, row: Party) -> dict[str, Any]:
    """The private links of a customer, for who may share them."""
    if not request.user.may(Right.SHARE_STATUS):
        return {}
    every = address("premises:every_link", customer=row.pk)
    return {"links": links_of_party(row, now=request.now), "every_link": every, "every_link_ever": f"{every}&which=all"}


@needs(Right.KEEP_CUSTOMERS)
def party_new(request: Request) -> HttpResponse:
    """Enter a customer or another party."""
    form = bound(request, NewPartyForm)
    return ask(
        request,
        form,
        "New customer or party",
        do=lambda: operations.add_party(by=request.user, now=request.now, **form.cleaned_data),
        then=lambda row: next_address(request, _at(row)),
        said=lambda row: f"{row.name} entered.",
        back=reverse("premises:parties"),
    )


@needs(Right.KEEP_CUSTOMERS)
def party_edit(request: Request, pk: UUID) -> HttpResponse:
    """Change a party."""
    row = seen(request, Party, pk)
    form = bound(request, EditPartyForm, initial=initial(EditPartyForm, row))
    return ask(
        request,
        form,
        f"Change {row.name}",
        do=lambda: operations.edit_party(row, by=request.user, now=request.now, **form.cleaned_data),
        then=_at(row),
        said="Saved.",
        back=_at(row),
    )


@require_POST
@needs(Right.KEEP_CUSTOMERS)
def party_archive(request: Request, pk: UUID) -> HttpResponse:
    """Take a party off the lists, or put it back."""
    row = seen(request, Party, pk)
    back = wants_back(request)
    do = operations.bring_back_party if back else operations.archive_party
    said = "On the lists again." if back else "Archived: off the lists, not lost."
    return act(request, lambda: do(row, by=request.user, now=request.now), then=_at(row), said=said)
