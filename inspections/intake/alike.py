"""Rows of a report on its way in that may be observations which are open at the site already."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date
from typing import Any
from uuid import UUID

from inspections.choices import IntakeKind
from inspections.intake.queries import header_day
from inspections.models import Intake, Observation
from inspections.queries.alike import Asked, earlier_like, proposal
from jobsite import words
from jobsite.premises.models import Board, Circuit

NEW = "new"
Row = dict[str, Any]


def with_earlier(intake: Intake, rows: list[Row], *, today: date) -> list[Row]:
    """Accepted rows with the earlier ones that each may be, and what was said of that: `same`, `said`. Four statements.

    None at all for boards and circuits, or where no row stands there.
    """
    inspected_on = header_day(intake, "inspected_on")
    if intake.kind != IntakeKind.REPORT or not rows or inspected_on is None:
        return rows
    asked = _asked(intake, rows)
    found = earlier_like(asked, site=intake.site_id, on=inspected_on)
    keys = {one.id for many in found.values() for one in many} | set(chosen(intake).values())
    earlier = {row.pk: row for row in said_to_be(intake, keys)}
    return [_with(intake, row, [one.id for one in found.get(row["row"], [])], earlier, today) for row in rows]


def chosen(intake: Intake) -> dict[str, UUID]:
    """Which earlier observation each row was said to be, by the name of the row."""
    return {row: UUID(said) for row, said in intake.same.items() if said != NEW}


def said_to_be(intake: Intake, keys: Iterable[UUID]) -> Any:
    """The observations on record at the site with these keys."""
    rows = Observation.objects.filter(pk__in=list(keys), site=intake.site_id, draft=False)
    return rows.select_related("site", "unit", "board", "circuit", "inspection")


def _asked(intake: Intake, rows: list[Row]) -> list[Asked]:
    boards = dict(Board.objects.current().filter(site=intake.site_id).values_list("designation", "pk"))
    named = Circuit.objects.current().filter(site=intake.site_id).values_list("board", "way", "phase", "pk")
    circuits: dict[Any, UUID] = {(board, way, phase): pk for board, way, phase, pk in named}
    asked = []
    for row in rows:
        at = row.get("at") or {}
        board = boards.get(at.get("board", ""))
        circuit = circuits.get((board, at.get("way"), at.get("phase"))) if board else None
        asked.append(Asked(row["row"], row["name"], intake.unit_id, board, circuit, at.get("place", "")))
    return asked


def _with(intake: Intake, row: Row, likely: list[UUID], earlier: dict[UUID, Observation], today: date) -> Row:
    said = intake.same.get(row["row"], "")
    same = [proposal(earlier[key], today=today) for key in likely if key in earlier] if not said else []
    for one in same:
        one["short"] = f"{one['number']} of {one['year']}"
    return row | {"same": same, "said": _in_words(said, earlier)}


def _in_words(said: str, earlier: dict[UUID, Observation]) -> str:
    if said in ("", NEW):
        return "A new one" if said else ""
    row = earlier.get(UUID(said))
    if row is None:
        return "The same as one that is not on record any more: ask again"
    closed = f", which is closed by now ({row.get_ended_display()}): ask again" if row.ended else ""
    return f"The same as {row.number} of {words.day(row.recorded_on)}{closed}"
