"""Fuel by the arithmetic of the rules: 14 CFR 91.151 and 91.167, and the same through the planner itself."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import pytest

from missionsim.flight.batch import AirOnRoutes, LevelLimits
from missionsim.flight.leg import ExactLoads, exact_plans
from missionsim.flight.stops import CoarseFlight
from missionsim.flight.table import FlightRows, FuelPolicy

pytestmark = pytest.mark.published


@dataclass(frozen=True)
class Steady:
    """An aircraft of one speed and one flow, which is at its level at once: what the arithmetic supposes."""

    tas_kt: float
    flow_gph: float

    def cruise(self, level_ft, isa_deviation_c, weight_lb):
        shape = np.broadcast_shapes(np.shape(level_ft), np.shape(isa_deviation_c), np.shape(weight_lb))
        return np.full(shape, self.tas_kt), np.full(shape, self.flow_gph)

    def climb(self, from_ft, to_ft, isa_deviation_c, weight_lb):
        shape = np.broadcast_shapes(np.shape(from_ft), np.shape(to_ft), np.shape(weight_lb))
        return np.zeros(shape), np.zeros(shape), np.zeros(shape)

    descent = climb

    def climb_rate_fpm(self, level_ft, isa_deviation_c, weight_lb):
        return np.full(np.broadcast_shapes(np.shape(level_ft), np.shape(weight_lb)), 1000.0)


def required_gal(distance_nm, groundspeed_kt, flow_gph, reserve_min, alternate_nm=0.0, taxi_gal=0.0):
    """Return fuel at start as the planner has it, in calm air, taxi apart."""
    one = np.ones(1)
    rows = FlightRows(distance_nm * one, 0 * one, 0 * one, np.array([[5000.0]]), 1000.0 * one, np.zeros(1, bool),
                      2000 * one)
    calm = AirOnRoutes(*(np.zeros((1, 1, 1)) for _ in range(3)), np.zeros((1, 1)), np.zeros((1, 1)))
    open_ = LevelLimits(np.ones((1, 1), bool), np.ones((1, 1), bool), np.zeros(1))
    flight = CoarseFlight(groundspeed_kt, flow_gph, 0.0, 0.0)
    plan = exact_plans(Steady(groundspeed_kt, flow_gph), rows, calm, open_,
                       FuelPolicy(taxi_gal, 0.0, reserve_min / 60.0, 6.0),
                       ExactLoads(2000.0 * one, one * float(flight.gallons(np.array(alternate_nm), 0.0)), 3000.0))
    return float(plan.required_gal[0])


# Source: 14 CFR 91.167(a): destination, then alternate, then 45 minutes at normal cruise.
def test_instrument_fuel_with_alternate():
    assert required_gal(240.0, 120.0, 10.0, 45.0, alternate_nm=45.0) == pytest.approx(20.0 + 3.75 + 7.5, abs=0.005)


# Source: 14 CFR 91.151(a): 30 minutes by day, 45 by night.
@pytest.mark.parametrize(("reserve_min", "gallons"), [(30.0, 18.0), (45.0, 20.25)])
def test_visual_fuel_by_day_and_night(reserve_min, gallons):
    assert required_gal(210.0, 140.0, 9.0, reserve_min) == pytest.approx(gallons, abs=0.005)


# Source: arithmetic of endurance: usable fuel less taxi and reserve over the flow.
def test_endurance_uses_up_the_tanks():
    endurance_h = 4.70
    used = required_gal(endurance_h * 100.0, 100.0, 10.0, 45.0, taxi_gal=1.5)
    assert used == pytest.approx(56.0, abs=0.005)
