"""What was taken out at a site: what, when, by whom and why, and the button that brings it back."""

from typing import Any
from uuid import UUID

from django.urls import reverse

from jobsite.ledger.models import Entry
from jobsite.ledger.queries import words_of
from jobsite.people.models import User
from jobsite.premises.models import Site
from jobsite.premises.queries.labels import board_label, circuit_label
from jobsite.premises.verbs import Verb
from jobsite.words import when

TAKING_OUT = (
    Verb.BOARD_RETIRED, Verb.BOARD_REPLACED, Verb.CIRCUIT_RETIRED, Verb.SUPPLY_RETIRED, Verb.SOURCE_RETIRED, Verb.UNIT_RETIRED,
)  # fmt: skip


def taken_out(site: Site) -> list[dict[str, Any]]:
    """Everything of `site` that was taken out, the latest first. Eight statements whatever the size.

    A circuit that went with its board is not named by itself: it comes back with the board.
    """
    gone = {"retired_at__isnull": False}
    boards = site.boards.filter(**gone)
    circuits = site.circuits.filter(board__retired_at__isnull=True, **gone).select_related("board")
    rows = [
        *(_row(r, "board", board_label(r), "premises:board_retire", "premises:board") for r in boards),
        *(_row(r, "circuit", f"{board_label(r.board)}, way {circuit_label(r)}", "premises:circuit_retire") for r in circuits),
        *(_row(r, "supply", r.name, "premises:supply_retire") for r in site.supplies.filter(**gone)),
        *(_row(r, "second source", r.name, "premises:source_retire") for r in site.second_sources.filter(**gone)),
        *(_row(r, "unit", r.name, "premises:unit_retire") for r in site.units.filter(**gone)),
    ]  # fmt: skip
    told = _told(site, [row["key"] for row in rows])
    nobody = {"by": "", "why": "", "new": ""}
    return sorted((row | told.get(row["key"], nobody) for row in rows), key=lambda row: row["at"], reverse=True)


def _row(row: Any, kind: str, name: str, back: str, page: str = "") -> dict[str, Any]:
    return {
        "key": row.pk,
        "kind": kind,
        "name": name,
        "at": row.retired_at,
        "when": when(row.retired_at),
        "back": reverse(back, args=[row.pk]),
        "href": reverse(page, args=[row.pk]) if page else "",
    }


def _told(site: Site, keys: list[UUID]) -> dict[UUID, dict[str, str]]:
    """By key: who took it out and why, as the ledger tells it last."""
    entries = list(Entry.objects.filter(chain=site.pk, subject__in=keys, verb__in=TAKING_OUT).order_by("number"))
    words = words_of(entry.pk for entry in entries)
    names = dict(User.objects.filter(pk__in={entry.actor for entry in entries}).values_list("pk", "name"))
    return {
        entry.subject: {
            "by": names.get(entry.actor, ""),
            "why": words.get(entry.pk, {}).get("reason", ""),
            "new": reverse("premises:board", args=[new]) if (new := entry.facts.get("replaced_by")) else "",
        }
        for entry in entries
    }
