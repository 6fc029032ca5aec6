"""Recommended initial intervals against Guidance Note 3, Table 3.2, as three contractors' pages
reproduce it (the guidance note itself was not read)."""

from datetime import date

import pytest

from inspections.standards.clocks import next_inspection
from inspections.standards.places import Tenure
from inspections.standards.premises_kinds import INTERVALS, PremisesKind, initial_interval

K = PremisesKind
MONTHS = {
    K.HOUSE: 120,
    K.HMO: 60,
    K.COMMUNAL: 60,
    K.COMMERCIAL: 60,
    K.EDUCATIONAL: 60,
    K.INDUSTRIAL: 36,
    K.OFFICES: 60,
    K.SHOP: 60,
    K.LABORATORY: 60,
    K.HOSPITAL: 60,
    K.MEDICAL: 12,
    K.CINEMA: 12,  # "1 to 3 years": the shorter end
    K.CHURCH: 60,
    K.LEISURE: 36,
    K.ENTERTAINMENT: 36,
    K.HOTEL: 60,
    K.THEATRE: 36,
    K.PUBLIC_HOUSE: 60,
    K.VILLAGE_HALL: 60,
    K.AGRICULTURAL: 36,
    K.CARAVAN: 36,
    K.CARAVAN_PARK: 12,
    K.HIGHWAY: 72,  # "6 to 8 years": the shorter end
    K.MARINA: 12,
    K.FISH_FARM: 12,
    K.SWIMMING_POOL: 12,
    K.LAUNDERETTE: 12,
    K.PETROL_STATION: 12,
    K.CONSTRUCTION_SITE: 3,
    K.OTHER: None,
}


def test_intervals_are_those_of_the_table():
    assert {kind: interval.months for kind, interval in INTERVALS.items()} == MONTHS


@pytest.mark.parametrize(
    ("tenure", "months"),
    [
        (None, 120),
        (Tenure.OWNER_OCCUPIED, 120),
        (Tenure.NOT_A_HOME, 120),
        (Tenure.PRIVATE_RENTED, 60),
        (Tenure.SOCIAL_RENTED, 60),
    ],
)
def test_a_rented_house_has_5_years_and_an_owner_s_10(tenure, months):
    assert initial_interval(K.HOUSE, tenure).months == months


@pytest.mark.parametrize("kind", [K.HOUSE, K.HMO, K.COMMUNAL, K.COMMERCIAL])
def test_rows_that_name_a_change_of_occupancy(kind):
    assert initial_interval(kind, None).at_change_of_occupancy


def test_the_initial_interval_counts_only_where_no_report_states_a_date():
    inspected = date(2026, 2, 3)
    plain = {"nation": None, "tenure": None, "premises_kind": K.INDUSTRIAL}
    assert next_inspection(inspected, **plain).on == date(2029, 2, 3)
    assert next_inspection(inspected, recommended_on=date(2031, 2, 3), **plain).on == date(2031, 2, 3)
