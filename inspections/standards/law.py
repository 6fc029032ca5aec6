"""What the law of each nation asks of those who let homes: the rule in force, as the firm has put it right.

The rows stand in `law_rows`; papers that are due beside an inspection stand in `duties`. Pages that show one of
these limits name the rule and say to check the current law.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Any

from inspections.standards.confidence import Confidence
from inspections.standards.facts import SHIPPED, Fact, Facts
from inspections.standards.law_rows import CAUTION, REMARKS, RULES, Counting, RentedHomeRule
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind

__all__ = ["CAUTION", "REMARKS", "ROWS", "RULES", "Counting", "RentedHomeRule", "rule_in_force", "rules_for"]

# Said where a law asks for haste, or for nothing, and gives no number: stored as 0, so that a correction can give one.
NO_DAYS = "no number of days"

# Days that a firm may put right by a correction; the row of a rule without such a day has none.
_DATES = {
    "new_from": "binds new tenancies from",
    "existing_from": "binds earlier tenancies from",
    "existing_first_by": "earlier tenancies inspected first by",
}


def _date_rows(rule: RentedHomeRule) -> dict[str, Fact[date]]:
    return {
        field_name: Fact(
            key=f"law.{rule.key}.{field_name.replace('_', '-')}",
            title=f"{rule.name}, {_tenures(rule)}: {words}",
            value=getattr(rule, field_name),
            source=rule.source,
            confidence=rule.dates_confidence,
        )
        for field_name, words in _DATES.items()
    }


def _count_row(rule: RentedHomeRule, what: str, words: str, value: int, unit: str, confidence: Confidence) -> Fact[int]:
    return Fact(
        key=f"law.{rule.key}.{what}",
        title=f"{rule.name}, {_tenures(rule)}: {words}",
        value=value,
        unit=unit,
        source=rule.source,
        confidence=confidence,
        least=0 if unit == "days" else 1,
        most=366 if unit == "days" else 20,
        zero=NO_DAYS if unit == "days" else "",
    )


def _tenures(rule: RentedHomeRule) -> str:
    kinds = {Tenure.PRIVATE_RENTED: "private", Tenure.SOCIAL_RENTED: "social"}
    return f"{' and '.join(word for tenure, word in kinds.items() if tenure in rule.tenures)} tenancies"


DATES = {rule.key: _date_rows(rule) for rule in RULES}
YEARS = {
    rule.key: _count_row(
        rule, "interval-years", "inspection at most every", rule.interval_years, "years", rule.interval_confidence
    )
    for rule in RULES
}
DAYS = {
    rule.key: _count_row(
        rule,
        "remedy-days",
        "to remedy C1, C2 and FI, starting with the inspection",
        rule.remedy_days or 0,
        "days",
        rule.remedy_confidence,
    )
    for rule in RULES
}


def _rows_of(key: str) -> tuple[Fact[date] | Fact[int], ...]:
    return (*DATES[key].values(), YEARS[key], DAYS[key])


ROWS = tuple(row for rule in RULES for row in _rows_of(rule.key))


def corrected(rule: RentedHomeRule, facts: Facts) -> RentedHomeRule:
    """The rule with the days, years and dates that the firm has put right."""
    days, years = facts.of(DAYS[rule.key]), facts.of(YEARS[rule.key])
    rows: tuple[Any, ...] = _rows_of(rule.key)
    sources = dict.fromkeys(facts.of(row).source for row in rows if facts.corrected(row))
    dates: dict[str, Any] = {name: facts.of(row).value for name, row in DATES[rule.key].items()}
    return replace(
        rule,
        **dates,
        interval_years=years.value,
        interval_confidence=years.confidence,
        remedy_days=days.value or None,
        remedy_confidence=days.confidence,
        corrected_from="; ".join(sources),
    )


def rules_for(
    nation: Nation | None, tenure: Tenure | None, facts: Facts = SHIPPED
) -> Iterator[tuple[RentedHomeRule, RentedHomeRule | None]]:
    """Each rule for a nation and tenure with the rule that superseded it, oldest first."""
    rows = [corrected(rule, facts) for rule in RULES if rule.nation is nation and tenure in rule.tenures]
    return zip(rows, [*rows, None][1:], strict=True)


def rule_in_force(
    nation: Nation | None,
    tenure: Tenure | None,
    on: date,
    *,
    tenancy_granted_on: date | None = None,
    premises_kind: PremisesKind | None = None,
    facts: Facts = SHIPPED,
) -> RentedHomeRule | None:
    """The rule that bound a tenancy on a day, None where none did.

    Where the date of the tenancy isn't known, the rule counts from its earlier day.
    """
    found = None
    for rule, _ in rules_for(nation, tenure, facts):
        if rule.binds_from(tenancy_granted_on) <= on:
            found = rule
    if found is None or premises_kind in found.excludes:
        return None
    return found
