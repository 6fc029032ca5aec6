"""When a unit's next inspection is due and on what that rests: no more than is known of whether a home is let."""

from datetime import date
from typing import Any

from inspections.operations.clocks import in_words
from inspections.standards import clocks
from inspections.standards.deadlines import Deadline
from inspections.standards.law import CAUTION
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind
from remedials.status.rules import long_day


def if_let(unit: Any) -> date | None:
    """The day by which the next inspection of a home is due if it is let, where no letting is recorded and that is sooner.

    By the published facts. No statement where `inspection_due__after` and `site` are at hand.
    """
    found = _if_let(unit)
    return found.on if found else None


def _if_let(unit: Any) -> Deadline | None:
    due = getattr(unit, "inspection_due", None)
    home = unit.kind == PremisesKind.HOUSE and not unit.common_parts and unit.tenure == Tenure.OWNER_OCCUPIED
    if not (home and due and due.after):
        return None
    found = clocks.next_inspection(
        due.after.inspected_on,
        nation=Nation(unit.site.nation),
        tenure=Tenure.PRIVATE_RENTED,
        premises_kind=PremisesKind(unit.kind),
        recommended_on=due.after.next_due_on,
    )
    return found if found.on and found.on < due.due_on else None


def basis_of(unit: Any) -> str:
    """Why the next inspection is due on its day, and when it would be if the home is let. Needs a unit that has a day."""
    found = _if_let(unit)
    if found is None or found.on is None:
        return str(unit.inspection_due.basis)
    let = (
        f"No letting is recorded here. If the home is let, it is due sooner, by {long_day(found.on)}. {in_words(found)}"
    )
    return f"{unit.inspection_due.basis} {let} {CAUTION}"


def basis_in_short(unit: Any) -> str:
    """The same in a few words, for a list; "" without a day."""
    due = getattr(unit, "inspection_due", None)
    if due is None:
        return ""
    if by := if_let(unit):
        return f"if it is not let; let, by {long_day(by)}"
    if due.by_law:
        return "by law"
    return "as the report says" if due.after and due.after.next_due_on == due.due_on else "usual interval"
