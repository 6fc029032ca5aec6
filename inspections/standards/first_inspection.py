"""By when a let home needs an inspection of which none is on record."""

from datetime import date

from inspections.standards.clocks import Deadline
from inspections.standards.facts import SHIPPED, Facts
from inspections.standards.law import rule_in_force
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind


def first_inspection(
    today: date,
    *,
    noticed_on: date | None = None,
    nation: Nation | None,
    tenure: Tenure | None,
    premises_kind: PremisesKind,
    tenancy_granted_on: date | None = None,
    facts: Facts = SHIPPED,
) -> Deadline | None:
    """The day for a home that the law in force `today` binds; None where none does.

    The day on which it was noticed (today, unless earlier), or the law's own first day where that is later: nobody knows
    whether the home was ever inspected, so the last report is to be found at once, or the home inspected.
    """
    law = rule_in_force(
        nation, tenure, today, tenancy_granted_on=tenancy_granted_on, premises_kind=premises_kind, facts=facts
    )
    if law is None:
        return None
    last = max(noticed_on or today, law.first_inspection_by(tenancy_granted_on))
    basis = (
        f"No inspection is on record. {law.name} asks for one at least every {law.interval_years} years: "
        f"the last report is to be found, or the home inspected.{law.remark}"
    )
    return Deadline(last, basis, True, law.interval_confidence)
