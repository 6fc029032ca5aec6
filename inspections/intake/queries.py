"""What intake reads of the database: what a site has on record, and the uploads with what was found in them."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.urls import reverse

from inspections.choices import IntakeKind, IntakeState
from inspections.intake.boards import check_boards, table_of
from inspections.intake.codes import CODES
from inspections.intake.columns import OBSERVATIONS
from inspections.intake.heads import Table, corrected_by, find_table
from inspections.intake.known import KnownBoard, KnownSite, KnownSupply
from inspections.intake.observations import check_observations
from inspections.intake.pasted import read_pasted
from inspections.intake.reading import read_workbook
from inspections.intake.table import Row, Sheet, as_text
from inspections.intake.trouble import Checked, key_of
from inspections.intake.ways import Way
from inspections.models import Intake
from jobsite import words
from jobsite.firm.models import Progress
from jobsite.ledger.files import read_file
from jobsite.marks import code_mark
from jobsite.people.models import User
from jobsite.premises.models import Board, Circuit, Site, Supply
from jobsite.refused import Refused

PAGE = 100
REFUSED_PAGE = 50
NOTHING_PASTED = "No observation was found in this text. Each begins with its number in the report, or with its code: change the text."
LOST = "The file can't be read back from where it is kept. Send it again."


def known_site(site_id: UUID) -> KnownSite:
    """The boards of a site with their ways, and its supplies. Three statements."""
    ways: dict[UUID, set[Way]] = defaultdict(set)
    for board, number, phase in Circuit.objects.current().filter(site=site_id).values_list("board", "way", "phase"):
        ways[board].add(Way(number, phase))
    boards = Board.objects.current().filter(site=site_id).order_by("sort").values_list("pk", "designation", "phases")
    supplies = Supply.objects.current().filter(site=site_id).order_by("sort").values_list("name", "phases")
    return KnownSite(
        tuple(KnownBoard(name, tuple(sorted(phases)), frozenset(ways[pk])) for pk, name, phases in boards),
        tuple(KnownSupply(name, tuple(sorted(phases))) for name, phases in supplies),
    )


def check(intake: Intake) -> Checked[Any]:
    """Read the kept file and check it against what the site has now. Raises Refused where it can't be read."""
    sheets = _sheets(intake)
    known, decided = known_site(intake.site_id), {"left_out": intake.left_out, "corrections": corrected(intake)}
    if intake.kind == IntakeKind.BOARDS:
        return check_boards(sheets, known, **decided)
    return check_observations(sheets, known, inspected_on=header_day(intake, "inspected_on"), **decided)


def _sheets(intake: Intake) -> list[Sheet]:
    try:
        data = read_file(intake.file)
    except (OSError, ValueError) as error:
        raise Refused(LOST) from error
    if is_pasted(intake):
        boards = Board.objects.current().filter(site=intake.site_id).values_list("designation", flat=True)
        sheet = read_pasted(data.decode(), list(boards))
        if not sheet.rows:
            raise Refused(NOTHING_PASTED)
        return [sheet]
    return read_workbook(data, intake.file_name)


def is_pasted(intake: Intake) -> bool:
    """Whether it came as pasted text and not as a file."""
    return bool(intake.header.get("pasted"))


def pasted_text(intake: Intake) -> str:
    """The text as it was pasted; none for a file."""
    return read_file(intake.file).decode() if is_pasted(intake) else ""


def cells_of(intake: Intake, row: str) -> list[dict[str, str]]:
    """Every column of a row ("Circuits, row 5"), read from the kept file: key, head, what counts, what is in the file.

    None at all where the file has no such row.
    """
    for sheet in _sheets(intake):
        table = table_of(sheet, []) if intake.kind == IntakeKind.BOARDS else find_table(sheet, OBSERVATIONS)
        if table is None:
            continue
        table = corrected_by(table, corrected(intake))
        for one in table.rows:
            if key_of(sheet.name, one.number) == row:
                return [_cell(table, one, column.key) for column in table.columns]
    return []


def _cell(table: Table, row: Row, key: str) -> dict[str, str]:
    said, was = as_text(table.cell(row, key)), as_text(table.in_file(row, key))
    return {"key": key, "head": table.written(key), "said": said, "was": was}


def corrected(intake: Intake) -> dict[str, dict[str, str]]:
    """What somebody here put in place of cells, by the name of the row and the column."""
    return {row: {key: cell["now"] for key, cell in cells.items()} for row, cells in intake.corrections.items()}


def header_day(intake: Intake, name: str) -> date | None:
    """A day of the report's particulars."""
    said = intake.header.get(name)
    return date.fromisoformat(said) if said else None


def typed_before(intake: Intake | None) -> dict[str, Any]:
    """What was typed with a text that is to be changed, for the form; nothing for none."""
    if intake is None:
        return {}
    header = intake.header | {"limitations": "\n".join(intake.header.get("limitations", []))}
    days = {name: header_day(intake, name) for name in ("inspected_on", "next_due_on")}
    return header | days | {"unit": intake.unit_id, "text": pasted_text(intake)}


def intakes_of(site: Site) -> list[dict[str, str]]:
    """The uploads of a site that wait to be read or looked over, newest first."""
    open_states = [IntakeState.RECEIVED, IntakeState.READ, IntakeState.UNREADABLE, IntakeState.TAKING_IN]
    rows = (
        site.intakes.filter(state__in=open_states)
        .order_by("-uploaded_at")
        .select_related("uploaded_by")
        .defer("found")[:20]
    )
    return [
        {
            "pk": str(row.pk),
            "name": row.file_name,
            "kind": row.get_kind_display(),
            "state": row.get_state_display(),
            "by": str(row.uploaded_by),
            "when": words.when(row.uploaded_at),
        }
        for row in rows
    ]


def intake_of(user: User, pk: UUID) -> Intake | None:
    """An upload that `user` may see, with what its page shows but what was found. One statement."""
    related = ("site", "unit", "file", "progress", "uploaded_by", "inspection")
    # What was found in a long file is megabytes: a page that only waits never asks for it.
    return Intake.objects.visible_to(user).select_related(*related).defer("found").filter(pk=pk).first()


def progress_of(intake: Intake) -> dict[str, Any]:
    """How far reading has come, for the page that waits for it."""
    progress = intake.progress
    return {
        "sentence": progress.sentence or "Waiting for the worker to begin.",
        "done": progress.done,
        "total": progress.total,
        "begun": progress.state != Progress.State.WAITING,
    }


def preview(intake: Intake, *, more: int = 0, refused: int = 0) -> dict[str, Any]:
    """What was found, as the page shows it: a page of the accepted and one of the refused rows, counted from 0."""
    found = intake.found
    accepted, wrong = found.get("accepted", []), found.get("refused", [])
    return {
        "accepted": [_accepted(intake, row) for row in accepted[max(more, 0) * PAGE : (max(more, 0) + 1) * PAGE]],
        "accepted_count": words.many(len(accepted), "row"),
        "accepted_pages": _pages(more, len(accepted), PAGE),
        "summary": in_words(found),
        "refused_count": words.many(len(wrong), "row"),
        "refused_pages": _pages(refused, len(wrong), REFUSED_PAGE),
        "any_refused": bool(wrong),
        "any_accepted": bool(accepted),
        "several": len(wrong) > 1,
        "corrected": _corrected_rows(intake),
        "notes": found.get("notes", []),
        "warnings": found.get("warnings", []),
        "pasted": is_pasted(intake),
        "failed": intake.progress.sentence if intake.progress.state == Progress.State.FAILED else "",
    }


def refused_page(intake: Intake, number: int) -> list[dict[str, Any]]:
    """The refused rows of one page, counted from 0."""
    rows: list[dict[str, Any]] = intake.found.get("refused", [])
    return rows[max(number, 0) * REFUSED_PAGE : (max(number, 0) + 1) * REFUSED_PAGE]


def _pages(number: int, total: int, size: int) -> dict[str, Any]:
    first, last = max(number, 0) * size + 1, min((max(number, 0) + 1) * size, total)
    return {
        "said": f"{first} to {last} shown" if total > size else "",
        "before": str(number - 1) if number > 0 else None,
        "next": str(number + 1) if last < total else None,
    }


def _accepted(intake: Intake, row: dict[str, Any]) -> dict[str, Any]:
    mark = code_mark(row["what"]) if row["what"] in CODES else row["what"]
    return row | {"mark": mark, "leave_out": at_row(intake, "leave_out", row["row"])}


def _corrected_rows(intake: Intake) -> list[dict[str, Any]]:
    return [
        {"row": row, "cells": [cell | {"was": cell["was"] or "nothing"} for cell in cells.values()]}
        for row, cells in intake.corrections.items()
    ]


def at_row(intake: Intake, page: str, row: str) -> str:
    """The address of a page about one row of a file."""
    return f"{reverse(f'intake:{page}', args=[intake.pk])}?{urlencode({'row': row})}"


def ending(intake: Intake) -> dict[str, Any]:
    """What became of a file that is no longer waiting: taken in, set aside, or unreadable and why."""
    taken = intake.state == IntakeState.TAKEN_IN
    return {
        "state": intake.get_state_display(),
        "summary": in_words(intake.found) if taken else "",
        "when": words.when(intake.taken_in_at),
        "why": intake.progress.sentence if intake.state == IntakeState.UNREADABLE else "",
        "left_out": list(intake.left_out.items()),
    }


def in_words(found: dict[str, Any]) -> str:
    """“7 boards and 72 circuits”, “47 observations”."""
    counts = [(found.get(f"{noun}s", 0), noun) for noun in ("board", "circuit", "observation")]
    return " and ".join(words.many(count, noun) for count, noun in counts if count) or "nothing"
