"""Customers and other parties: the list and one party's page."""

from typing import Any

from django.conf import settings
from django.urls import reverse
from django.utils.module_loading import import_string

from jobsite.messages.queries import warning
from jobsite.paging import Slice, keyset
from jobsite.people.models import User
from jobsite.premises.models import Party
from jobsite.sorting import sort_key
from jobsite.words import day, money

HEADS = ("Name", "Telephone", "E-mail", "Address")
LIST_ORDER = ("sort", "id")


def _found(user: User, words: str, archived: bool) -> Any:
    rows = Party.objects.visible_to(user).filter(archived_at__isnull=not archived)
    return rows.filter(sort__contains=sort_key(words)) if words.strip() else rows


def parties(user: User, *, words: str = "", archived: bool = False, after: str = "") -> Slice:
    """A page of the current (or the archived) parties by name whose name holds `words`. One statement."""
    found = keyset(_found(user, words, archived), LIST_ORDER, after=after)
    return Slice([_row(party) for party in found.rows], found.next)


def party_cells(user: User, *, words: str = "", archived: bool = False) -> list[tuple[str, ...]]:
    """All of that list, for a file. One statement."""
    rows = _found(user, words, archived).order_by(*LIST_ORDER)
    return [(party.name, party.phone, party.email, party.address) for party in rows]


def _row(party: Party) -> dict[str, str]:
    return {
        "name": party.name,
        "href": reverse("premises:party", args=[party.pk]),
        "phone": party.phone,
        "email": party.email,
        "address": party.address,
    }


def party_page(party: Party) -> dict[str, Any]:
    """A party's particulars, its sites, those it handed over, and its parts at units. Four statements, and those
    of what the floors above say of it (the setting PARTY_NOTES).
    """
    facts = [
        ("Kind", "organisation" if party.organisation else "person"),
        ("Telephone", party.phone),
        ("E-mail", party.email),
        ("Address", party.address),
    ]
    roles = party.roles.select_related("unit__site").order_by("unit__site__sort", "since", "pk")
    return {
        "facts": [(name, value) for name, value in facts if value],
        "came_back": warning(party.email),
        "notes": [import_string(name)(party) for name in settings.PARTY_NOTES],
        "sites": [
            {"name": site.name, "address": site.address, "archived": bool(site.archived_at), "href": _site(site.pk)}
            for site in party.sites.order_by("sort", "pk")
        ],
        "former": [
            {"name": gone.site.name, "until": f"until {day(gone.until)}: {gone.reason}", "href": _site(gone.site_id)}
            for gone in party.former_sites.select_related("site").order_by("-until", "pk")
        ],
        "roles": [_role(role) for role in roles],
    }


def _site(pk: Any) -> str:
    return reverse("premises:premises", args=[pk])


def _role(role: Any) -> dict[str, str]:
    unit = role.unit
    where = unit.site.name if unit.whole_site else f"{unit.site.name}, {unit.name}"
    limit = f", up to {money(role.limit_pounds)}" if role.limit_pounds is not None else ""
    until = f" until {day(role.until)}" if role.until else ""
    return {
        "role": f"{role.get_role_display()}{limit}",
        "where": where,
        "href": _site(unit.site_id),
        "since": f"from {day(role.since)}{until}",
    }
