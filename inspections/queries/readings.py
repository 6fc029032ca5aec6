"""Readings in words: what a page shows of those that were taken at a circuit, a board or a supply."""

from collections.abc import Iterable
from typing import Any

from django.db.models import QuerySet

from inspections.models import Reading
from inspections.queries.doubted import with_doubt
from inspections.queries.sheets import latest, without_bound
from inspections.standards.editions import Edition
from inspections.standards.limits import shown as shown_ohms
from jobsite import words
from jobsite.addresses import address
from jobsite.marks import verdict_mark
from jobsite.premises.models import Board, Circuit

MOST = 50


def readings_of(circuit: Circuit) -> QuerySet[Reading]:
    """The readings of a circuit, newest first. No statement of its own."""
    return in_words(Reading.objects.filter(circuit=circuit)).order_by("-taken_at", "-pk")


def in_words(rows: QuerySet[Reading]) -> QuerySet[Reading]:
    """`rows` with all that `reading_row` shows."""
    found = rows.select_related("circuit__board", "board", "supply", "instrument", "taken_by", "inspection")
    return with_doubt(found)


def reading_rows(rows: Iterable[Reading]) -> list[dict[str, Any]]:
    """The first of `rows` (read by `in_words`), ready for a page. One statement."""
    return [reading_row(row) for row in rows]


def reading_row(row: Reading) -> dict[str, Any]:
    """One reading: what, where, the value as typed, the verdict with its limit and basis, who, when, by what."""
    return {
        "when": words.when(row.taken_at),
        "where": where(row),
        "what": row.what,
        "value": row.words,
        "verdict": verdict_mark(row.passed, row.get_verdict_display()),
        "limit": limit_shown(row),
        "basis": without_bound(row.basis),
        "instrument": instrument_words(row),
        "by": row.taken_by.name,
        "report": f"for {row.inspection}" if row.inspection else "",
        "report_at": address("inspections:inspection", row.inspection_id) if row.inspection_id else "",
    }


def where(row: Reading) -> str:
    """The place of a reading as it is spoken of at the site."""
    if row.circuit:
        return f"{row.circuit.board.designation}, way {row.circuit.way_name} ({row.circuit})"
    return row.board.designation if row.board else str(row.supply)


def instrument_words(row: Reading) -> str:
    """The instrument, and whether it was found wrong or out of its check; none for a check without a number."""
    if row.instrument is None:
        return ""
    doubt = ""
    if getattr(row, "doubted", False):
        doubt = ": instrument found wrong" if row.known_wrong else ": found wrong later"  # type: ignore[attr-defined]
    return f"{row.instrument}{doubt or ('' if row.instrument_in_check else ': out of its check')}"


def limit_shown(row: Reading) -> str:
    """What it was judged by: "at most 1.09 Ω"; "" where nothing was known."""
    least, most = (None if bound is None else f"{bound.normalize():f}" for bound in (row.limit_least, row.limit_most))
    if row.limit_most is not None and row.unit == "Ω":
        most = str(shown_ohms(row.limit_most))
    if least and most:
        return f"{least} to {most}{words.THIN}{row.unit}"
    if least or most:
        return f"at {'least' if least else 'most'} {least or most}{words.THIN}{row.unit}"
    return ""


def edition_words(edition: Edition, report: object = None) -> str:
    """By which edition the page judges, and why."""
    reason = f"the edition of {report}" if report else "the edition in force"
    return f"Judged by {edition.label}, {reason}."


def latest_rows(board: Board) -> list[dict[str, Any]]:
    """The latest reading of each quantity on a board, by way. One statement."""
    rows = sorted(in_words(latest(Reading.objects.filter(board=board))), key=_by_way)
    return [reading_row(row) for row in rows]


def _by_way(row: Reading) -> tuple[Any, ...]:
    circuit = row.circuit
    return (circuit is not None, circuit.way if circuit else 0, circuit.phase if circuit else "", row.quantity)
