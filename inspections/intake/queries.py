"""What intake reads of the database: what a site has on record, and the uploads with what was found in them."""

from __future__ import annotations

from collections import defaultdict
from datetime import date
from typing import Any
from urllib.parse import urlencode
from uuid import UUID

from django.urls import reverse

from inspections.choices import IntakeKind, IntakeState
from inspections.intake.boards import check_boards
from inspections.intake.codes import CODES
from inspections.intake.known import KnownBoard, KnownSite, KnownSupply
from inspections.intake.limits import too_many
from inspections.intake.observations import check_observations
from inspections.intake.reading import read_workbook
from inspections.intake.trouble import Checked
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
    try:
        data = read_file(intake.file)
    except (OSError, ValueError) as error:
        raise Refused(LOST) from error
    sheets = read_workbook(data, intake.file_name)
    if intake.kind == IntakeKind.BOARDS:
        return check_boards(sheets, known_site(intake.site_id), left_out=intake.left_out)
    inspected_on = header_day(intake, "inspected_on")
    return check_observations(sheets, known_site(intake.site_id), inspected_on=inspected_on, left_out=intake.left_out)


def header_day(intake: Intake, name: str) -> date | None:
    """A day of the report's particulars."""
    said = intake.header.get(name)
    return date.fromisoformat(said) if said else None


def intakes_of(site: Site) -> list[dict[str, str]]:
    """The uploads of a site that wait to be read or looked over, newest first."""
    open_states = [IntakeState.RECEIVED, IntakeState.READ, IntakeState.UNREADABLE]
    rows = site.intakes.filter(state__in=open_states).order_by("-uploaded_at").select_related("uploaded_by")[:20]
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
    """An upload that `user` may see, with what its page shows. One statement."""
    related = ("site", "unit", "file", "progress", "uploaded_by", "inspection")
    return Intake.objects.visible_to(user).select_related(*related).filter(pk=pk).first()


def progress_of(intake: Intake) -> dict[str, Any]:
    """How far reading has come, for the page that waits for it."""
    progress = intake.progress
    return {
        "sentence": progress.sentence or "Waiting for the worker to begin.",
        "done": progress.done,
        "total": progress.total,
        "begun": progress.state != Progress.State.WAITING,
    }


def preview(intake: Intake, *, more: int = 0) -> dict[str, Any]:
    """What was found, as the page shows it: `PAGE` rows of each kind, from the page `more` (counted from 0) on."""
    found = intake.found
    accepted, refused = found.get("accepted", []), found.get("refused", [])
    start = max(more, 0) * PAGE
    shown = [
        row
        | {
            "mark": code_mark(row["what"]) if row["what"] in CODES else row["what"],
            "leave_out": _leave_out(intake, row),
        }
        for row in accepted[start : start + PAGE]
    ]
    return {
        "accepted": shown,
        "accepted_count": words.many(len(accepted), "row"),
        "accepted_from": start + 1,
        "accepted_to": start + len(shown),
        "next": more + 1 if start + PAGE < len(accepted) else None,
        "before": more - 1 if more > 0 else None,
        "summary": in_words(found),
        "refused_count": words.many(len(refused), "row"),
        "any_refused": bool(refused),
        "any_accepted": bool(accepted),
        "too_many": too_many(len(accepted)),
        "notes": found.get("notes", []),
        "warnings": found.get("warnings", []),
    }


def _leave_out(intake: Intake, row: dict[str, Any]) -> str:
    return f"{reverse('intake:leave_out', args=[intake.pk])}?{urlencode({'row': row['row']})}"


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
