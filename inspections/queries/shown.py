"""Words and addresses that the pages here share, ready for flat templates."""

from datetime import date

from inspections.models import Inspection, Observation
from inspections.rules import plain_code
from inspections.standards.editions import Edition
from inspections.standards.law import CAUTION
from jobsite import words
from jobsite.marks import code_mark


def where(observation: Observation, *, with_unit: bool) -> str:
    """Where an observation is: "Flat 2, Hall board, way 5L1, meter cupboard"."""
    board, circuit = observation.board, observation.circuit
    parts = [
        observation.unit.name if with_unit else "",
        board.designation if board else "",
        f"way {circuit.way_name}" if circuit else "",
        observation.place,
    ]
    return ", ".join(filter(None, parts)) or "no place noted"


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
    """The units and boards that it covers, as pairs; without the unit of a simple site. Two statements."""
    units = [unit for unit in inspection.units.order_by("sort") if not unit.whole_site]
    boards = list(inspection.boards.order_by("sort"))
    pairs = [("Units", ", ".join(u.name for u in units)), ("Boards", ", ".join(b.designation for b in boards))]
    return [(head, said) for head, said in pairs if said]
