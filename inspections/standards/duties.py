"""Papers and steps that the law asks of those who let homes, beside the remedial work itself.

The duty is the landlord's; the firm keeps the clock and provides the document. Pages that show one of these limits
name the rule and say to check the current law.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from inspections.standards.duty_rows import DUTIES, Count, Duty, Trigger
from inspections.standards.facts import SHIPPED, Fact, Facts
from inspections.standards.law import rule_in_force
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind

__all__ = ["DUTIES", "ROWS", "Count", "Duty", "Trigger", "duties_at", "duties_in_force"]


def _number_row(duty: Duty) -> Fact[int]:
    years = duty.count is Count.YEARS_AFTER
    nation = duty.key.split(".")[0].replace("-", " ").title()
    to, when = f" to {duty.to}" if duty.to else "", f"{'' if years else 'days '}{duty.count} {duty.trigger.words}"
    return Fact(
        key=f"duty.{duty.key}.{'years' if years else 'days'}",
        title=f"{nation}: {duty.what}{to}: {when}",
        value=duty.number or 0,
        unit="years" if years else "days",
        source=duty.source,
        confidence=duty.confidence,
        least=1,
        most=20 if years else 366,
    )


NUMBERS = {duty.key: _number_row(duty) for duty in DUTIES if duty.number is not None}
ROWS = tuple(NUMBERS.values())


def duties_in_force(
    nation: Nation | None,
    tenure: Tenure | None,
    on: date,
    *,
    tenancy_granted_on: date | None = None,
    premises_kind: PremisesKind | None = None,
    facts: Facts = SHIPPED,
) -> tuple[Duty, ...]:
    """The duties that bound a tenancy on a day, each with the name of its rule; none where no rule did."""
    rule = rule_in_force(
        nation, tenure, on, tenancy_granted_on=tenancy_granted_on, premises_kind=premises_kind, facts=facts
    )
    if rule is None:
        return ()
    return tuple(_under(rule.key, rule.name, facts))


def duties_at(
    trigger: Trigger,
    nation: Nation | None,
    tenure: Tenure | None,
    on: date,
    *,
    tenancy_granted_on: date | None = None,
    premises_kind: PremisesKind | None = None,
    facts: Facts = SHIPPED,
) -> tuple[Duty, ...]:
    """The duties that an event on a day starts."""
    found = duties_in_force(
        nation, tenure, on, tenancy_granted_on=tenancy_granted_on, premises_kind=premises_kind, facts=facts
    )
    return tuple(duty for duty in found if duty.trigger is trigger)


def _under(rule_key: str, rule_name: str, facts: Facts) -> Iterator[Duty]:
    for duty in DUTIES:
        if rule_key not in duty.rules:
            continue
        row = NUMBERS.get(duty.key)
        if row is None or not facts.corrected(row):
            yield replace(duty, rule_name=rule_name)
        else:
            found = facts.of(row)
            yield replace(
                duty,
                rule_name=rule_name,
                number=found.value,
                confidence=found.confidence,
                source=found.source,
                remark=f"As corrected from {found.source}.",
            )
