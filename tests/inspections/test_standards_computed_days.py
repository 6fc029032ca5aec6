"""Last days computed here from the words of a rule: no outside check, nobody published them.

The words were read: England, SI 2020/312 reg 3 in reproductions (remedial work 28 days *starting with* the inspection;
a copy within 28 days *of* it; confirmation within 28 days *of* completing; 7 days *of* a request); Wales, WSI 2022/6
reg 6 (14 days *starting with*; 5 years *beginning with*). Days are calendar dates: a clock change moves none of them.
"""

from datetime import date, timedelta

import pytest

from inspections.standards.assessment import Code
from inspections.standards.clocks import RemedyPolicy, next_inspection, remedy_by
from inspections.standards.counting import last_day_of, last_day_starting_with, years_after, years_beginning_with
from inspections.standards.duties import Trigger, duties_at
from inspections.standards.law import RULES
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind

SLOW = RemedyPolicy(365, 365, 365)
LET = {"nation": Nation.ENGLAND, "tenure": Tenure.PRIVATE_RENTED}
DAY = timedelta(days=1)


@pytest.mark.parametrize(
    ("last_day", "expected"),
    [
        (last_day_starting_with(date(2026, 12, 1), 28), date(2026, 12, 28)),
        (last_day_of(date(2026, 12, 1), 28), date(2026, 12, 29)),
        (last_day_of(date(2026, 12, 15), 28), date(2027, 1, 12)),
        (last_day_of(date(2026, 12, 1), 7), date(2026, 12, 8)),
        (last_day_starting_with(date(2026, 12, 1), 14), date(2026, 12, 14)),
        (years_beginning_with(date(2025, 3, 10), 5), date(2030, 3, 9)),
        # 29 February: the cautious reading of both wordings.
        (years_beginning_with(date(2028, 2, 29), 5), date(2033, 2, 28)),
        (years_after(date(2028, 2, 29), 5), date(2033, 2, 28)),
        (years_after(date(2024, 2, 29), 4), date(2028, 2, 29)),
        # Year's end.
        (years_beginning_with(date(2026, 1, 1), 5), date(2030, 12, 31)),
        (years_after(date(2026, 12, 31), 5), date(2031, 12, 31)),
        (last_day_starting_with(date(2026, 12, 5), 28), date(2027, 1, 1)),
        (last_day_starting_with(date(2026, 12, 4), 28), date(2026, 12, 31)),
        # February of a leap year and of another.
        (last_day_starting_with(date(2028, 2, 2), 28), date(2028, 2, 29)),
        (last_day_starting_with(date(2027, 2, 1), 28), date(2027, 2, 28)),
        (last_day_of(date(2028, 2, 1), 28), date(2028, 2, 29)),
        # Both clock changes of 2026: 29 March and 25 October.
        (last_day_starting_with(date(2026, 3, 2), 28), date(2026, 3, 29)),
        (last_day_of(date(2026, 3, 1), 28), date(2026, 3, 29)),
        (last_day_starting_with(date(2026, 9, 28), 28), date(2026, 10, 25)),
        (last_day_of(date(2026, 10, 18), 7), date(2026, 10, 25)),
    ],
)
def test_last_days_by_the_words_of_the_rule(last_day, expected):
    assert last_day == expected


@pytest.mark.parametrize(
    ("inspected", "remedied", "copied"),
    [
        (date(2026, 12, 1), date(2026, 12, 28), date(2026, 12, 29)),
        (date(2026, 12, 10), date(2027, 1, 6), date(2027, 1, 7)),
        (date(2028, 2, 2), date(2028, 2, 29), date(2028, 3, 1)),
        (date(2026, 3, 15), date(2026, 4, 11), date(2026, 4, 12)),
        (date(2026, 10, 11), date(2026, 11, 7), date(2026, 11, 8)),
    ],
)
def test_work_and_copy_of_one_inspection_end_on_different_days(inspected, remedied, copied):
    assert remedy_by(Code.C2, inspected, policy=SLOW, **LET).on == remedied
    (copy,) = duties_at(Trigger.INSPECTION, LET["nation"], LET["tenure"], inspected)
    assert copy.last_day(inspected) == copied


@pytest.mark.parametrize("rule", [rule for rule in RULES if rule.new_from != date.min], ids=lambda rule: rule.key)
@pytest.mark.parametrize("new", [True, False])
def test_a_report_dated_the_day_a_rule_begins_and_the_day_before(rule, new):
    """Whatever the row: with its first day its limits hold, and the day before they are not yet this rule's."""
    begins = rule.new_from if new else rule.existing_from
    tenancy = rule.new_from if new else rule.new_from - DAY
    for tenure in rule.tenures:
        place = {"nation": rule.nation, "tenure": tenure, "tenancy_granted_on": tenancy}
        first = remedy_by(Code.C1, begins, policy=SLOW, **place)
        before = remedy_by(Code.C1, begins - DAY, policy=SLOW, **place)
        assert first.legal == (rule.remedy_days is not None)
        assert first.basis.startswith(rule.name) == first.legal
        assert not before.basis.startswith(f"{rule.name}:")


def test_a_rented_home_of_29_february_is_due_on_the_28th():
    found = next_inspection(date(2028, 2, 29), premises_kind=PremisesKind.HOUSE, recommended_on=date(2040, 1, 1), **LET)
    assert (found.on, found.legal) == (date(2033, 2, 28), True)
