"""What there is at a site and who answers for it: units with their parties, supplies, boards, second sources."""

from collections import defaultdict
from datetime import date
from typing import Any
from uuid import UUID

from django.db.models import Count, Q
from django.urls import reverse

from jobsite.premises.choices import Earthing
from jobsite.premises.models import PartyAtUnit, Site, Supply, Unit
from jobsite.premises.queries.boards import source_lines
from jobsite.premises.queries.labels import board_label
from jobsite.words import day, many, measure, money


def ground_page(site: Site, *, today: date) -> dict[str, Any]:
    """All that the page shows, as ready strings. Five statements whatever the size.

    `plain` and `one_supply`: the words unit and supply are not needed and not shown. `site` is best read with its
    customer.
    """
    units = list(site.units.current().order_by("sort"))
    supplies = list(site.supplies.current().order_by("sort"))
    parties = _parties(site, today)
    boards = site.boards.annotate(ways=Count("circuits", filter=Q(circuits__retired_at__isnull=True)))
    rows = list(boards.order_by("sort", "pk"))
    return {
        "plain": any(unit.whole_site for unit in units),
        "one_supply": len(supplies) == 1,
        "units": [_unit(unit, parties[unit.pk]) for unit in units],
        "supplies": [_supply(supply) for supply in supplies],
        "boards": [_board(board) for board in rows if not board.retired_at],
        "gone": [_board(board) for board in rows if board.retired_at],
        "sources": source_lines(site.second_sources.current().select_related("circuit", "board").order_by("sort")),
    }


def _parties(site: Site, today: date) -> dict[UUID, list[dict[str, str]]]:
    found: dict[UUID, list[dict[str, str]]] = defaultdict(list)
    standing = PartyAtUnit.objects.standing(today).filter(unit__site=site)
    for at in standing.select_related("party").order_by("role", "since", "pk"):
        limit = f", up to {money(at.limit_pounds)}" if at.limit_pounds is not None else ""
        ends = f", until {day(at.until)}" if at.until else ""
        line = {
            "role": f"{at.get_role_display()}{limit}",
            "name": at.party.name,
            "href": reverse("premises:party", args=[at.party_id]),
            "since": f"since {day(at.since)}{ends}",
            "reach": " · ".join(filter(None, (at.party.phone, at.party.email))),
            "end": reverse("premises:role_end", args=[at.pk]),
        }
        found[at.unit_id].append(line)
    return found


def _unit(unit: Unit, parties: list[dict[str, str]]) -> dict[str, Any]:
    kind = [unit.get_kind_display(), unit.get_tenure_display(), "common parts" if unit.common_parts else ""]
    return {
        "name": unit.name,
        "kind": ", ".join(filter(None, kind)),
        "parties": parties,
        "edit": reverse("premises:unit_edit", args=[unit.pk]),
        "role_new": reverse("premises:role_new", args=[unit.pk]),
    }


def _supply(supply: Supply) -> dict[str, str]:
    fuse = f"main fuse {measure(supply.main_fuse_a, 'A')}" if supply.main_fuse_a is not None else ""
    ze = f"Ze {measure(supply.ze_ohm, 'Ω')}" if supply.ze_ohm is not None else ""
    fault = f"fault current {measure(supply.fault_current_ka, 'kA')}" if supply.fault_current_ka is not None else ""
    earthing = "earthing not known" if supply.earthing == Earthing.UNKNOWN else supply.earthing
    own = f"customer's isolator: {supply.isolator}" if supply.isolator else ""
    parts = (", ".join(supply.phases), measure(supply.voltage, "V to earth"), fuse, earthing, ze, fault, own)
    return {
        "name": supply.name,
        "words": " · ".join(filter(None, parts)),
        "edit": reverse("premises:supply_edit", args=[supply.pk]),
    }


def _board(board: Any) -> dict[str, str]:
    return {
        "name": board_label(board),
        "place": board.place,
        "ways": many(board.ways, "circuit"),
        "href": reverse("premises:board", args=[board.pk]),
    }
