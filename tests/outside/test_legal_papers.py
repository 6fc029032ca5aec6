"""Papers due by law against the instruments and what reports of them agree on."""

from datetime import date, timedelta

import pytest

from inspections.standards.duties import Count, Trigger, duties_at, duties_in_force
from inspections.standards.places import Nation, Tenure

DAY = timedelta(days=1)
ON = date(2026, 12, 1)
OLD_TENANCY = date(2015, 1, 1)
ENGLAND_PRIVATE = (Nation.ENGLAND, Tenure.PRIVATE_RENTED)
ENGLAND_SOCIAL = (Nation.ENGLAND, Tenure.SOCIAL_RENTED)
NI = (Nation.NORTHERN_IRELAND, Tenure.PRIVATE_RENTED)
WALES = (Nation.WALES, Tenure.PRIVATE_RENTED)
SCOTLAND = (Nation.SCOTLAND, Tenure.PRIVATE_RENTED)

# SI 2020/312 regulation 3 in reproductions, and council policies that agree: who gets what, within how many days.
ENGLAND = {
    "england.copy.tenants": (Trigger.INSPECTION, Count.OF, 28),
    "england.copy.authority": (Trigger.AUTHORITY_ASKS, Count.OF, 7),
    "england.copy.prospective-tenant": (Trigger.PROSPECTIVE_TENANT_ASKS, Count.OF, 28),
    "england.copy.new-tenant": (Trigger.NEW_OCCUPATION, Count.BEFORE, None),
    "england.confirmation.tenants": (Trigger.COMPLETION, Count.OF, 28),
    "england.confirmation.authority": (Trigger.COMPLETION, Count.OF, 28),
}


@pytest.mark.parametrize("place", [ENGLAND_PRIVATE, ENGLAND_SOCIAL])
@pytest.mark.parametrize("key", ENGLAND)
def test_england(place, key):
    found = {duty.key: duty for duty in duties_in_force(*place, ON)}[key]
    assert (found.trigger, found.count, found.number) == ENGLAND[key]


def test_social_landlords_check_equipment_every_5_years():
    # gov.uk guidance of 1 Nov 2025.
    (duty,) = duties_at(Trigger.EQUIPMENT_CHECK, *ENGLAND_SOCIAL, ON)
    assert duty.number == 5
    assert duties_at(Trigger.EQUIPMENT_CHECK, *ENGLAND_PRIVATE, ON) == ()


def test_wales_gives_14_days_starting_with_the_occupation():
    # legislation.gov.uk/wsi/2022/6/regulation/6, paragraph (3) as amended.
    found = {duty.key: duty for duty in duties_in_force(*WALES, ON)}["wales.copy.occupation"]
    assert (found.trigger, found.count, found.number) == (Trigger.NEW_OCCUPATION, Count.STARTING_WITH, 14)


@pytest.mark.parametrize(
    ("key", "trigger", "number"),
    [
        ("northern-ireland.copy.tenant", Trigger.INSPECTION, 28),
        ("northern-ireland.copy.authority", Trigger.AUTHORITY_ASKS, 7),
        ("northern-ireland.copy.prospective-tenant", Trigger.PROSPECTIVE_TENANT_ASKS, 28),
        ("northern-ireland.copy.new-tenant", Trigger.NEW_OCCUPATION, None),
        ("northern-ireland.confirmation", Trigger.COMPLETION, None),
    ],
)
def test_northern_ireland(key, trigger, number):
    # legislation.gov.uk/nisr/2024/201 and its explanatory note.
    found = {duty.key: duty for duty in duties_in_force(*NI, ON)}[key]
    assert (found.trigger, found.number) == (trigger, number)


def test_scotland_asks_for_an_inspection_before_the_tenancy():
    # gov.scot Repairing Standard guidance, Annex D3, D.52 to D.56.
    keys = [duty.key for duty in duties_at(Trigger.NEW_OCCUPATION, *SCOTLAND, ON)]
    assert "scotland.inspection.new-tenancy" in keys


@pytest.mark.parametrize(
    ("place", "tenancy", "begins"),
    [
        # gov.uk guidance (1 Jul 2020 and 1 Apr 2021); SI 2025/1043 reg 1; SR 2024/201; WSI 2022/6 and the year of
        # grace as reported.
        (ENGLAND_PRIVATE, date(2020, 7, 1), date(2020, 7, 1)),
        (ENGLAND_PRIVATE, OLD_TENANCY, date(2021, 4, 1)),
        (ENGLAND_SOCIAL, date(2025, 12, 1), date(2025, 12, 1)),
        (ENGLAND_SOCIAL, OLD_TENANCY, date(2026, 5, 1)),
        (NI, date(2025, 4, 1), date(2025, 4, 1)),
        (NI, OLD_TENANCY, date(2025, 12, 1)),
        (WALES, date(2022, 12, 1), date(2022, 12, 1)),
        (WALES, OLD_TENANCY, date(2023, 12, 1)),
    ],
)
def test_papers_are_asked_for_from_the_day_the_rule_begins(place, tenancy, begins):
    assert duties_in_force(*place, begins, tenancy_granted_on=tenancy)
    assert duties_in_force(*place, begins - DAY, tenancy_granted_on=tenancy) == ()
