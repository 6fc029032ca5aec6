"""When premises are to be inspected next: the inspector's date, capped by law; else the initial interval."""

from dataclasses import replace
from datetime import date

from inspections.standards.confidence import Confidence
from inspections.standards.counting import day_words, months_after, years_after, years_beginning_with
from inspections.standards.deadlines import Deadline, earliest
from inspections.standards.facts import SHIPPED, Facts
from inspections.standards.law import Counting, RentedHomeRule, rule_in_force, rules_for
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind, initial_interval


def next_inspection(
    inspected_on: date,
    *,
    nation: Nation | None,
    tenure: Tenure | None,
    premises_kind: PremisesKind,
    recommended_on: date | None = None,
    recommended_interval_months: int | None = None,
    tenancy_granted_on: date | None = None,
    facts: Facts = SHIPPED,
) -> Deadline:
    """The inspector's date, capped by law; without one, the initial interval for the premises.

    Where the report states both a date and an interval, the earlier counts. `on` is None where
    nobody states anything: the page then asks for a date.
    Raises ValueError for a recommended date that isn't after the inspection.
    """
    stated = [
        _bound_by_law(limit, nation, tenure, premises_kind, tenancy_granted_on, facts)
        for limit in _stated(inspected_on, recommended_on, recommended_interval_months)
    ]
    limits = [
        *stated,
        *_legal_caps(inspected_on, nation, tenure, premises_kind, tenancy_granted_on, facts),
    ]
    if not stated:
        limits += _initial(inspected_on, premises_kind, tenure, facts)
    if not limits:
        basis = "No report states a date and no interval is published: enter a date."
        return Deadline(None, basis, False, Confidence.GIVEN)
    return earliest(limits)


def _stated(inspected_on: date, on: date | None, months: int | None) -> list[Deadline]:
    """What the report recommends."""
    found = []
    if on is not None:
        basis = f"Recommended by the report: {day_words(on)}."
        found.append(Deadline(on, basis, False, Confidence.GIVEN))
    if months is not None:
        basis = f"Recommended by the report: {months} months after {day_words(inspected_on)}."
        found.append(Deadline(months_after(inspected_on, months), basis, False, Confidence.GIVEN))
    if any(limit.on is not None and limit.on <= inspected_on for limit in found):
        raise ValueError(
            "The next inspection that the report recommends must lie after "
            f"{day_words(inspected_on)}, the day of the inspection."
        )
    return found


def _bound_by_law(
    limit: Deadline,
    nation: Nation | None,
    tenure: Tenure | None,
    premises_kind: PremisesKind,
    tenancy_granted_on: date | None,
    facts: Facts,
) -> Deadline:
    """A recommended date is legal too where the rule in force on that date takes it over."""
    law = rule_in_force(
        nation,
        tenure,
        limit.on or date.max,
        tenancy_granted_on=tenancy_granted_on,
        premises_kind=premises_kind,
        facts=facts,
    )
    return replace(limit, legal=law is not None and law.shorter_binds)


def _legal_caps(
    inspected_on: date,
    nation: Nation | None,
    tenure: Tenure | None,
    premises_kind: PremisesKind,
    tenancy_granted_on: date | None,
    facts: Facts,
) -> list[Deadline]:
    """One candidate for each rule: no later than its interval, nor before the rule began.

    A candidate that falls when a newer rule has taken over is left to that rule.
    """
    found = []
    for rule, successor in rules_for(nation, tenure, facts):
        first_by = rule.first_inspection_by(tenancy_granted_on)
        last = max(_interval_end(rule, inspected_on), first_by)
        if successor and last >= successor.binds_from(tenancy_granted_on):
            continue
        if premises_kind in rule.excludes:
            continue
        words = _cap_words(rule, inspected_on, last)
        found.append(Deadline(last, words, True, rule.interval_confidence))
    return found


def _interval_end(rule: RentedHomeRule, inspected_on: date) -> date:
    if rule.interval_counting is Counting.BEGINNING_WITH:
        return years_beginning_with(inspected_on, rule.interval_years)
    return years_after(inspected_on, rule.interval_years)


def _cap_words(rule: RentedHomeRule, inspected_on: date, last: date) -> str:
    years = f"{rule.name}: at most {rule.interval_years} years from {day_words(inspected_on)}"
    if last > _interval_end(rule, inspected_on):
        return f"{years}; the rule began later, so by {day_words(last)}.{rule.remark}"
    return f"{years}.{rule.remark}"


def _initial(inspected_on: date, premises_kind: PremisesKind, tenure: Tenure | None, facts: Facts) -> list[Deadline]:
    interval = initial_interval(premises_kind, tenure, facts)
    if interval.months is None:
        return []
    words = f"{interval.months} months after {day_words(inspected_on)}"
    if interval.months_longest:
        words += f", the shorter end of a published {interval.months} to {interval.months_longest}"
    if interval.at_change_of_occupancy:
        words += ", or at a change of occupancy"
    basis = (
        f"No date is stated by a report; recommended initial interval for "
        f"{premises_kind.label}: {words} ({interval.source})."
    )
    last = months_after(inspected_on, interval.months)
    return [Deadline(last, basis, False, interval.confidence)]
