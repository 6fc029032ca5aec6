"""Make safe by, remedy by and next inspection: which limit wins, what the sentence says."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.standards.assessment import Code
from inspections.standards.clocks import Deadline, RemedyPolicy, make_safe_by, next_inspection, remedy_by
from inspections.standards.confidence import Confidence
from inspections.standards.law import RULES
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind

RECORDED = date(2026, 12, 1)
OWNER = {"nation": Nation.ENGLAND, "tenure": Tenure.OWNER_OCCUPIED}
LET = {"nation": Nation.ENGLAND, "tenure": Tenure.PRIVATE_RENTED}
DAYS = st.dates(date(2005, 1, 1), date(2060, 12, 31))


def test_c1_is_made_safe_at_once_and_no_other_code_has_that_clock():
    assert make_safe_by(Code.C1, RECORDED) == Deadline(
        RECORDED, "C1: to be made safe at once.", False, Confidence.SECONDARY
    )
    assert [make_safe_by(code, RECORDED) for code in (Code.C2, Code.FI, Code.C3)] == [None] * 3


@pytest.mark.parametrize(
    ("code", "last"), [(Code.C1, date(2026, 12, 7)), (Code.C2, date(2026, 12, 28)), (Code.FI, date(2026, 12, 28))]
)
def test_the_firm_s_policy_counts_starting_with(code, last):
    days = {Code.C1: 7}.get(code, 28)
    assert remedy_by(code, RECORDED, **OWNER) == Deadline(
        last, f"The firm's policy for {code}: {days} days starting with 1 Dec 2026.", False, Confidence.GIVEN
    )


def test_the_firm_can_set_its_own_days():
    policy = RemedyPolicy(c1_days=1, c2_days=14, fi_days=10)
    dates = [remedy_by(code, RECORDED, policy=policy, **LET).on for code in (Code.C1, Code.C2, Code.FI)]
    assert dates == [date(2026, 12, 1), date(2026, 12, 14), date(2026, 12, 10)]


def test_law_goes_before_policy_on_the_same_day():
    deadline = remedy_by(Code.C2, RECORDED, **LET)
    assert deadline.basis == (
        "SI 2020/312 regulation 3 (England), as amended by SI 2025/1043: 28 days starting with 1 Dec 2026."
    )
    assert deadline.caution == "Check the current law."


def test_a_tenancy_of_unknown_date_is_taken_as_new_and_says_so():
    deadline = remedy_by(Code.C2, date(2020, 7, 1), **LET)
    assert deadline.basis.endswith("The date of the tenancy isn't known: taken as a new one.")


def test_a_defect_that_came_without_an_inspection_has_no_legal_clock():
    deadline = remedy_by(Code.C2, RECORDED, by_inspection=False, **LET)
    assert (deadline.on, deadline.legal) == (date(2026, 12, 28), False)


@pytest.mark.parametrize(
    ("limit", "last", "basis"),
    [
        ({"report_limit_days": 14}, date(2026, 12, 14), "The report's limit: 14 days starting with 1 Dec 2026."),
        ({"report_limit_days": 0}, RECORDED, "The report's limit: 0 days starting with 1 Dec 2026."),
        ({"report_limit_on": date(2026, 12, 20)}, date(2026, 12, 20), "The report's limit: 20 Dec 2026."),
        (
            {"report_limit_days": 14, "report_limit_on": date(2026, 12, 5)},
            date(2026, 12, 5),
            "The report's limit: 5 Dec 2026.",
        ),
        ({"report_limit_days": 90}, date(2026, 12, 28), "The firm's policy for C2: 28 days starting with 1 Dec 2026."),
    ],
)
def test_the_earliest_of_report_and_policy(limit, last, basis):
    assert remedy_by(Code.C2, RECORDED, **OWNER, **limit) == Deadline(last, basis, False, Confidence.GIVEN)


def test_a_report_s_limit_is_no_law_where_the_law_gives_no_days():
    deadline = remedy_by(Code.C2, RECORDED, nation=Nation.WALES, tenure=Tenure.PRIVATE_RENTED, report_limit_days=14)
    assert (deadline.on, deadline.legal) == (date(2026, 12, 14), False)


@pytest.mark.parametrize("limit", [{"report_limit_on": date(2026, 11, 30)}, {"report_limit_days": -1}])
def test_a_report_s_limit_before_the_inspection_is_refused(limit):
    with pytest.raises(ValueError, match="The report's limit"):
        remedy_by(Code.C2, RECORDED, **OWNER, **limit)


def test_c3_is_due_by_the_next_inspection():
    deadline = remedy_by(Code.C3, RECORDED, next_inspection_on=date(2031, 12, 1), **LET)
    assert deadline == Deadline(date(2031, 12, 1), "C3: by the next inspection.", False, Confidence.GIVEN)


def test_c3_without_a_next_inspection_has_no_date_yet():
    deadline = remedy_by(Code.C3, RECORDED, **LET)
    assert deadline == Deadline(
        None, "C3: by the next inspection, whose date is not known yet.", False, Confidence.GIVEN
    )


def test_scottish_haste_without_days_is_said_beside_the_policy():
    deadline = remedy_by(Code.C2, RECORDED, nation=Nation.SCOTLAND, tenure=Tenure.PRIVATE_RENTED)
    assert deadline.basis == (
        "The firm's policy for C2: 28 days starting with 1 Dec 2026. Scottish guidance asks for C1 to be put "
        "right on discovery and C2 at once, without a number of days."
    )


def test_an_unknown_nation_or_tenure_leaves_the_policy():
    assert remedy_by(Code.C2, RECORDED, nation=None, tenure=Tenure.PRIVATE_RENTED).legal is False
    assert remedy_by(Code.C2, RECORDED, nation=Nation.ENGLAND, tenure=None).legal is False


def test_over_the_year_s_end_and_29_february():
    assert remedy_by(Code.C2, date(2027, 12, 20), **LET).on == date(2028, 1, 16)
    assert remedy_by(Code.C2, date(2028, 2, 2), **LET).on == date(2028, 2, 29)
    assert remedy_by(Code.C2, date(2027, 2, 2), **LET).on == date(2027, 3, 1)


def test_the_next_inspection_as_recommended():
    deadline = next_inspection(RECORDED, premises_kind=PremisesKind.HOUSE, recommended_on=date(2031, 12, 1), **OWNER)
    assert deadline == Deadline(date(2031, 12, 1), "Recommended by the report: 1 Dec 2031.", False, Confidence.GIVEN)


def test_the_earlier_of_a_recommended_date_and_interval():
    deadline = next_inspection(
        RECORDED,
        premises_kind=PremisesKind.HOUSE,
        recommended_on=date(2036, 12, 1),
        recommended_interval_months=12,
        **OWNER,
    )
    assert deadline.on == date(2027, 12, 1)
    assert deadline.basis == "Recommended by the report: 12 months after 1 Dec 2026."


def test_the_law_caps_what_the_report_recommends():
    deadline = next_inspection(RECORDED, premises_kind=PremisesKind.HOUSE, recommended_on=date(2036, 12, 1), **LET)
    assert deadline == Deadline(
        date(2031, 12, 1),
        "SI 2020/312 regulation 3 (England), as amended by SI 2025/1043: at most 5 years from 1 Dec 2026.",
        True,
        Confidence.READ,
    )


def test_the_initial_interval_names_its_source():
    deadline = next_inspection(RECORDED, nation=None, tenure=None, premises_kind=PremisesKind.CINEMA)
    assert deadline.on == date(2027, 12, 1)
    assert deadline.basis == (
        "No date is stated by a report; recommended initial interval for cinema: 12 months after 1 Dec 2026, "
        "the shorter end of a published 12 to 36 (IET Guidance Note 3, Table 3.2, as three contractors' pages "
        "reproduce it)."
    )
    assert deadline.caution == "Reported, not read in the text: check the standard."


def test_premises_without_a_published_interval_ask_for_a_date():
    deadline = next_inspection(RECORDED, nation=None, tenure=None, premises_kind=PremisesKind.OTHER)
    assert deadline.on is None
    assert deadline.basis == "No report states a date and no interval is published: enter a date."


@pytest.mark.parametrize(
    "recommended",
    [{"recommended_on": RECORDED}, {"recommended_on": date(2020, 1, 1)}, {"recommended_interval_months": 0}],
)
def test_a_recommended_date_not_after_the_inspection_is_refused(recommended):
    with pytest.raises(ValueError, match="must lie after 1 Dec 2026"):
        next_inspection(RECORDED, premises_kind=PremisesKind.HOUSE, **OWNER, **recommended)


def test_a_private_let_inspected_under_the_older_rule_is_capped_by_the_newer():
    deadline = next_inspection(
        date(2021, 6, 1), premises_kind=PremisesKind.HOUSE, recommended_on=date(2031, 6, 1), **LET
    )
    assert (deadline.on, deadline.legal) == (date(2026, 6, 1), True)


def test_a_recommended_date_is_legal_by_the_rule_in_force_on_that_date():
    def legal(recommended_on):
        return next_inspection(
            date(2019, 1, 1), premises_kind=PremisesKind.HOUSE, recommended_on=recommended_on, **LET
        ).legal

    assert (legal(date(2020, 6, 30)), legal(date(2020, 7, 1))) == (False, True)


def test_rules_of_a_nation_and_tenure_follow_each_other_in_time():
    for nation in Nation:
        for tenure in Tenure:
            begins = [rule.new_from for rule in RULES if rule.nation is nation and tenure in rule.tenures]
            assert begins == sorted(set(begins))


@given(
    code=st.sampled_from([Code.C1, Code.C2, Code.FI]),
    recorded=DAYS,
    nation=st.sampled_from([None, *Nation]),
    tenure=st.sampled_from([None, *Tenure]),
    days=st.none() | st.integers(0, 400),
    tenancy=st.none() | DAYS,
)
def test_no_limit_is_ever_later_than_the_policy(code, recorded, nation, tenure, days, tenancy):
    deadline = remedy_by(
        code, recorded, nation=nation, tenure=tenure, report_limit_days=days, tenancy_granted_on=tenancy
    )
    policy = recorded + timedelta(days=RemedyPolicy().days(code) - 1)
    report = recorded + timedelta(days=max(days or 1, 1) - 1) if days is not None else policy
    assert recorded <= deadline.on <= min(policy, report)


@given(
    inspected=DAYS,
    nation=st.sampled_from(Nation),
    tenure=st.sampled_from(Tenure),
    months=st.integers(1, 240),
    tenancy=st.none() | DAYS,
)
def test_the_next_inspection_is_never_later_than_recommended(inspected, nation, tenure, months, tenancy):
    deadline = next_inspection(
        inspected,
        nation=nation,
        tenure=tenure,
        premises_kind=PremisesKind.HOUSE,
        recommended_interval_months=months,
        tenancy_granted_on=tenancy,
    )
    alone = next_inspection(
        inspected,
        nation=None,
        tenure=None,
        premises_kind=PremisesKind.HOUSE,
        recommended_interval_months=months,
    )
    assert inspected < deadline.on <= alone.on
