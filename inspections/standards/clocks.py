"""Three dates kept apart: make safe by, remedy by, and the next inspection.

All are calendar dates; nothing is moved off a weekend or a bank holiday. Each comes with one
sentence that says which rule set it, whether that rule is law, and how sure the fact is.
"""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from inspections.standards.assessment import Code
from inspections.standards.confidence import Confidence
from inspections.standards.counting import (
    day_words,
    last_day_starting_with,
    months_after,
    years_after,
    years_beginning_with,
)
from inspections.standards.law import (
    CAUTION,
    REMARKS,
    Counting,
    RentedHomeRule,
    rule_in_force,
    rules_for,
)
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind, initial_interval


@dataclass(frozen=True, slots=True)
class Deadline:
    """`on` is the last day, None where no rule gives one; `basis` says why, in a sentence or two.

    `legal`: missing the day breaks a law, so `caution` asks to check the current one.
    """

    on: date | None
    basis: str
    legal: bool
    confidence: Confidence

    @property
    def caution(self) -> str:
        """Words that stand beside the date wherever it is shown; may be empty."""
        words = [CAUTION] if self.legal else []
        if self.confidence.note:
            words.append(self.confidence.note[0].upper() + self.confidence.note[1:] + ".")
        return " ".join(words)


@dataclass(frozen=True, slots=True)
class RemedyPolicy:
    """The firm's own limits in days, counted "starting with" the day of the record."""

    c1_days: int = 7
    c2_days: int = 28
    fi_days: int = 28

    def days(self, code: Code) -> int | None:
        """None for C3, which has no limit in days."""
        return {Code.C1: self.c1_days, Code.C2: self.c2_days, Code.FI: self.fi_days}.get(code)


DEFAULT_POLICY = RemedyPolicy()


def make_safe_by(code: Code, recorded_on: date) -> Deadline | None:
    """C1: at once, so the day it was recorded. None for the other codes.

    Source: council pages that reproduce the codes; the duty to make safe before leaving is from
    an extract of the older best practice guide (read in secondary pages).
    """
    if code is not Code.C1:
        return None
    return Deadline(recorded_on, "C1: to be made safe at once.", False, Confidence.SECONDARY)


def remedy_by(
    code: Code,
    recorded_on: date,
    *,
    nation: Nation | None,
    tenure: Tenure | None,
    policy: RemedyPolicy = DEFAULT_POLICY,
    report_limit_days: int | None = None,
    report_limit_on: date | None = None,
    next_inspection_on: date | None = None,
    tenancy_granted_on: date | None = None,
    premises_kind: PremisesKind | None = None,
    by_inspection: bool = True,
) -> Deadline:
    """The earliest of the law's limit, the report's own and the firm's policy.

    `recorded_on` is the date of the inspection, or of the report of a defect that came without
    one (`by_inspection` False: the law's clock runs from an inspection only). A C3 is due by the
    next inspection, where its date is known. Where dates are equal, law goes before report
    before policy.
    Raises ValueError where the report's limit lies before the inspection.
    """
    law = rule_in_force(
        nation,
        tenure,
        recorded_on,
        tenancy_granted_on=tenancy_granted_on,
        premises_kind=premises_kind,
    )
    if not by_inspection or not code.needs_action:
        law = None
    limits = [
        *_law_limit(law, recorded_on, tenancy_granted_on),
        *_report_limits(law, recorded_on, report_limit_days, report_limit_on),
        *_policy_limit(code, recorded_on, policy, _remark(nation, tenure)),
        *_c3_limit(code, next_inspection_on),
    ]
    if not limits:
        basis = "C3: by the next inspection, whose date is not known yet."
        return Deadline(None, basis, False, Confidence.GIVEN)
    return _earliest(limits)


def next_inspection(
    inspected_on: date,
    *,
    nation: Nation | None,
    tenure: Tenure | None,
    premises_kind: PremisesKind,
    recommended_on: date | None = None,
    recommended_interval_months: int | None = None,
    tenancy_granted_on: date | None = None,
) -> Deadline:
    """The inspector's date, capped by law; without one, the initial interval for the premises.

    Where the report states both a date and an interval, the earlier counts. `on` is None where
    nobody states anything: the page then asks for a date.
    Raises ValueError for a recommended date that isn't after the inspection.
    """
    stated = [
        _bound_by_law(limit, nation, tenure, premises_kind, tenancy_granted_on)
        for limit in _stated(inspected_on, recommended_on, recommended_interval_months)
    ]
    limits = [
        *stated,
        *_legal_caps(inspected_on, nation, tenure, premises_kind, tenancy_granted_on),
    ]
    if not stated:
        limits += _initial(inspected_on, premises_kind, tenure)
    if not limits:
        basis = "No report states a date and no interval is published: enter a date."
        return Deadline(None, basis, False, Confidence.GIVEN)
    return _earliest(limits)


def _earliest(limits: Iterable[Deadline]) -> Deadline:
    """The earliest; `min` keeps the first of equals, so the order of the list decides ties."""
    return min(limits, key=lambda limit: limit.on or date.max)


def _law_limit(law: RentedHomeRule | None, recorded_on: date, tenancy_granted_on: date | None) -> list[Deadline]:
    if law is None or law.remedy_days is None:
        return []
    basis = f"{law.name}: {law.remedy_days} days starting with {day_words(recorded_on)}."
    if tenancy_granted_on is None and recorded_on < law.existing_from:
        basis += " The date of the tenancy isn't known: taken as a new one."
    last = last_day_starting_with(recorded_on, law.remedy_days)
    return [Deadline(last, basis, True, law.remedy_confidence)]


def _report_limits(law: RentedHomeRule | None, recorded_on: date, days: int | None, on: date | None) -> list[Deadline]:
    """A shorter limit in the report; "0 days" means at once, the same day."""
    legal = law is not None and law.remedy_days is not None and law.shorter_binds
    found = []
    if days is not None:
        if days < 0:
            raise ValueError("The report's limit can't be a negative number of days.")
        last = last_day_starting_with(recorded_on, max(days, 1))
        basis = f"The report's limit: {days} days starting with {day_words(recorded_on)}."
        found.append(Deadline(last, basis, legal, Confidence.GIVEN))
    if on is not None:
        if on < recorded_on:
            raise ValueError(
                f"The report's limit, {day_words(on)}, is before {day_words(recorded_on)}, "
                "when the defect was recorded."
            )
        found.append(Deadline(on, f"The report's limit: {day_words(on)}.", legal, Confidence.GIVEN))
    return found


def _policy_limit(code: Code, recorded_on: date, policy: RemedyPolicy, remark: str | None) -> list[Deadline]:
    days = policy.days(code)
    if days is None:
        return []
    basis = (
        f"The firm's policy for {code}: {days} days starting with {day_words(recorded_on)}."
        f"{' ' + remark if remark else ''}"
    )
    return [Deadline(last_day_starting_with(recorded_on, days), basis, False, Confidence.GIVEN)]


def _remark(nation: Nation | None, tenure: Tenure | None) -> str | None:
    return REMARKS.get((nation, tenure)) if nation and tenure else None


def _c3_limit(code: Code, next_inspection_on: date | None) -> list[Deadline]:
    if code is not Code.C3 or next_inspection_on is None:
        return []
    return [Deadline(next_inspection_on, "C3: by the next inspection.", False, Confidence.GIVEN)]


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
) -> Deadline:
    """A recommended date is legal too where the rule in force on that date takes it over."""
    law = rule_in_force(
        nation,
        tenure,
        limit.on or date.max,
        tenancy_granted_on=tenancy_granted_on,
        premises_kind=premises_kind,
    )
    return replace(limit, legal=law is not None and law.shorter_binds)


def _legal_caps(
    inspected_on: date,
    nation: Nation | None,
    tenure: Tenure | None,
    premises_kind: PremisesKind,
    tenancy_granted_on: date | None,
) -> list[Deadline]:
    """One candidate for each rule: no later than its interval, nor before the rule began.

    A candidate that falls when a newer rule has taken over is left to that rule.
    """
    found = []
    for rule, successor in rules_for(nation, tenure):
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
        return f"{years}; the rule began later, so by {day_words(last)}."
    return f"{years}."


def _initial(inspected_on: date, premises_kind: PremisesKind, tenure: Tenure | None) -> list[Deadline]:
    interval = initial_interval(premises_kind, tenure)
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
