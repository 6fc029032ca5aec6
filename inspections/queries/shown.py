"""Words and addresses that the pages here share, ready for flat templates."""

from datetime import date
from typing import Any

from django.db.models import Q

from inspections.choices import InspectionState
from inspections.models import Inspection, Observation
from inspections.rules import plain_code
from inspections.standards.editions import Edition
from inspections.standards.law import CAUTION
from jobsite import words
from jobsite.addresses import address
from jobsite.marks import code_mark
from jobsite.premises.models import Board

NO_PLACE = "no place noted"


def where(observation: Observation, *, with_unit: bool) -> str:
    """Where an observation is: "Flat 2, Hall board, way 5L1, meter cupboard"."""
    board, circuit = observation.board, observation.circuit
    parts = [
        observation.unit.name if with_unit else "",
        board.designation if board else "",
        f"way {circuit.way_name}" if circuit else "",
        observation.place,
    ]
    return ", ".join(filter(None, parts)) or NO_PLACE


def mark(observation: Observation) -> str:
    """The mark of the code in force; closed ones with a tick where a code was put right."""
    closed = observation.ended in ("remedied", "others")
    return code_mark(observation.code, held=observation.made_safe, closed=closed, needed=observation.needs_code)


def written(observation: Observation) -> str:
    """What the report says where that differs from the code in force; "" where it is the same."""
    same = plain_code(observation.code_written) == observation.code and observation.code_written != ""
    return "" if same or not observation.code_written else observation.code_written


def dues(observation: Observation, today: date) -> dict[str, str]:
    """The dates of an open observation in words, with the basis and the law's caution; nothing for a closed one."""
    if observation.ended or not observation.remedy_by:
        return {"by": "", "late": "", "basis": observation.remedy_basis if not observation.ended else "", "caution": ""}
    return {
        "by": words.near_day(observation.remedy_by, today),
        "late": words.late(observation.remedy_by, today),
        "basis": observation.remedy_basis,
        "caution": CAUTION if observation.remedy_by_law else "",
    }


def title(inspection: Inspection) -> str:
    """What to call a report: "Periodic inspection 1004", "Another firm's periodic inspection 1004"."""
    kind = inspection.get_kind_display()
    called = f"Another firm's {kind}" if inspection.other_firm else kind[0].upper() + kind[1:]
    return f"{called} {inspection.number}"


def particulars(inspection: Inspection) -> list[tuple[str, str]]:
    """What is known of an inspection, as pairs of a head and its words, empty ones left out."""
    limit = inspection.remedy_limit_days
    pairs = [
        ("Inspected", words.day(inspection.inspected_on)),
        ("Firm", inspection.firm_name),
        ("Inspector", inspection.inspector_name),
        ("Qualified person named", inspection.qualified_person_name),
        ("Reference", inspection.reference),
        ("Edition", Edition(inspection.edition).label),
        ("Extent", inspection.extent),
        ("Recommends the next", words.day(inspection.next_due_on)),
        ("Its own limit", "" if limit is None else ("at once" if limit == 0 else words.many(limit, "day"))),
    ]
    return [(head, said) for head, said in pairs if said]


def covers(inspection: Inspection) -> list[tuple[str, str]]:
    """The units and boards that it covers and the boards it does not, as pairs; without the unit of a simple site.

    Not covered: of the boards that are there now and serve a unit it covers, or the whole site. Three statements.
    """
    units = list(inspection.units.order_by("sort"))
    boards = list(inspection.boards.order_by("sort"))
    there = Board.objects.current().filter(site=inspection.site_id)
    there = there.filter(Q(units__isnull=True) | Q(units__in=units)).distinct().order_by("sort")
    missed = [board.designation for board in there if board not in boards]
    named = ", ".join(b.designation for b in boards)
    pairs = [
        ("Units", ", ".join(u.name for u in units if not u.whole_site)),
        ("Boards", named or ("none named" if missed else "")),
        ("Boards not covered", ", ".join(missed) if named else ""),
    ]
    return [(head, said) for head, said in pairs if said]


def reissues(inspection: Inspection) -> dict[str, Any]:
    """The report that it replaces, and the one that replaces or is to replace it: words and address. Two statements."""
    by = Inspection.objects.filter(replaces=inspection.pk).first()
    former = inspection.replaces
    found: dict[str, Any] = {"replaces": None, "replaced_by": None}
    if former:
        found["replaces"] = {"title": title(former), "href": at(former), "why": inspection.reissue_reason}
    if by:
        on = words.day(words.london(by.issued_at).date()) if by.issued_at else ""
        draft = by.state == InspectionState.DRAFT
        found["replaced_by"] = {
            "title": title(by), "href": at(by), "why": by.reissue_reason, "draft": draft, "on": on,
        }  # fmt: skip
    return found


def at(inspection: Inspection) -> str:
    """The address of its page."""
    return address("inspections:inspection", inspection.pk)
