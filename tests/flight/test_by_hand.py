"""Flights worked out by hand where a small mistake would pass every property."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from flight_cases import LEVELS_FT, air, limits, only, table

from missionsim.base.assumptions import packaged_assumptions
from missionsim.flight.batch import plan_rows
from missionsim.flight.minima import Crew, takeoff_minimum
from missionsim.flight.rules import oxygen_allows
from missionsim.flight.segments import Segments, fly, still_air


class Lighter:
    """Ten knots quicker for every hundred pounds under 3,000."""

    def cruise(self, level_ft, isa_deviation_c, weight_lb):
        return 100.0 + (3000.0 - weight_lb) / 10.0, np.full(np.shape(weight_lb), 10.0)

    def climb(self, from_ft, to_ft, isa_deviation_c, weight_lb):
        return np.array([0.1]), np.array([2.0]), np.array([10.0])

    def descent(self, from_ft, to_ft, isa_deviation_c, weight_lb):
        return 3000.0 - weight_lb, np.array([1.0]), np.array([20.0])

    def climb_rate_fpm(self, level_ft, isa_deviation_c, weight_lb):
        return weight_lb


def test_cruise_is_at_the_weight_half_way_and_the_descent_at_that_on_arrival():
    parts = still_air(Lighter(), np.zeros(1), np.zeros(1), np.array([5000.0]), np.array([212.4]), np.zeros(1),
                      np.array([3000.0]), 6.0)
    # 2,988 lb after the climb: 101.2 kt for 202.4 nm are two hours, 20 gal and 120 lb; half of that is gone half way.
    assert float(parts.tas_kt[0]) == pytest.approx(100.0 + (3000.0 - 2988.0 + 60.0) / 10.0)
    assert float(parts.descent_h[0]) == pytest.approx(12.0 + 120.0)
    assert float(parts.climb_rate_fpm[0]) == 2988.0


def test_a_steep_descent_into_a_headwind_worked_by_hand():
    # Into 20 kt, climb and descent make good 35 - 5 nm; 28 are two short. The descent covers 24 - 3 nm over ground.
    parts = Segments(*(np.array([x]) for x in (0.1, 2.0, 11.0, 150.0, 10.0, 500.0, 0.15, 1.2, 24.0)))
    wind, none = np.array([20.0]), np.zeros(1)
    flown = fly(parts, np.array([28.0]), wind, none, wind, 0.0, 0.6)
    assert float(flown.flight_h[0]) == pytest.approx(0.25 - 0.15 * 2.0 / 21.0)
    assert float(flown.fuel_gal[0]) == pytest.approx(3.2 - 1.2 * 2.0 / 21.0)


def test_a_gallon_counts_as_hours_where_cost_decides():
    miles = np.array([300.0])
    grid = table(miles)
    each = [plan_rows(grid, air(np.zeros(1)), only(k, 1), np.zeros(1)) for k in range(len(LEVELS_FT))]
    hours, gallons = (np.array([float(getattr(p, name)[0, 0]) for p in each]) for name in ("flight_h", "fuel_gal"))
    for price in (0.0, 0.05, 10.0):
        found = plan_rows(grid, air(np.zeros(1)), limits(1), np.zeros(1), price)
        assert float(found.level_ft[0, 0]) == LEVELS_FT[np.argmin(hours + price * gallons)]
    assert np.argmin(hours) != np.argmin(gallons)


def test_an_autopilot_takes_its_relief_off_the_ceiling_to_depart():
    crew = Crew(instrument=True, current=True, panel="lpv", autopilot=True, ceiling_addition_ft=0.0,
                visibility_addition_sm=0.0)
    a = packaged_assumptions()
    assert takeoff_minimum(crew, a) == (600.0 - 150.0, 1.5)
    assert takeoff_minimum(replace(crew, autopilot=False), a) == (600.0, 1.5)


def test_the_half_hour_is_for_those_whose_own_limit_is_the_law():
    assert bool(oxygen_allows(13_000.0, 0.4, oxygen=False, oxygen_free_ft=12_500.0))
    assert not bool(oxygen_allows(13_000.0, 0.4, oxygen=False, oxygen_free_ft=10_000.0))
