from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base.errors import ValidityError
from missionsim.physics import geodesy

LATITUDES = st.floats(-89.9, 89.9)
LONGITUDES = st.floats(-180, 180)
COURSES = st.floats(0, 359.99)


def _apart(a_deg, b_deg):
    return abs((a_deg - b_deg + 180.0) % 360.0 - 180.0)


@given(LATITUDES, LONGITUDES, COURSES, st.floats(0.1, 3_000))
def test_destination_and_distance_are_inverse(lat, lon, course, distance):
    lat2, lon2 = geodesy.destination(lat, lon, course, distance)
    found, there, _ = geodesy.distance_course(lat, lon, lat2, lon2)
    assert found == pytest.approx(distance, abs=1e-6)
    assert _apart(there, course) * distance * np.cos(np.deg2rad(lat)) < 1e-3


@given(LATITUDES, LONGITUDES, LATITUDES, LONGITUDES)
def test_the_way_back_is_as_long(lat1, lon1, lat2, lon2):
    there = geodesy.distance_course(lat1, lon1, lat2, lon2)[0]
    assert geodesy.distance_course(lat2, lon2, lat1, lon1)[0] == pytest.approx(there, abs=1e-6)
    assert 0.0 <= there < 10_802.0


@given(LATITUDES, LONGITUDES, LATITUDES, LONGITUDES)
def test_sphere_is_within_the_stated_error(lat1, lon1, lat2, lon2):
    exact = geodesy.distance_course(lat1, lon1, lat2, lon2)[0]
    assert geodesy.haversine_nm(lat1, lon1, lat2, lon2) == pytest.approx(exact, rel=0.006, abs=1e-6)


@given(st.floats(24, 50), st.floats(-125, -66), st.floats(24, 50), st.floats(-125, -66))
def test_sphere_is_closer_at_middle_latitudes(lat1, lon1, lat2, lon2):
    exact = geodesy.distance_course(lat1, lon1, lat2, lon2)[0]
    assert geodesy.haversine_nm(lat1, lon1, lat2, lon2) == pytest.approx(exact, rel=0.004, abs=1e-6)


@given(LATITUDES, LONGITUDES, COURSES, st.floats(1, 2_000))
def test_points_divide_the_way(lat, lon, course, distance):
    lat2, lon2 = geodesy.destination(lat, lon, course, distance)
    lats, lons, _ = geodesy.points_along(lat, lon, lat2, lon2, [0.0, 0.25, 1.0])
    legs = [geodesy.distance_course(lats[i], lons[i], lats[i + 1], lons[i + 1])[0] for i in (0, 1)]
    assert legs == pytest.approx([0.25 * distance, 0.75 * distance], abs=1e-5)
    assert (lats[2], lons[2] % 360) == pytest.approx((lat2, lon2 % 360), abs=1e-7)


def test_points_carry_their_course():
    distance, leaving, arriving = geodesy.distance_course(40.97, -98.31, 45.54, -122.95)
    _, _, course = geodesy.points_along(40.97, -98.31, 45.54, -122.95, [0, 0.5, 1])
    assert course[[0, 2]] == pytest.approx([leaving, arriving], abs=1e-9)
    assert arriving < course[1] < leaving  # a westbound great circle in the north turns left
    assert distance > 1_000


def test_across_the_date_line():
    assert geodesy.distance_course(10, 179.5, 10, -179.5) == pytest.approx(geodesy.distance_course(10, 20, 10, 21))
    assert geodesy.haversine_nm(10, 179.5, 10, -179.5) == pytest.approx(float(geodesy.haversine_nm(10, 20, 10, 21)))
    lat, lon, course = geodesy.points_along(0, 179, 0, -179, [0.25, 0.75])
    assert lat == pytest.approx([0, 0], abs=1e-12)
    assert lon == pytest.approx([179.5, -179.5])
    assert course == pytest.approx([90, 90])
    assert geodesy.along_track_nm(0, -180, 0, 179, 0, -179) == pytest.approx(60.04, abs=0.01)


def test_over_the_pole():
    distance, leaving, arriving = geodesy.distance_course(89, 0, 89, 180)
    assert distance == pytest.approx(2 * geodesy.distance_course(89, 0, 90, 0)[0])
    assert (leaving, arriving) == pytest.approx((0, 180))
    assert geodesy.points_along(89, 0, 89, 180, [0.5])[0] == pytest.approx([90.0])
    assert geodesy.haversine_nm(90, 0, 90, 123) == pytest.approx(0.0, abs=1e-9)
    assert geodesy.distance_course(90, 0, -90, 0)[0] == pytest.approx(2 * 10_001_965.729 / 1_852)


def test_antipodes_and_coincident_places_on_the_sphere():
    assert geodesy.haversine_nm(0, 0, 0, 180) == pytest.approx(np.pi * geodesy.MEAN_RADIUS_NM)
    assert geodesy.haversine_nm(41, -98, 41, -98) == 0.0


def test_a_way_of_no_length_has_course_zero():
    assert geodesy.distance_course(41, -98, 41, -98) == (0.0, 0.0, 0.0)
    lat, lon, course = geodesy.points_along(41, -98, 41, -98, [0, 1])
    assert (lat.tolist(), lon.tolist(), course.tolist()) == ([41, 41], [-98, -98], [0, 0])


def test_a_hair_west_of_north_is_north_and_not_360():
    assert geodesy.distance_course(0, 0, 10, -1e-15)[1:] == (0.0, 0.0)
    _, _, course = geodesy.points_along(0, 0, 10, -1e-15, [0, 1])
    assert course.tolist() == [0.0, 0.0]


def test_single_fraction_and_none_at_all():
    assert geodesy.points_along(41, -98, 42, -98, 0.0)[0] == pytest.approx([41])
    assert [a.shape for a in geodesy.points_along(41, -98, 42, -98, [])] == [(0,)] * 3


@given(st.floats(-60, 60), LONGITUDES, COURSES, st.floats(50, 1_500), st.floats(-300, 300), st.floats(0, 1))
def test_offsets_from_the_track(lat, lon, course, distance, beside, share):
    # Built on the ellipsoid, measured on the sphere: the spherical error is the tolerance.
    lat2, lon2 = geodesy.destination(lat, lon, course, distance)
    on_lat, on_lon, on_course = (a[0] for a in geodesy.points_along(lat, lon, lat2, lon2, [share]))
    place = geodesy.destination(on_lat, on_lon, on_course + 90.0, beside)
    along = geodesy.along_track_nm(*place, lat, lon, lat2, lon2)
    error = 0.006 * (distance + abs(beside)) + 0.01
    assert along == pytest.approx(share * distance, abs=error)


def test_many_tracks_at_once():
    lat1, lon1 = np.zeros((3, 1)), np.zeros((3, 1))
    found = geodesy.along_track_nm(np.ones(5), np.arange(5.0), lat1, lon1, lat1, np.array([[1.0], [2.0], [-1.0]]))
    assert found.shape == (3, 5)
    assert (found[:2, 1:] > 0).all()
    assert (found[2, 1:] < 0).all()


@pytest.mark.parametrize("call", [
    lambda: geodesy.along_track_nm(1, 1, 5, 5, 5, 5), lambda: geodesy.along_track_nm(1, 1, 0, 0, 0, 180)])
def test_no_track_without_two_places(call):
    with pytest.raises(ValidityError, match="two different places"):
        call()


@pytest.mark.parametrize(("call", "match"), [
    (lambda: geodesy.distance_course(90.1, 0, 0, 0), "latitude in degrees is 90.1; valid from -90 to 90"),
    (lambda: geodesy.distance_course(0, 0, 0, 361), "longitude in degrees is 361"),
    (lambda: geodesy.points_along(0, 0, -98.3, 40.9, [0]), "latitude in degrees is -98.3"),
    (lambda: geodesy.destination(float("nan"), 0, 0, 1), "latitude in degrees is nan")])
def test_places_off_the_earth(call, match):
    with pytest.raises(ValidityError, match=match):
        call()
