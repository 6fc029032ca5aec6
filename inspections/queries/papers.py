"""Who moved in and what the law asked then, in words."""

from typing import Any

from inspections.models import InspectionDue, OccupancyChange, Paper
from jobsite.addresses import address
from jobsite.premises.models import Unit
from jobsite.words import day, near_day

CHANGES_SHOWN = 20


def occupancy_page(unit: Unit, today: Any) -> dict[str, Any]:
    """What the page of a unit's occupancy shows: how the last report stands, and every change with its papers.

    Three statements whatever the size.
    """
    due = InspectionDue.objects.filter(unit=unit).select_related("after").first()
    changes = OccupancyChange.objects.filter(unit=unit).select_related("occupier").prefetch_related("papers")
    return {
        "report": report_words(due),
        "basis": due.basis if due else "",
        "changes": [_change(change, today) for change in changes.order_by("-since", "-pk")[:CHANGES_SHOWN]],
    }


def report_words(due: InspectionDue | None) -> str:
    """How the last report of a unit stands, in a sentence."""
    if due is None or due.after is None:
        return "No report is on record for it."
    return f"The last report on record is of {day(due.after.inspected_on)}; the next inspection is due by {day(due.due_on)}."


def _change(change: OccupancyChange, today: Any) -> dict[str, Any]:
    granted = f"tenancy granted on {day(change.tenancy_granted_on)}" if change.tenancy_granted_on else ""
    return {
        "head": f"{change.occupier or 'Somebody'} moves in on {day(change.since)}",
        "granted": granted,
        "papers": [paper_row(paper, today) for paper in sorted(change.papers.all(), key=lambda p: (p.due_on, p.what))],
    }


def paper_row(paper: Paper, today: Any) -> dict[str, str]:
    """One paper: what, to whom, by when and why, and what became of it."""
    done = f"{paper.get_answer_display()} on {day(paper.answered_on)}: {paper.how}" if paper.answer else ""
    return {
        "what": paper.what,
        "to": paper.to,
        "owed_by": paper.owed_by,
        "by": near_day(paper.due_on, today),
        "basis": paper.basis,
        "done": done,
        "href": address("inspections:paper", paper.pk),
    }
