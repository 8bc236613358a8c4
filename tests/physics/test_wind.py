from __future__ import annotations

import numpy as np
import pytest
import wind_triangle as reference
from hypothesis import given
from hypothesis import strategies as st

from missionsim.physics import wind

COURSES = st.floats(0, 360)
SPEEDS = st.floats(0, 90)


# Eight winds of 20 kt against a course of north: headwind and crosswind (right positive).
ROOT = 20 / np.sqrt(2)
QUADRANTS = [(360, 20, 0), (45, ROOT, ROOT), (90, 0, 20), (135, -ROOT, ROOT), (180, -20, 0), (225, -ROOT, -ROOT),
             (270, 0, -20), (315, ROOT, -ROOT)]


@pytest.mark.parametrize(("wind_from", "head", "cross"), QUADRANTS)
@pytest.mark.parametrize("course", [0, 90, 180, 270, 359])
def test_signs_in_every_quadrant(wind_from, head, cross, course):
    found = reference.components(course, wind_from + course, 20)
    assert found == pytest.approx((head, cross), abs=1e-9)


@pytest.mark.parametrize(("wind_from", "u", "v"), [(360, 0, -20), (90, -20, 0), (180, 0, 20), (270, 20, 0),
                                                   (225, ROOT, ROOT), (315, ROOT, -ROOT), (45, -ROOT, -ROOT),
                                                   (135, -ROOT, ROOT)])
def test_direction_is_where_the_wind_comes_from(wind_from, u, v):
    assert wind.uv_kt(wind_from, 20) == pytest.approx((u, v), abs=1e-9)
    assert wind.from_uv(u, v) == pytest.approx((wind_from, 20), abs=1e-9)


def test_north_is_360_and_calm_is_0():
    assert wind.from_uv(0.0, -5.0) == (360.0, 5.0)
    assert wind.from_uv(0.0, 0.0) == (0.0, 0.0)
    assert wind.from_uv(-0.0, 0.0) == (0.0, 0.0)
    direction, speed = wind.from_uv([0.0, 0.0, 1e-18], [0.0, -1.0, -1.0])
    assert direction.tolist() == [0.0, 360.0, 360.0]
    assert speed.tolist() == [0.0, 1.0, 1.0]


@given(st.floats(0.001, 360), st.floats(0.1, 200))
def test_direction_and_speed_round_trip(wind_from, speed):
    found_from, found = wind.from_uv(*wind.uv_kt(wind_from, speed))
    assert found == pytest.approx(speed)
    assert found_from == pytest.approx(wind_from, abs=1e-9)


@given(COURSES, COURSES, SPEEDS)
def test_components_of_motion_equal_components_of_direction(course, wind_from, speed):
    assert reference.components_of_uv(course, *wind.uv_kt(wind_from, speed)) == pytest.approx(
        reference.components(course, wind_from, speed), abs=1e-9)


@given(COURSES, COURSES, SPEEDS)
def test_the_other_way_has_the_opposite_wind(course, wind_from, speed):
    there = np.array(reference.components(course, wind_from, speed))
    back = np.array(reference.components(course + 180, wind_from, speed))
    assert there == pytest.approx(-back, abs=1e-9)


@given(COURSES, st.floats(95, 250), COURSES, SPEEDS)
def test_flying_the_heading_makes_good_the_course(course, tas, wind_from, speed):
    found = reference.wind_triangle(course, tas, wind_from, speed)
    assert found.solvable
    assert 0.0 <= found.heading_deg < 360.0
    track, groundspeed = reference.track_of_heading(found.heading_deg, tas, wind_from, speed)
    assert groundspeed == pytest.approx(float(found.groundspeed_kt), abs=1e-9)
    assert abs((track - course + 180) % 360 - 180) < 1e-9


@given(st.floats(60, 250), st.floats(-50, 50), st.floats(-50, 50), st.floats(0.1, 9))
def test_more_headwind_is_never_faster_and_crosswind_costs(tas, head, cross, more):
    speed, _ = reference.groundspeed_kt(tas, head, cross)
    assert reference.groundspeed_kt(tas, head + more, cross)[0] < speed or speed == 0.0
    assert reference.groundspeed_kt(tas, head, cross)[0] == reference.groundspeed_kt(tas, head, -cross)[0]
    assert speed <= tas - head + 1e-9


@given(st.floats(100, 250), st.floats(0, 80), st.floats(-50, 50), st.floats(1, 50))
def test_a_faster_aircraft_loses_a_smaller_share(tas, head, cross, faster):
    slow = reference.groundspeed_kt(tas, head, cross)[0] / tas
    fast = reference.groundspeed_kt(tas + faster, head, cross)[0] / (tas + faster)
    assert fast >= slow - 1e-12 or head < 0


@given(st.floats(100, 250), st.floats(-60, 60), st.floats(-60, 60))
def test_out_and_back_is_never_quicker_than_in_still_air(tas, head, cross):
    assert reference.out_and_back_h(300, tas, head, cross) >= reference.out_and_back_h(300, tas, 0) - 1e-9


@pytest.mark.parametrize(("tas", "head", "cross"), [
    (100, 0, 101), (100, -20, 101), (100, 100, 0), (100, 140, 0), (100, 90, 60), (0, -20, 0), (0, 0, 0), (np.nan, 0, 0),
    (100, np.nan, 0), (100, 0, np.nan)])
def test_no_progress_is_said_and_is_zero(tas, head, cross):
    speed, solvable = reference.groundspeed_kt(tas, head, cross)
    assert not solvable
    assert speed == 0.0


def test_crosswind_as_strong_as_the_airspeed_drifts_along_with_a_tailwind():
    speed, solvable = reference.groundspeed_kt(100, -10, 100)
    assert solvable
    assert speed == 10.0


def test_an_array_marks_only_the_hopeless_rows():
    found = reference.wind_triangle([90, 90, 90], 120, [45, 0, 90], [40, 130, 130])
    assert found.solvable.tolist() == [True, False, False]
    assert found.groundspeed_kt[1:].tolist() == [0.0, 0.0]
    assert np.isfinite(found.heading_deg).all()
    assert found.wca_deg[0] < 0


def test_shapes_broadcast():
    found = reference.wind_triangle(np.zeros((3, 1)), 120, np.zeros((1, 4)), 10)
    assert found.groundspeed_kt.shape == found.heading_deg.shape == found.wca_deg.shape == (3, 4)


def test_track_without_motion_is_the_heading():
    track, speed = reference.track_of_heading(90, 0, 0, 0)
    assert track == pytest.approx(90)
    assert speed == 0.0


def test_time_without_groundspeed_is_infinite_unless_there_is_no_way():
    assert reference.time_h([100, 100, 0, 0], [50, 0, 0, 80]).tolist() == [2.0, np.inf, 0.0, 0.0]
    assert reference.out_and_back_h(100, 100, 100) == np.inf


def test_tiny_negative_angle_does_not_round_up_to_360():
    track, _ = reference.track_of_heading(-1e-18, 100, 0, 0)
    assert track == 0.0
    assert reference.wind_triangle(360, 100, 0, 0).heading_deg == 0.0
