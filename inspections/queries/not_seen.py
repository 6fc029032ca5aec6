"""Earlier open observations that an inspection covers and does not note again: "still there?"."""

from datetime import date
from functools import cache
from itertools import pairwise
from typing import Any
from uuid import UUID

from django.db.models import F, OuterRef, Prefetch, Q
from django.urls import reverse

from inspections.choices import InspectionKind, InspectionState, StillThere
from inspections.models import Inspection, NotSeenAgain, Observation
from inspections.queries import shown
from jobsite import words
from jobsite.addresses import address

MOST_NAMED = 12


def in_question(inspection: Inspection) -> Any:
    """The open observations of its day or before that the inspection covers and that none of its own continues.

    Covered: what stands on a board that it names; and in a unit that it covers, what stands on no board, or on any where
    it names none. A call-out covers only the boards that it names.
    """
    boards = list(inspection.boards.values_list("pk", flat=True))
    covered = Q(board__in=boards)
    if inspection.kind != InspectionKind.CALL_OUT:
        in_units = Q(unit__in=inspection.units.values("pk"))
        covered |= in_units & Q(board=None) if boards else in_units
    rows = Observation.objects.open().filter(covered, site=inspection.site_id, recorded_on__lte=inspection.inspected_on)
    rows = rows.exclude(inspection=inspection.pk)
    if inspection.replaces_id:  # what it leaves out of the report that it replaces is asked about there
        rows = rows.exclude(inspection=inspection.replaces_id)
    return rows.exclude(pk__in=inspection.observations.exclude(continues=None).values("continues"))


def left_open(inspection: Inspection) -> dict[str, Any]:
    """Beside the button that issues a draft: what nobody has answered for, and how many stay open. Two statements."""
    given = dict(inspection.not_seen_again.values_list("observation", "answer"))
    rows = in_question(inspection).order_by("number").values_list("pk", "number", "code")
    asked = [(pk, number, code) for pk, number, code in rows]
    bare = [(number, code) for pk, number, code in asked if not given.get(pk)]
    named = [f"{number} ({code or 'not coded'})" for number, code in bare[:MOST_NAMED]]
    more = len(bare) - len(named)
    return {
        "any": bool(asked),
        "one": len(asked) == 1,
        "count": words.many(len(asked), "earlier open observation"),
        "bare": words.many(len(bare), "observation") if bare else "",
        "named": ", ".join(named) + (f" and {more} more" if more else ""),
        "href": address("inspections:earlier", inspection.pk),
    }


def left_by(inspection: Inspection) -> dict[str, str]:
    """What an issued report did not note again and is open still, in words; empty where there is nothing. One statement."""
    left = inspection.not_seen_again.filter(observation__ended="").count()
    if not left:
        return {}
    many = words.many(left, "earlier observation")
    return {
        "count": f"{many} that it covers {'is' if left == 1 else 'are'} open and not confirmed by it",
        "href": address("inspections:earlier", inspection.pk),
    }


def earlier_page(inspection: Inspection, *, today: date) -> dict[str, Any]:
    """Every earlier observation that the inspection is asked about, with the answer. A draft: three statements.

    An issued report shows what was asked at its issue: each stands as it was answered, and can still be answered.
    """
    if inspection.state == InspectionState.DRAFT:
        rows = in_question(inspection).select_related("unit", "board", "circuit", "inspection", "site")
        given = Prefetch("not_seen_again", NotSeenAgain.objects.filter(inspection=inspection).select_related("by"))
        asked = [(row, next(iter(row.not_seen_again.all()), None)) for row in rows.prefetch_related(given)]
    else:
        kept = inspection.not_seen_again.select_related("by", *(f"observation__{n}" for n in ON_ROW))
        asked = [(one.observation, one) for one in kept]
    asked.sort(key=_worst_first)
    shown_rows = [_row(inspection, row, answer, today) for row, answer in asked]
    here = address("inspections:earlier", inspection.pk)
    for row, after in pairwise([*shown_rows, {"id": ""}]):
        row["next"] = f"{here}#o-{after['id']}" if after["id"] else here
    return {
        "title": shown.title(inspection),
        "rows": shown_rows,
        "bare": sum(1 for row in shown_rows if not row["answer"] and not row["ended"]),
        "draft": inspection.state == InspectionState.DRAFT,
    }


ON_ROW = ("unit", "board", "circuit", "inspection", "site")
ORDER = ("C1", "C2", "FI", "", "C3")


def _worst_first(pair: tuple[Observation, NotSeenAgain | None]) -> tuple[int, str, int]:
    row = pair[0]
    return (ORDER.index(row.code), row.board.sort if row.board else "", row.number)


def _row(inspection: Inspection, row: Observation, answer: NotSeenAgain | None, today: date) -> dict[str, Any]:
    def at(name: str) -> str:
        return _of_both(name).format(inspection.pk, row.pk)

    stands = not row.ended
    return {
        "id": str(row.pk),
        "number": str(row.number),
        "href": address("desk:observation", row.pk),
        "mark": shown.mark(row),
        "text": row.text,
        "where": shown.where(row, with_unit=not row.unit.whole_site),
        "since": f"{words.day(row.first_recorded_on)}, {words.since(row.first_recorded_on, today)}",
        "report": shown.title(row.inspection) if row.inspection else "reported without an inspection",
        "answer": _answer_words(answer, row, inspection.state == InspectionState.DRAFT) if answer else "",
        "ended": "" if stands else f"{row.get_ended_display()} {words.day(row.ended_on)}",
        "fi": row.code == "FI",
        "again": at("note_again") if inspection.state == InspectionState.DRAFT else at("same_in_report"),
        "gone": at("found_gone"),
        "not_looked": at("not_looked"),
        "back": at("take_back_answer") if answer and answer.answer else "",
    }


@cache
def _of_both(name: str) -> str:
    """The address about an inspection and an observation, as a template for `format`: reversing for each row is slow."""
    one, other = UUID(int=1), UUID(int=2)
    return reverse(f"inspections:{name}", args=[one, other]).replace(str(one), "{}").replace(str(other), "{}")


def _answer_words(answer: NotSeenAgain, row: Observation, draft: bool) -> str:
    """What was said of an observation that an inspection did not note again; "" where nothing was."""
    if not answer.answer:
        return ""
    said = f"{StillThere(answer.answer).label.capitalize()}{': ' if answer.seen else ''}{answer.seen}"
    if answer.answer == StillThere.GONE and not row.ended:
        said += ". It ends with the issue" if draft else ". A qualified person has still to confirm it"
    return f"{said} ({answer.by.name}, {words.when(answer.at)})"


def not_confirmed() -> Any:
    """The rows by which reports in force did not confirm an open observation, the newest first: for its columns."""
    rows = NotSeenAgain.objects.filter(observation=OuterRef("pk"), inspection__state=InspectionState.ISSUED)
    return rows.order_by(F("inspection__inspected_on").desc(), "pk")


def not_confirmed_words(number: int, on: date | None, answer: str) -> str:
    """That an open observation was not confirmed by a report, and what was said of it there."""
    said = {
        StillThere.GONE.value: "said not to be there any more; a qualified person has still to confirm it",
        StillThere.NOT_LOOKED.value: "not looked at",
    }.get(answer, "")
    return f"Not confirmed by the inspection of {words.day(on)} (report {number}){f': {said}' if said else ''}"
