"""Wind triangles against published worked examples."""

from __future__ import annotations

import numpy as np
import pytest
from wind_triangle import track_of_heading, wind_triangle

pytestmark = pytest.mark.published


def test_handbook_example():
    # Source: FAA-H-8083-25, navigation chapter, wind-triangle example: course 090, 120 kt, wind 045 at 40 kt gives
    # 88 kt on the plotter; heading 076 from memory. Exact figures are the vector relation worked apart.
    found = wind_triangle(90, 120, 45, 40)
    assert found.solvable
    assert found.groundspeed_kt == pytest.approx(88, abs=0.5)
    assert found.groundspeed_kt == pytest.approx(88.335, abs=0.005)
    assert found.heading_deg == pytest.approx(76, abs=0.5)
    assert found.heading_deg == pytest.approx(76.367, abs=0.005)
    assert found.wca_deg == pytest.approx(-13.633, abs=0.005)


# Source: vector relation worked apart; the third row is also printed (72.89 kt, 8.627 degrees) in a public discussion
# of pilot examinations. Columns: course, TAS, wind from, wind kt, correction, heading, groundspeed.
CASES = [
    (345, 140, 270, 35, -13.974, 331.026, 126.798),
    (180, 150, 225, 30, 8.130, 188.130, 127.279),
    (360, 100, 30, 30, 8.627, 8.627, 72.888),
    (90, 180, 290, 60, -6.546, 83.454, 235.208),
    (123, 142, 123, 37, 0.0, 123.0, 105.000),
]


@pytest.mark.parametrize(("course", "tas", "wind_from", "wind", "wca", "heading", "groundspeed"), CASES)
def test_wind_triangle(course, tas, wind_from, wind, wca, heading, groundspeed):
    found = wind_triangle(course, tas, wind_from, wind)
    assert found.wca_deg == pytest.approx(wca, abs=0.005)
    assert found.heading_deg == pytest.approx(heading, abs=0.005)
    assert found.groundspeed_kt == pytest.approx(groundspeed, abs=0.005)
    assert found.solvable


def test_all_cases_at_once_as_arrays():
    course, tas, wind_from, wind, _, _, groundspeed = np.array(CASES).T
    assert wind_triangle(course, tas, wind_from, wind).groundspeed_kt == pytest.approx(groundspeed, abs=0.005)


def test_track_of_a_heading():
    # Source: U.S. Army Air Forces, Mathematics for Air Crew Trainees, exercise 1: heading 090 at 180 mph, wind from 135
    # at 40 mph. Units cancel.
    track, groundspeed = track_of_heading(90, 180, 135, 40)
    assert track == pytest.approx(79.44, abs=0.01)
    assert groundspeed == pytest.approx(154.33, abs=0.01)


@pytest.mark.parametrize(("course", "wind_from", "wind"), [(90, 0, 130), (90, 180, 130), (0, 80, 125), (270, 190, 200)])
def test_crosswind_beyond_airspeed_is_reported(course, wind_from, wind):
    # Source: geometry: no heading holds the course, so there is no answer to clamp to.
    found = wind_triangle(course, 120, wind_from, wind)
    assert not found.solvable
    assert found.groundspeed_kt == 0.0
    assert found.heading_deg == course
    assert found.wca_deg == 0.0
