"""Geodesics against published lines and an independent sphere."""

from __future__ import annotations

import pytest
from geographiclib.geodesic import Geodesic
from geopy.distance import geodesic as geopy_geodesic

from missionsim.physics.geodesy import destination, distance_course, haversine_nm, points_along

pytestmark = pytest.mark.published


def _dms(degrees, minutes, seconds):
    return degrees + minutes / 60.0 + seconds / 3600.0


def test_library_on_the_australian_line():
    # Source: Australian geodetic datum technical manual, Flinders Peak to Buninyong on GRS 80 (from memory, confirmed).
    # The ellipsoid is not ours, so this checks the library that `geodesy` rests on.
    line = Geodesic(6_378_137.0, 1.0 / 298.257222101).Inverse(
        -_dms(37, 57, 3.72030), _dms(144, 25, 29.52440), -_dms(37, 39, 10.15610), _dms(143, 55, 35.38390))
    assert line["s12"] == pytest.approx(54_972.271, abs=0.001)
    assert line["azi1"] % 360 == pytest.approx(_dms(306, 52, 5.37), abs=0.01 / 3600)
    assert (line["azi2"] + 180) % 360 == pytest.approx(_dms(127, 10, 25.07), abs=0.01 / 3600)


def test_our_ellipsoid_on_the_australian_line():
    # Same line on WGS 84, whose flattening differs in the ninth digit only: the same to the millimetre.
    distance, course, arrival = distance_course(
        -_dms(37, 57, 3.72030), _dms(144, 25, 29.52440), -_dms(37, 39, 10.15610), _dms(143, 55, 35.38390))
    assert distance * 1852.0 == pytest.approx(54_972.271, abs=0.001)
    assert course == pytest.approx(_dms(306, 52, 5.37), abs=0.01 / 3600)
    assert (arrival + 180) % 360 == pytest.approx(_dms(127, 10, 25.07), abs=0.01 / 3600)


def test_across_the_atlantic():
    # Source: GeographicLib documentation, example of the inverse problem, WGS 84.
    distance, course, arrival = distance_course(40.6, -73.8, 51.6, -0.5)
    assert distance * 1852.0 == pytest.approx(5_551_759.400, abs=0.001)
    assert course == pytest.approx(51.1988828, abs=5e-8)
    assert arrival == pytest.approx(107.8217767, abs=5e-8)


def test_quarter_meridian():
    # Source: the quarter meridian of WGS 84.
    assert distance_course(0, 25, 90, 25)[0] * 1852.0 == pytest.approx(10_001_965.729, abs=0.001)


# Source: airport positions of an open airport list; distances by geographiclib 2.1, confirmed with PROJ to 1 mm;
# sphere of 6,371,008.77 m. Columns: from, to, lat, lon, lat, lon, nm, course, arrival, midpoint lat, lon, sphere nm.
PAIRS = [
    ("KFRG", "KACK", 40.729274, -73.413421, 41.253299, -70.060511, 155.5367, 77.2487, 79.4484, 41.00348, -71.74360,
     155.1634),
    ("KPDK", "KCHA", 33.876002, -84.302031, 35.035194, -85.203556, 82.5926, 327.4637, 326.9536, 34.45646, -84.74968,
     82.6789),
    ("KPAO", "KTRK", 37.461121, -122.115047, 39.320056, -120.139583, 145.2444, 39.2988, 40.5259, 38.39482, -121.13996,
     145.2480),
    ("KADS", "KAUS", 32.968554, -96.836453, 30.194527, -97.669876, 171.4844, 194.6434, 194.2068, 31.58237, -97.25934,
     171.9205),
    ("KBJC", "KSDL", 39.908806, -105.117194, 33.622881, -111.910531, 498.7950, 223.0917, 219.0164, 36.81512, -108.65278,
     498.8677),
    ("KTEB", "KORF", 40.850102, -74.060833, 36.895631, -76.198865, 257.3182, 203.5889, 202.2462, 38.87809, -75.15948,
     257.5815),
    ("KVNY", "KLAS", 34.209806, -118.489972, 36.080343, -115.152449, 198.7867, 54.7407, 56.6626, 35.15664, -116.84031,
     198.6286),
    ("KPWK", "KDTW", 42.114883, -87.901993, 42.212431, -83.353393, 203.0234, 86.8227, 89.8768, 42.18621, -85.62944,
     202.4910),
]


@pytest.mark.parametrize("pair", PAIRS, ids=lambda p: f"{p[0]}-{p[1]}")
def test_airport_pairs(pair):
    _, _, lat1, lon1, lat2, lon2, nm, course, arrival, middle_lat, middle_lon, sphere_nm = pair
    assert distance_course(lat1, lon1, lat2, lon2) == pytest.approx((nm, course, arrival), abs=0.001)
    assert haversine_nm(lat1, lon1, lat2, lon2) == pytest.approx(sphere_nm, abs=0.001)
    lat, lon, _ = points_along(lat1, lon1, lat2, lon2, [0.5])
    assert (lat[0], lon[0]) == pytest.approx((middle_lat, middle_lon), abs=1e-5)
    assert destination(lat1, lon1, course, nm) == pytest.approx((lat2, lon2), abs=3e-4)
    assert geopy_geodesic((lat1, lon1), (lat2, lon2)).nm == pytest.approx(nm, abs=0.001)


def test_sphere_is_off_by_a_quarter_percent():
    # Source: the same pairs: up to 0.26 %, opposite in sign on east-west and north-south legs.
    errors = [p[11] / p[6] - 1 for p in PAIRS]
    found = [haversine_nm(*p[2:6]) / distance_course(*p[2:6])[0] - 1 for p in PAIRS]
    assert found == pytest.approx(errors, abs=2e-5)
    assert max(map(abs, found)) == pytest.approx(0.0026, abs=5e-5)
