"""By when a let home needs an inspection of which none is on record."""

from datetime import date

from inspections.standards.clocks import Deadline
from inspections.standards.facts import SHIPPED, Facts
from inspections.standards.law import rule_in_force
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind


def first_inspection(
    noticed_on: date,
    *,
    nation: Nation | None,
    tenure: Tenure | None,
    premises_kind: PremisesKind,
    tenancy_granted_on: date | None = None,
    facts: Facts = SHIPPED,
) -> Deadline | None:
    """The day for a home that the law in force on `noticed_on` binds; None where none does.

    That day itself, or the law's own first day where that is still to come: nobody knows whether the home was ever
    inspected, so the last report is to be found at once, or the home inspected.
    """
    law = rule_in_force(
        nation, tenure, noticed_on, tenancy_granted_on=tenancy_granted_on, premises_kind=premises_kind, facts=facts
    )
    if law is None:
        return None
    last = max(noticed_on, law.first_inspection_by(tenancy_granted_on))
    basis = (
        f"No inspection is on record. {law.name} asks for one at least every {law.interval_years} years: "
        "find the last report, or inspect."
    )
    return Deadline(last, basis, True, law.interval_confidence)
