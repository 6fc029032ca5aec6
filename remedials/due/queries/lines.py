"""Rows of the due list as lines of a message: the words that the page shows of them, and the link to the very step."""

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from django.conf import settings
from django.urls import reverse
from django.utils.html import strip_tags

from jobsite.words import joined, late
from remedials.due.models import DueRow
from remedials.due.queries.rows import NO_DATE, as_dicts
from remedials.due.queries.rows import _read as ready_to_show

Key = tuple[str, UUID]


@dataclass(frozen=True)
class Line:
    """One row in words. `who` says who has it: left out for that person themselves, unless it says until when."""

    key: Key
    owner: UUID | None
    what: str
    who: str
    in_hand: str
    link: str

    def to(self, person: UUID | None) -> str:
        """The line as `person` reads it, with its link below."""
        who = self.in_hand or ("" if person and person == self.owner else self.who)
        return f"- {joined(self.what, who)}\n  {self.link}"


def rows_of(keys: Collection[Key]) -> list[DueRow]:
    """The rows of `keys` (kind and key) that are still open, ready to be shown. One statement."""
    wanted = set(keys)
    found = ready_to_show(DueRow.objects.filter(ref__in={ref for _, ref in wanted}))
    return [row for row in found if (row.kind, row.ref) in wanted]


def line_of(row: DueRow, *, today: date) -> Line:
    """`row` in the words of the page."""
    shown = as_dicts([row], today=today)[0]
    code = f"{shown['letters']} " if shown["letters"] else ""
    where = joined(shown["site"], shown["place"])
    what = " ".join(f"{code}{shown['next_step']}: {shown['subject']}{f' ({where})' if where else ''}".split())
    return Line(
        key=(row.kind, row.ref),
        owner=row.owner_id,
        what=joined(what, *_by(row, shown, today)),
        who=_who(row, shown),
        in_hand=shown.get("in_hand", ""),
        link=link_to(row),
    )


def _by(row: DueRow, shown: dict[str, Any], today: date) -> list[str]:
    """How late it is or by when, and what the page marks it with."""
    by = "no date" if row.due == NO_DATE else late(row.due, today) or f"by {shown['by']}"
    mark = strip_tags(shown["mark"])
    return [*([mark] if mark != by else []), by, strip_tags(shown["overdue"])]


def _who(row: DueRow, shown: dict[str, Any]) -> str:
    if shown["waits"]:
        return f"waits on {shown['who']}"
    return f"with {shown['who']}" if row.owner_id else "nobody has it"


def link_to(row: DueRow) -> str:
    """The whole address that opens the row's very step, or says what became of it."""
    return f"{settings.SITE_ADDRESS}{reverse('due:step', args=[row.kind, row.ref])}"


def link_to_have_it(row: DueRow) -> str:
    """The whole address at which somebody says that they have it."""
    return f"{settings.SITE_ADDRESS}{reverse('due:have_it', args=[row.kind, row.ref])}"
