"""By when a defect is to be made safe and remedied: the earliest of law, report and policy."""

from dataclasses import dataclass
from datetime import date

from inspections.standards.assessment import Code
from inspections.standards.confidence import Confidence
from inspections.standards.counting import day_words, last_day_starting_with
from inspections.standards.deadlines import Deadline, earliest
from inspections.standards.facts import SHIPPED, Facts
from inspections.standards.law import REMARKS, RentedHomeRule, rule_in_force
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind


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
    facts: Facts = SHIPPED,
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
        facts=facts,
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
    return earliest(limits)


def _law_limit(law: RentedHomeRule | None, recorded_on: date, tenancy_granted_on: date | None) -> list[Deadline]:
    if law is None or law.remedy_days is None:
        return []
    basis = f"{law.name}: {law.remedy_days} days starting with {day_words(recorded_on)}."
    if tenancy_granted_on is None and recorded_on < law.existing_from:
        basis += " The date of the tenancy isn't known: taken as a new one."
    last = last_day_starting_with(recorded_on, law.remedy_days)
    return [Deadline(last, f"{basis}{law.remark}", True, law.remedy_confidence)]


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
