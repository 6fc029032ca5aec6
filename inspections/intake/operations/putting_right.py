"""Putting refused rows right while a file is looked over: cells corrected, rows left out, all judged again together."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime
from typing import Any

from inspections.intake import queries
from inspections.intake.found import keepable
from inspections.intake.operations.leaving_out import LONGEST, judged_again, looked_over
from inspections.intake.verbs import Verb
from inspections.models import Intake
from jobsite.ledger.operations import operation, record
from jobsite.people.models import User
from jobsite.refused import Refused

LONGEST_CELL = 4_000
Entry = tuple[Verb, dict[str, str]]


@operation
def put_right(
    intake: Intake,
    *,
    cells: Mapping[str, Mapping[str, str]],
    reasons: Mapping[str, str],
    by: User,
    now: datetime,
) -> Intake:
    """Correct cells, and say why rows are left out; then every row is judged again.

    `cells`: by the name of the row ("Circuits, row 5") and the key of the column, what should stand there; what stands
    there already changes nothing, what was in the file takes the correction back. `reasons`: by the name of the row; an
    empty one puts a row back that was left out. What was in the file stays known; each row leaves an entry of its own.
    Saved again the same: nothing happens. Raises Refused for a row or a
    column that isn't there.
    """
    intake = looked_over(intake, by)
    refused = {row["row"]: row for row in intake.found["refused"]}
    told: list[Entry] = []
    for row, said in cells.items():
        told += _corrected(
            intake, refused, row, {key: keepable(text)[:LONGEST_CELL].strip() for key, text in said.items()}
        )
    for row, reason in reasons.items():
        told += _left_out(intake, refused, row, keepable(reason).strip()[:LONGEST])
    if told:
        _judge(intake, told, by=by, now=now)
    return intake


@operation
def take_back_correction(intake: Intake, *, row: str, by: User, now: datetime) -> Intake:
    """Have a corrected row as it was in the file again."""
    intake = looked_over(intake, by)
    if row in intake.corrections:
        cells = intake.corrections.pop(row)
        words = {"row": row, "cells": _in_words({key: cell | {"now": cell["was"]} for key, cell in cells.items()})}
        _judge(intake, [(Verb.UNCORRECTED, words)], by=by, now=now)
    return intake


def _judge(intake: Intake, told: list[Entry], *, by: User, now: datetime) -> None:
    facts = judged_again(intake, now=now)
    for verb, words in told:
        record(verb, site=intake.site_id, subject=intake, by=by, now=now, facts=facts, words=words)


def _corrected(intake: Intake, refused: Mapping[str, Any], row: str, said: Mapping[str, str]) -> list[Entry]:
    """Note what stands otherwise in a row now; nothing where all is as it was."""
    before, stands = intake.corrections.get(row, {}), _stands(intake, refused.get(row), said, row)
    changed: dict[str, dict[str, str]] = {}
    for key, text in said.items():
        if key not in stands:
            raise Refused(f"{row}, has no such column any more. Look at the page again.")
        head, now_there = stands[key]
        if text != now_there.strip():
            changed[key] = {"head": head, "was": before.get(key, {}).get("was", now_there), "now": text}
    if not changed:
        return []
    kept = {key: cell for key, cell in (before | changed).items() if cell["now"] != cell["was"].strip()}
    intake.corrections.pop(row, None)
    intake.corrections |= {row: kept} if kept else {}
    return [(Verb.CORRECTED, {"row": row, "cells": _in_words(changed)})]


def _stands(
    intake: Intake, found: Mapping[str, Any] | None, keys: Iterable[str], row: str
) -> dict[str, tuple[str, str]]:
    """Head and text of each cell by the key of its column; the kept file is read where what was `found` doesn't say it."""
    stands: dict[str, tuple[str, str]] = {}
    if found:
        stands = {one["key"]: (one["column"], "") for one in found["troubles"] if one["key"]}
        stands |= {key: (head, text) for head, text, key in found["cells"]}
    if set(keys) - set(stands):
        stands = {cell["key"]: (cell["head"], cell["said"]) for cell in queries.cells_of(intake, row)}
    return stands


def _in_words(cells: Mapping[str, Mapping[str, str]]) -> str:
    return "\n".join(f"{cell['head']}: “{cell['was']}” in the file, now “{cell['now']}”" for cell in cells.values())


def _left_out(intake: Intake, refused: Mapping[str, Any], row: str, reason: str) -> list[Entry]:
    if reason == intake.left_out.get(row, ""):
        return []
    if not reason:
        del intake.left_out[row]
        return [(Verb.PUT_BACK, {"row": row})]
    if row not in refused:
        raise Refused(f"{row}, is not refused any more. Look at the page again.")
    intake.left_out[row] = reason
    return [(Verb.LEFT_OUT, {"row": row, "reason": reason})]
