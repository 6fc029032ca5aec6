"""Distances against a geodesic library and a published worked line.

The library is geographiclib (C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87, 2013, 43-55), on WGS 84. How far
a sphere may be off follows from the ellipsoid's own radii of curvature: nowhere are they below a(1 - e²), along the
meridian at the equator, nor above a²/b, at the poles (any textbook of geodesy).
"""

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given
from hypothesis import strategies as st

from remedials.visits.rules.travel import EARTH_RADIUS_KM, great_circle_km

WGS84 = Geodesic.WGS84
SMALLEST = WGS84.a * (1 - WGS84.f) ** 2 / 1000  # km
LARGEST = WGS84.a / (1 - WGS84.f) / 1000
TOO_LONG = EARTH_RADIUS_KM / SMALLEST - 1  # a sphere's distance is at most this much too long: 0.56 %
TOO_SHORT = 1 - EARTH_RADIUS_KM / LARGEST  # and at most this much too short: 0.45 %


def geodesic_km(a, b):
    return WGS84.Inverse(*a, *b)["s12"] / 1000


def degrees(low, high):
    return st.floats(low, high, allow_nan=False, allow_infinity=False)


def test_what_the_flattening_can_amount_to():
    assert (round(TOO_LONG * 100, 2), round(TOO_SHORT * 100, 2)) == (0.56, 0.45)


@given(degrees(-89, 89), degrees(-180, 180), degrees(-1.5, 1.5), degrees(-1.5, 1.5))
def test_anywhere_the_great_circle_is_within_what_the_flattening_allows(latitude, longitude, up, along):
    a, b = (latitude, longitude), (max(-90, min(90, latitude + up)), longitude + along)
    true = geodesic_km(a, b)
    if true > 0.001:
        assert -TOO_SHORT - 1e-6 <= great_circle_km(a, b) / true - 1 <= TOO_LONG + 1e-6


@given(degrees(49.8, 60.9), degrees(-8.2, 1.8), degrees(49.8, 60.9), degrees(-8.2, 1.8))
def test_within_the_united_kingdom_it_is_within_0_4_percent(lat_a, lon_a, lat_b, lon_b):
    true = geodesic_km((lat_a, lon_a), (lat_b, lon_b))
    if true > 0.001:
        assert great_circle_km((lat_a, lon_a), (lat_b, lon_b)) == pytest.approx(true, rel=0.004)


# Flinders Peak to Buninyong: the worked line of the Geocentric Datum of Australia Technical Manual (ICSM), 54 972.271 m
# on GRS 80, which differs from WGS 84 by less than a tenth of a millimetre in its axes. Values from memory.
FLINDERS_PEAK = (-(37 + 57 / 60 + 3.72030 / 3600), 144 + 25 / 60 + 29.52440 / 3600)
BUNINYONG = (-(37 + 39 / 60 + 10.15610 / 3600), 143 + 55 / 60 + 35.38390 / 3600)


def test_a_published_worked_line():
    assert geodesic_km(FLINDERS_PEAK, BUNINYONG) == pytest.approx(54.972271, abs=1e-6)
    assert great_circle_km(FLINDERS_PEAK, BUNINYONG) == pytest.approx(54.972271, rel=0.004)


def test_another_published_distance():
    """Wellington to Salamanca, 19 959 679.267 m: the first example in geographiclib's own guide (from memory)."""
    wellington, salamanca = (-41.32, 174.81), (40.96, -5.50)
    assert geodesic_km(wellington, salamanca) == pytest.approx(19959.679267, abs=1e-5)
    assert great_circle_km(wellington, salamanca) == pytest.approx(19959.679267, rel=TOO_LONG)


def test_a_quarter_of_a_meridian_is_the_metre_s_old_definition():
    """10 000 km from equator to pole by the definition of 1791; a sphere of the mean radius has 10 007.6."""
    assert great_circle_km((0, 0), (90, 0)) == pytest.approx(10_000, rel=0.001)
    assert great_circle_km((0, 0), (0, 180)) == pytest.approx(2 * great_circle_km((0, 0), (90, 0)))
