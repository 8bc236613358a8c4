"""Time, speed and distance against the handbook's basic calculations."""

from __future__ import annotations

import pytest
from wind_triangle import out_and_back_h, time_h

from missionsim.physics.units import SM_PER_NM

pytestmark = pytest.mark.published


def test_time():
    # Source: FAA-H-8083-25, navigation chapter, basic calculations: 210 nm at 140 kt takes 1:30.
    assert time_h(210, 140) == 1.5


def test_distance():
    # Source: the same: 1:45 at 120 kt covers 210 nm.
    assert time_h(210, 120) == 1.75


def test_knots_to_miles_per_hour():
    # Source: the same: 20 kt are 23 mph at the handbook's factor 1.15; exactly 23.016.
    assert pytest.approx(23, abs=0.05) == 20 * SM_PER_NM
    assert pytest.approx(23.016, abs=0.0005) == 20 * SM_PER_NM


def test_time_and_fuel_of_the_wind_triangle_example():
    # Source: FAA-H-8083-25, navigation chapter, wind-triangle example: 220 nm at 88 kt and 8 gal/h (from memory).
    assert time_h(220, 88) == 2.5
    assert time_h(220, 88) * 8 == 20.0


def test_wind_never_pays_back():
    # Source: D / (V - W) + D / (V + W), worked by hand: 300 nm each way at 120 kt, 30 kt along the track.
    assert out_and_back_h(300, 120, 30) == pytest.approx(5.333, abs=0.001)
    assert out_and_back_h(300, 120, -30) == pytest.approx(5.333, abs=0.001)
    assert out_and_back_h(300, 120, 0) == 5.0
