"""The parts that are still to come: what waits for them, from whom, until when."""

from collections.abc import Iterator
from datetime import date
from typing import Any

from django.db.models import QuerySet

from jobsite.addresses import address
from jobsite.paging import Slice, keyset
from jobsite.people.models import User
from jobsite.words import day
from remedials.works.models import Remedial
from remedials.works.queries.items import to_bring
from remedials.works.states import TO_DO, WORDS, Stage

ORDER = ("parts_ready_on", "site__name", "number")
HEADS = ("Parts ready on", "Site", "Remedial", "Work", "Stage", "Part", "Quantity", "Supplier and reference")


def to_come(user: User, *, today: date) -> "QuerySet[Remedial, Any]":
    """The remedials that `user` sees whose parts come after `today` and whose work is still to be done."""
    rows = Remedial.objects.visible_to(user).filter(parts_ready_on__gt=today, stage__in=list(TO_DO))
    return rows.select_related("site").prefetch_related("items")


def page_of(rows: "QuerySet[Remedial, Any]", *, after: str = "") -> Slice:
    """One page of `rows`, the first day first. Two statements."""
    found = keyset(rows, ORDER, after=after)
    return Slice([_row(remedial) for remedial in found.rows], found.next)


def _row(remedial: Remedial) -> dict[str, Any]:
    return {
        "on": ready_words(remedial),
        "site": remedial.site.name,
        "number": str(remedial.number),
        "work": remedial.work,
        "address": address("desk:remedial", remedial.pk),
        "stage": WORDS[Stage(remedial.stage)],
        "parts": to_bring(remedial.items.all()),
    }


def cells(rows: "QuerySet[Remedial, Any]") -> Iterator[tuple[Any, ...]]:
    """A line for each part of `rows` for a file, by day, site, remedial, supplier. Two statements."""
    for r in rows.order_by(*ORDER):
        head = (r.parts_ready_on, r.site.name, r.number, r.work, WORDS[Stage(r.stage)])
        parts = sorted(to_bring(r.items.all()), key=lambda part: (part["from"], part["what"]))
        for part in parts or [{"what": "", "quantity": "", "from": ""}]:
            yield (*head, part["what"], part["quantity"], part["from"])


def ready_words(remedial: Remedial) -> str:
    """The day on which its parts are there, as it is read; "" where none is waited for."""
    return day(remedial.parts_ready_on) if remedial.parts_ready_on else ""
