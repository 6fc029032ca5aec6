"""Papers due by law: who owes what to whom, from which day a rule asks for it, and how it is counted."""

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inspections.standards.confidence import Confidence
from inspections.standards.duties import DUTIES, Count, Trigger, duties_at, duties_in_force
from inspections.standards.law import RULES
from inspections.standards.places import Nation, Tenure
from inspections.standards.premises_kinds import PremisesKind

ON = date(2026, 12, 1)
ENGLAND = (Nation.ENGLAND, Tenure.PRIVATE_RENTED)


def keys(*place, on=ON, **more):
    return [duty.key for duty in duties_in_force(*place, on, **more)]


def test_what_england_asks_of_a_private_landlord():
    assert keys(*ENGLAND) == [
        "england.inspection.new-tenancy",
        "england.copy.tenants",
        "england.copy.authority",
        "england.copy.new-tenant",
        "england.copy.prospective-tenant",
        "england.copy.next-inspector",
        "england.confirmation.obtained",
        "england.confirmation.tenants",
        "england.confirmation.authority",
    ]


def test_what_is_asked_elsewhere():
    social = keys(Nation.ENGLAND, Tenure.SOCIAL_RENTED)
    assert set(social) - set(keys(*ENGLAND)) == {"england.social.equipment"}
    assert (
        keys(Nation.WALES, Tenure.PRIVATE_RENTED)
        == keys(Nation.WALES, Tenure.SOCIAL_RENTED)
        == [
            "wales.report.occupation",
            "wales.copy.occupation",
            "wales.copy.inspection",
            "wales.confirmation",
        ]
    )
    assert keys(Nation.SCOTLAND, Tenure.PRIVATE_RENTED) == [
        "scotland.inspection.new-tenancy",
        "scotland.copy.new-tenant",
    ]
    assert keys(Nation.NORTHERN_IRELAND, Tenure.PRIVATE_RENTED) == [
        "northern-ireland.copy.tenant",
        "northern-ireland.copy.authority",
        "northern-ireland.copy.new-tenant",
        "northern-ireland.copy.prospective-tenant",
        "northern-ireland.confirmation",
    ]


@pytest.mark.parametrize(
    "place",
    [
        (Nation.ENGLAND, Tenure.OWNER_OCCUPIED),
        (Nation.ENGLAND, Tenure.NOT_A_HOME),
        (Nation.SCOTLAND, Tenure.SOCIAL_RENTED),
        (Nation.NORTHERN_IRELAND, Tenure.SOCIAL_RENTED),
        (None, Tenure.PRIVATE_RENTED),
        (Nation.ENGLAND, None),
    ],
)
def test_nothing_is_asked_where_no_rule_binds(place):
    assert keys(*place) == []


def test_what_a_rule_excludes_has_no_papers():
    assert keys(Nation.NORTHERN_IRELAND, Tenure.PRIVATE_RENTED, premises_kind=PremisesKind.HMO) == []


@pytest.mark.parametrize(
    ("trigger", "found"),
    [
        (Trigger.INSPECTION, ["england.copy.tenants"]),
        (
            Trigger.COMPLETION,
            ["england.confirmation.obtained", "england.confirmation.tenants", "england.confirmation.authority"],
        ),
        (Trigger.AUTHORITY_ASKS, ["england.copy.authority"]),
        (Trigger.PROSPECTIVE_TENANT_ASKS, ["england.copy.prospective-tenant"]),
        (Trigger.NEW_OCCUPATION, ["england.inspection.new-tenancy", "england.copy.new-tenant"]),
        (Trigger.NEXT_INSPECTION, ["england.copy.next-inspector"]),
        (Trigger.EQUIPMENT_CHECK, []),
    ],
)
def test_what_an_event_starts(trigger, found):
    assert [duty.key for duty in duties_at(trigger, *ENGLAND, ON)] == found
    assert trigger.words


def test_the_basis_names_rule_duty_counting_and_who_owes_it():
    (duty,) = duties_at(Trigger.INSPECTION, *ENGLAND, ON)
    assert duty.basis(ON) == (
        "SI 2020/312 regulation 3 (England), as amended by SI 2025/1043: a copy of the report to each existing tenant, "
        "within 28 days of the inspection on 1 Dec 2026; owed by the landlord."
    )
    deadline = duty.deadline(ON)
    assert (deadline.on, deadline.legal, deadline.caution) == (date(2026, 12, 29), True, "Check the current law.")


def test_before_an_occupation_is_its_own_day():
    found = duties_at(Trigger.NEW_OCCUPATION, *ENGLAND, ON)
    assert [duty.last_day(ON) for duty in found] == [ON, ON]
    assert "before the start of the occupation on 1 Dec 2026" in found[1].basis(ON)


def test_equipment_is_checked_every_five_years():
    (duty,) = duties_at(Trigger.EQUIPMENT_CHECK, Nation.ENGLAND, Tenure.SOCIAL_RENTED, ON)
    assert duty.last_day(date(2028, 2, 29)) == date(2033, 2, 28)
    assert "at most 5 years after the last check" in duty.basis(ON)


def test_what_was_not_read_says_so():
    (copy,) = duties_at(Trigger.INSPECTION, Nation.WALES, Tenure.PRIVATE_RENTED, ON)
    assert copy.confidence is Confidence.VERIFY
    assert copy.deadline(ON).caution == ("Check the current law. Reported, not read in the text: check the standard.")


def test_every_duty_holds_under_a_rule_that_exists():
    rules = {rule.key for rule in RULES}
    assert all(set(duty.rules) <= rules for duty in DUTIES)
    assert all((duty.number is None) == (duty.count in (Count.BEFORE, Count.AT)) for duty in DUTIES)
    assert len({duty.key for duty in DUTIES}) == len(DUTIES)


@given(
    on=st.dates(date(2010, 1, 1), date(2050, 12, 31)), nation=st.sampled_from(Nation), tenure=st.sampled_from(Tenure)
)
def test_no_deadline_lies_before_its_event(on, nation, tenure):
    for duty in duties_in_force(nation, tenure, on):
        assert on <= duty.last_day(on) <= on + timedelta(days=5 * 366)
        assert duty.basis(on).startswith(f"{duty.rule_name}: ")
