"""Legal day counts and the dates from which they hold, against the instruments and their guidance.

Last days that were computed from the words of a rule stand in tests/inspections/test_standards_computed_days.py.
"""

from datetime import date, timedelta

import pytest

from inspections.standards.assessment import Code
from inspections.standards.clocks import RemedyPolicy, next_inspection, remedy_by
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind

SLOW = RemedyPolicy(c1_days=365, c2_days=365, fi_days=365)  # so that the law decides
DAY = timedelta(days=1)
OLD_TENANCY = date(2015, 1, 1)

ENGLAND_PRIVATE = (Nation.ENGLAND, Tenure.PRIVATE_RENTED)
ENGLAND_SOCIAL = (Nation.ENGLAND, Tenure.SOCIAL_RENTED)
NI_PRIVATE = (Nation.NORTHERN_IRELAND, Tenure.PRIVATE_RENTED)
WALES_PRIVATE = (Nation.WALES, Tenure.PRIVATE_RENTED)
SCOTLAND_PRIVATE = (Nation.SCOTLAND, Tenure.PRIVATE_RENTED)
SCOTLAND_SOCIAL = (Nation.SCOTLAND, Tenure.SOCIAL_RENTED)


def remedy(code, recorded_on, place, **more):
    return remedy_by(code, recorded_on, nation=place[0], tenure=place[1], policy=SLOW, **more)


def inspect(inspected_on, place, **more):
    return next_inspection(inspected_on, nation=place[0], tenure=place[1], premises_kind=PremisesKind.HOUSE, **more)


@pytest.mark.parametrize("code", [Code.C1, Code.C2, Code.FI])
@pytest.mark.parametrize("place", [ENGLAND_PRIVATE, ENGLAND_SOCIAL, NI_PRIVATE])
def test_28_days_starting_with_the_inspection(code, place):
    # England: SI 2020/312 reg 3 (reproductions; council policies name C1, C2 and FI);
    # Northern Ireland: legislation.gov.uk/nisr/2024/201.
    deadline = remedy(code, date(2026, 12, 1), place)
    assert (deadline.on, deadline.legal) == (date(2026, 12, 28), True)


@pytest.mark.parametrize("place", [ENGLAND_PRIVATE, ENGLAND_SOCIAL, NI_PRIVATE])
def test_c3_has_no_legal_limit(place):
    # The same sources: C3 does not trigger.
    assert remedy(Code.C3, date(2026, 12, 1), place).on is None


@pytest.mark.parametrize(
    ("place", "tenancy", "begins"),
    [
        # SI 2020/312: new tenancies 1 Jul 2020, existing 1 Apr 2021 (gov.uk guidance).
        (ENGLAND_PRIVATE, date(2020, 7, 1), date(2020, 7, 1)),
        (ENGLAND_PRIVATE, OLD_TENANCY, date(2021, 4, 1)),
        # SI 2025/1043 reg 1: tenancies granted on or after 1 Dec 2025; earlier ones 1 May 2026.
        (ENGLAND_SOCIAL, date(2025, 12, 1), date(2025, 12, 1)),
        (ENGLAND_SOCIAL, date(2025, 11, 30), date(2026, 5, 1)),
        # SR 2024/201: new tenancies 1 Apr 2025, older ones 1 Dec 2025.
        (NI_PRIVATE, date(2025, 4, 1), date(2025, 4, 1)),
        (NI_PRIVATE, date(2025, 3, 31), date(2025, 12, 1)),
    ],
)
def test_a_report_dated_the_day_a_rule_begins_and_the_day_before(place, tenancy, begins):
    first = remedy(Code.C2, begins, place, tenancy_granted_on=tenancy)
    before = remedy(Code.C2, begins - DAY, place, tenancy_granted_on=tenancy)
    assert (first.on, first.legal) == (begins + 27 * DAY, True)
    assert (before.on, before.legal) == (begins + 363 * DAY, False)  # the policy of this test


@pytest.mark.parametrize(
    "place", [WALES_PRIVATE, SCOTLAND_PRIVATE, SCOTLAND_SOCIAL, (Nation.NORTHERN_IRELAND, Tenure.SOCIAL_RENTED)]
)
def test_no_number_of_days_was_found_elsewhere(place):
    # Wales: regulation 6 as read; Scotland: Annex D3 as read; NI: social homes are not covered.
    assert not remedy(Code.C2, date(2026, 12, 1), place).legal


@pytest.mark.parametrize("place", [ENGLAND_PRIVATE, ENGLAND_SOCIAL, NI_PRIVATE, SCOTLAND_PRIVATE, SCOTLAND_SOCIAL])
def test_intervals_of_no_more_than_5_years(place):
    # gov.uk guidance of 1 Nov 2025; nisr/2024/201; gov.scot Annex D3; ESF on social homes.
    deadline = inspect(date(2026, 11, 24), place, recommended_on=date(2036, 11, 24))
    assert (deadline.on, deadline.legal) == (date(2031, 11, 24), True)


def test_wales_counts_5_years_beginning_with_the_inspection():
    # WSI 2022/6 reg 6 (legislation.gov.uk).
    deadline = inspect(date(2025, 3, 10), WALES_PRIVATE, recommended_on=date(2035, 3, 10))
    assert (deadline.on, deadline.legal) == (date(2030, 3, 9), True)


@pytest.mark.parametrize(
    ("place", "legal"),
    [(ENGLAND_PRIVATE, True), (NI_PRIVATE, True), (WALES_PRIVATE, True), (SCOTLAND_PRIVATE, False)],
)
def test_a_shorter_interval_in_the_report_wins(place, legal):
    # "or shorter if the last report says so": SI 2020/312, SR 2024/201; "or to the earlier date the
    # report states": WSI 2022/6. The Scottish text as read says nothing of it.
    deadline = inspect(date(2026, 11, 24), place, recommended_on=date(2027, 11, 24))
    assert (deadline.on, deadline.legal) == (date(2027, 11, 24), legal)


def test_a_shorter_limit_in_the_report_is_the_law_s_limit_in_england():
    # SI 2020/312 reg 3: "28 days, or the shorter period in the report".
    deadline = remedy(Code.C2, date(2026, 12, 1), ENGLAND_PRIVATE, report_limit_days=14)
    assert (deadline.on, deadline.legal) == (date(2026, 12, 14), True)


@pytest.mark.parametrize(
    ("place", "tenancy", "first_by"),
    [
        # Existing tenancies: by 1 Apr 2021 (SI 2020/312); before 1 Nov 2026 (SI 2025/1043, as
        # reported); by 1 Dec 2025 (SR 2024/201); from 1 Dec 2023 (year of grace in Wales).
        (ENGLAND_PRIVATE, OLD_TENANCY, date(2021, 4, 1)),
        (ENGLAND_SOCIAL, OLD_TENANCY, date(2026, 10, 31)),
        (NI_PRIVATE, OLD_TENANCY, date(2025, 12, 1)),
        (WALES_PRIVATE, OLD_TENANCY, date(2023, 12, 1)),
    ],
)
def test_an_inspection_older_than_the_rule_is_due_when_it_began_to_bind(place, tenancy, first_by):
    deadline = inspect(date(2014, 6, 1), place, recommended_on=date(2034, 6, 1), tenancy_granted_on=tenancy)
    assert (deadline.on, deadline.legal) == (first_by, True)
    assert deadline.basis.endswith(f"; the rule began later, so by {first_by.day} {first_by:%b} {first_by.year}.")


def test_caravans_left_the_english_rule_on_1_november_2025():
    # Solicitors' pages of 2026 on SI 2025/1043 (secondary).
    def legal(recorded_on):
        return remedy(Code.C2, recorded_on, ENGLAND_PRIVATE, premises_kind=PremisesKind.CARAVAN).legal

    assert (legal(date(2025, 10, 31)), legal(date(2025, 11, 1))) == (True, False)
    later = next_inspection(
        date(2024, 1, 1),
        nation=Nation.ENGLAND,
        tenure=Tenure.PRIVATE_RENTED,
        premises_kind=PremisesKind.CARAVAN,
        recommended_on=date(2034, 1, 1),
    )
    assert (later.on, later.legal) == (date(2034, 1, 1), False)


def test_houses_in_multiple_occupation_stay_under_licence_in_northern_ireland():
    # SR 2024/201 and the department's article.
    deadline = remedy(Code.C2, date(2026, 12, 1), NI_PRIVATE, premises_kind=PremisesKind.HMO)
    assert not deadline.legal
