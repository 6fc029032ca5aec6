"""Driving: the reckoning, the table by district, and places that nobody knows."""

import pytest

from remedials.visits.rules.travel import Place, district, driving, great_circle_km, matrix, unknown

OFFICE = Place("office", "The office", 53.0, -1.5, "ZX1 1AA")
MILL = Place("mill", "Old mill", 53.1, -1.5, "ZX2 3BB")
QUAY = Place("quay", "Quay house", None, None, "ZX3 4CC")
BARN = Place("barn", "Long barn", None, None)


@pytest.mark.parametrize(
    ("postcode", "expected"),
    [
        ("LS1 4AP", "LS1"),
        ("ls14ap", "LS1"),
        ("  M1  1AE ", "M1"),
        ("EC1A 1BB", "EC1A"),
        ("W1A0AX", "W1A"),
        ("DN55 1PT", "DN55"),
        ("B33 8TH", "B33"),
        ("CR2 6XH", "CR2"),
        ("LS14", "LS14"),
        ("", ""),
        ("4AP", ""),
        ("somewhere", ""),
        ("LS1 4A", ""),
    ],
)
def test_district_of_a_postcode(postcode, expected):
    assert district(postcode) == expected


def test_driving_is_the_great_circle_times_the_winding_over_the_speed():
    straight = great_circle_km((53.0, -1.5), (53.1, -1.5))
    assert round(straight, 2) == 11.12
    assert driving((53.0, -1.5), (53.1, -1.5), winding=1.3, speed_kmh=40) == (22, 14.5)  # 14.456 km: 21.7 minutes
    assert driving((53.0, -1.5), (53.0, -1.5), winding=1.3, speed_kmh=40) == (0, 0.0)


@pytest.mark.parametrize(("winding", "speed"), [(0.9, 40), (1.3, 0), (1.3, -5)])
def test_driving_refuses_what_no_road_is(winding, speed):
    with pytest.raises(ValueError, match="no shorter than the straight line"):
        driving((53.0, -1.5), (53.1, -1.5), winding=winding, speed_kmh=speed)


def test_matrix_reckons_every_pair():
    minutes, km = matrix([OFFICE, MILL], winding=1.3, speed_kmh=40)
    assert minutes == {"office": {"office": 0, "mill": 22}, "mill": {"office": 22, "mill": 0}}
    assert km == {"office": {"office": 0.0, "mill": 14.5}, "mill": {"office": 14.5, "mill": 0.0}}


def test_a_table_by_district_goes_before_the_reckoning_and_counts_both_ways_unless_both_are_given():
    table = {("ZX1", "ZX2"): (31, 19.0), ("ZX3", "ZX1"): (12, 8.0), ("ZX2", "ZX3"): (9, 5.0), ("ZX3", "ZX2"): (11, 5.5)}
    minutes, km = matrix([OFFICE, MILL, QUAY], winding=1.3, speed_kmh=40, table=table)
    assert minutes == {
        "office": {"office": 0, "mill": 31, "quay": 12},
        "mill": {"office": 31, "mill": 0, "quay": 9},
        "quay": {"office": 12, "mill": 11, "quay": 0},
    }
    assert (km["mill"]["quay"], km["quay"]["mill"]) == (5.0, 5.5)


def test_a_table_may_say_that_there_is_no_driving():
    minutes, _ = matrix([OFFICE, MILL], winding=1.3, speed_kmh=40, table={("ZX1", "ZX2"): (0, 0.0)})
    assert minutes["office"]["mill"] == 0


def test_missing_places_are_named_and_not_guessed():
    assert unknown([OFFICE, MILL]) == []
    assert unknown([OFFICE, QUAY, BARN]) == ["Long barn", "Quay house"]
    assert unknown([OFFICE, QUAY], {("ZX1", "ZX3"): (12, 8.0)}) == []
    assert unknown([OFFICE, MILL, QUAY], {("ZX1", "ZX3"): (12, 8.0)}) == ["Quay house"]
    with pytest.raises(ValueError, match=r"^It is not known where these are: Long barn\.$"):
        matrix([OFFICE, BARN], winding=1.3, speed_kmh=40)
