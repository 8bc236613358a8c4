"""Exact plans, the table they are held against, and descents on short ways."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.flight.batch import AirOnRoutes, LevelLimits, plan_rows
from missionsim.flight.leg import ExactLoads, by_level, exact_plans, table_at
from missionsim.flight.segments import Segments, fly
from missionsim.flight.table import FlightRows, FuelPolicy, build_table, interpolated

POLICY = FuelPolicy(taxi_gal=1.0, approach_gal=0.5, reserve_h=0.75, lb_per_gal=6.0)


def together(*values):
    """Return arrays of one shape."""
    return np.broadcast_arrays(*(np.asarray(value, float) for value in values))


@dataclass(frozen=True)
class Curved:
    """An aircraft whose speed is a parabola in temperature and a line in weight; no figures beyond a temperature."""

    hottest_c: float = 99.0

    def cruise(self, level_ft, isa_deviation_c, weight_lb):
        level, dev, weight = together(level_ft, isa_deviation_c, weight_lb)
        tas = 140.0 + level / 1000.0 + 0.1 * dev - 0.004 * dev**2 - 0.004 * (weight - 2500.0)
        flow = 10.0 - 0.02 * dev + 0.0 * weight
        return self._inside(dev, tas), self._inside(dev, flow)

    def climb(self, from_ft, to_ft, isa_deviation_c, weight_lb):
        low, high, dev, weight = together(from_ft, to_ft, isa_deviation_c, weight_lb)
        hours = (high - low) / 60_000.0 * (1.0 + 0.01 * dev) * weight / 2500.0
        return self._inside(dev, hours), hours * 15.0, hours * 95.0

    def descent(self, from_ft, to_ft, isa_deviation_c, weight_lb):
        high, low, _ = together(from_ft, to_ft, weight_lb)
        hours = (high - low) / 30_000.0
        return hours, hours * 8.0, hours * 150.0

    def climb_rate_fpm(self, level_ft, isa_deviation_c, weight_lb):
        level, dev, weight = together(level_ft, isa_deviation_c, weight_lb)
        return 1200.0 - level / 20.0 - 5.0 * dev - 0.2 * (weight - 2500.0)

    def _inside(self, dev, values):
        return np.where(dev <= self.hottest_c, values, np.nan)


def rows_of(distance_nm: float, levels=(3000.0, 5000.0, 7000.0)) -> FlightRows:
    one = np.ones(1)
    return FlightRows(distance_nm * one, 500.0 * one, 500.0 * one, np.array([levels]), 2500.0 * one, np.zeros(1, bool),
                2200.0 * one)


def air_of(deviation_c: float, headwind_kt: float = 0.0, levels: int = 3) -> AirOnRoutes:
    shape = (1, 1, levels)
    return AirOnRoutes(np.full(shape, headwind_kt), np.zeros(shape), np.full(shape, deviation_c),
                       np.full((1, 1), headwind_kt), np.zeros((1, 1)))


OPEN = LevelLimits(np.ones((1, 3), bool), np.ones((1, 3), bool), np.zeros(1))


@pytest.mark.parametrize("deviation_c", [-28.0, -15.0, 0.0, 7.0, 24.0])
def test_a_table_meets_what_is_a_parabola_in_temperature(deviation_c):
    rows = rows_of(300.0)
    table = build_table(Curved(), rows, POLICY, 3000.0)
    exact = table_at(Curved(), rows, np.full((1, 3), deviation_c), table.nominal_takeoff_lb, POLICY)
    quick, slow = (interpolated(t, np.full((1, 1, 3), deviation_c), np.zeros((1, 1, 1))) for t in (table, exact))
    np.testing.assert_allclose(quick.tas_kt, slow.tas_kt, rtol=2e-4)
    np.testing.assert_allclose(quick.fuel_flow_gph, slow.fuel_flow_gph, rtol=1e-5)
    np.testing.assert_allclose(quick.climb_rate_fpm, slow.climb_rate_fpm, atol=1.0)


@pytest.mark.parametrize("hottest_c", [0.0, 10.0, 20.0])
def test_where_the_manual_ends_the_table_ends_and_fits_what_is_there(hottest_c):
    rows = rows_of(300.0)
    table = build_table(Curved(hottest_c), rows, POLICY, 3000.0)
    assert (table.warmest_c == hottest_c).all()
    assert (table.coldest_c <= -30.0).all()
    for deviation_c in (-20.0, 0.0, hottest_c):
        exact = table_at(Curved(), rows, np.full((1, 3), deviation_c), table.nominal_takeoff_lb, POLICY)
        quick, slow = (interpolated(t, np.full((1, 1, 3), deviation_c), np.zeros((1, 1, 1))) for t in (table, exact))
        np.testing.assert_allclose(quick.tas_kt, slow.tas_kt, rtol=3e-4)
    too_warm = plan_rows(table, air_of(hottest_c + 3.0), OPEN, np.zeros(1))
    assert too_warm.reasons[0, 0] != 0


def test_batch_and_exact_choose_alike_and_count_alike():
    rows = rows_of(280.0)
    table = build_table(Curved(), rows, POLICY, 3000.0)
    air = air_of(12.0, 18.0)
    batch = plan_rows(table, air, OPEN, np.zeros(1))
    exact = exact_plans(Curved(), rows, air, OPEN, POLICY,
                        ExactLoads(np.full(1, 2200.0), np.zeros(1), 3000.0))
    assert batch.level[0, 0] == exact.plans.level[0, 0]
    assert batch.flight_h[0, 0] == pytest.approx(exact.plans.flight_h[0, 0], rel=0.002)
    assert batch.fuel_gal[0, 0] == pytest.approx(exact.plans.fuel_gal[0, 0], abs=0.1)


def test_weight_and_fuel_of_an_exact_plan_agree_with_each_other():
    exact = exact_plans(Curved(), rows_of(350.0), air_of(5.0, 25.0), OPEN, POLICY,
                        ExactLoads(np.full(1, 2300.0), np.full(1, 3.0), 3200.0))
    flight_gal = float(exact.plans.fuel_gal[0, 0]) + POLICY.approach_gal
    assert exact.required_gal[0] == pytest.approx(POLICY.taxi_gal + flight_gal + 3.0 + float(exact.reserve_gal[0]))
    assert exact.takeoff_lb[0] == pytest.approx(2300.0 + 6.0 * (float(exact.required_gal[0]) - POLICY.taxi_gal))
    assert exact.landing_lb[0] == pytest.approx(exact.takeoff_lb[0] - 6.0 * flight_gal)
    again = table_at(Curved(), rows_of(350.0), np.full((1, 3), 5.0), exact.takeoff_lb, POLICY)
    level = int(exact.plans.level[0, 0])
    assert by_level(again, air_of(5.0, 25.0)).flown.flight_h[0, level] == pytest.approx(
        float(exact.plans.flight_h[0, 0]), rel=1e-5)


def parts(climb_nm: float = 8.0, descent_nm: float = 24.0) -> Segments:
    one = np.ones(1)
    return Segments(climb_nm / 100.0 * one, 1.0 * one, climb_nm * one, 150.0 * one, 10.0 * one, 800.0 * one,
                    descent_nm / 150.0 * one, 1.2 * one, descent_nm * one)


def test_a_way_too_short_for_a_comfortable_descent_is_flown_steeper_but_not_too_steep():
    calm = np.zeros(1)
    for distance_nm, plain, steep in ((40.0, True, True), (30.0, False, True), (23.0, False, True),
                                      (22.0, False, False)):
        way = np.full(1, distance_nm)
        assert bool(fly(parts(), way, calm, calm, calm).possible[0]) is plain
        assert bool(fly(parts(), way, calm, calm, calm, 0.0, 0.6).possible[0]) is steep


def test_a_steeper_descent_takes_the_share_of_time_that_the_way_leaves():
    calm = np.zeros(1)
    flown = fly(parts(), np.full(1, 26.0), calm, calm, calm, 0.0, 0.6)
    assert flown.cruise_h[0] == 0.0
    assert flown.flight_h[0] == pytest.approx(0.08 + 0.16 * 18.0 / 24.0)
    assert flown.fuel_gal[0] == pytest.approx(1.0 + 1.2 * 18.0 / 24.0)


@given(st.floats(20.0, 60.0), st.floats(-30.0, 30.0))
def test_a_longer_way_never_takes_less_time(distance_nm, headwind_kt):
    wind = np.full(1, headwind_kt)
    short, long = (fly(parts(), np.full(1, nm), wind, np.zeros(1), wind, 0.0, 0.6)
                   for nm in (distance_nm, distance_nm + 0.5))
    if short.possible[0] and long.possible[0]:
        assert long.flight_h[0] >= short.flight_h[0] - 1e-9
