"""Weight and balance: FAA-H-8083-25 (weight-and-balance chapter), FAA-H-8083-1, FAA test questions."""

from __future__ import annotations

import numpy as np
import pytest
from aircraft_cases import profile
from weights import centre_of_gravity_in, shift_lb

from missionsim.aircraft.loading import (
    arrange,
    inside,
    max_fuel_gal,
    weight_and_cg,
)
from missionsim.aircraft.profile import Profile
from missionsim.base.assumptions import packaged_assumptions

A = packaged_assumptions()


def sample() -> Profile:
    """Return the airplane of FAA-H-8083-25, computational method; arms and empty weight from memory."""
    return profile(
        weights={"max_takeoff_lb": 3400.0, "empty_weight_lb": 2100.0, "empty_arm_in": 78.3},
        stations=[{"name": "front", "kind": "seat", "arm_in": 85.0, "seats": 2},
                  {"name": "rear", "kind": "seat", "arm_in": 121.0, "seats": 2},
                  {"name": "baggage", "kind": "baggage", "arm_in": 150.0, "max_lb": 100.0}],
        tanks=[{"name": "wings", "usable_gal": 75.0, "arm_in": 75.0}],
        envelope=[{"cg_in": c, "weight_lb": w} for c, w in ((78, 1900), (78, 3400), (86, 3400), (86, 1900))])


@pytest.mark.published
def test_computational_method():
    # Front 340 lb, rear 350 lb, baggage 80 lb, fuel 75 gal: printed 3,320 lb, 281,430 lb in, 84.8 in, within limits.
    a = arrange(sample(), [[170.0, 170.0, 175.0, 175.0]], [80.0], A, fuel_gal=[75.0])
    weight, cg = weight_and_cg(sample(), a.zero_fuel_weight_lb, a.zero_fuel_moment_lb_in, 75.0, A)
    # Equal sums of rows whoever sits where: 345 in each row is also an order tried, so seat them as printed.
    stations = np.array([340.0, 350.0, 80.0])
    moment = 2100 * 78.3 + stations @ np.array([85.0, 121.0, 150.0])
    printed_weight, printed_cg = weight_and_cg(sample(), 2870.0, moment, 75.0, A)
    assert float(weight[0]) == float(printed_weight) == 3320.0
    assert float(printed_weight * printed_cg) == pytest.approx(281_430.0, abs=0.5)
    assert float(printed_cg) == pytest.approx(84.77, abs=0.005)
    assert inside(sample(), printed_weight, printed_cg)[0]
    assert float(cg[0]) <= float(printed_cg) + 1e-9


@pytest.mark.published
def test_same_flight_after_burning_25_gallons():
    moment = 164_430.0 + 28_900 + 42_350 + 12_000
    weight, cg = weight_and_cg(sample(), 2870.0, moment, 50.0, A)
    assert float(weight) == 3170.0
    assert float(cg) == pytest.approx(85.23, abs=0.005)


@pytest.mark.published
def test_pilot_alone_with_full_tanks_is_just_inside_the_forward_limit():
    a = arrange(sample(), [[170.0]], [0.0], A)
    weight, cg = weight_and_cg(sample(), a.zero_fuel_weight_lb, a.zero_fuel_moment_lb_in, 75.0, A)
    assert float(weight[0]) == 2720.0
    assert float(cg[0]) == pytest.approx(78.17, abs=0.005)
    ok, margin = inside(sample(), weight, cg)
    assert ok[0]
    assert float(margin[0]) == pytest.approx(0.17, abs=0.01)


@pytest.mark.published
def test_moved_weight_moves_the_centre():
    """FAA-H-8083-25, weight shifting: 8,000 lb at 77.0 in, 100 lb from station 30 to 150 gives 78.5 in."""
    _, moment, cg = centre_of_gravity_in([8000.0, -100.0, 100.0], [77.0, 30.0, 150.0])
    assert float(moment) == 628_000.0
    assert float(cg) == pytest.approx(78.5, abs=0.005)
    assert float(shift_lb(8000.0, 77.0, 78.5, 30.0, 150.0)) == pytest.approx(100.0)


@pytest.mark.published
def test_weight_to_move_to_the_aft_limit():
    """FAA-H-8083-25, weight shifting: 7,800 lb at 81.5 in, limit 80.5 in, from station 150 to 30: 65 lb."""
    assert float(shift_lb(7800.0, 81.5, 80.5, 150.0, 30.0)) == pytest.approx(65.0, abs=0.05)


@pytest.mark.published
def test_plank():
    """FAA-H-8083-1, chapter 2: 100 lb at 50, 100 at 90, 200 at 150 in balance at 110 in."""
    weight, moment, cg = centre_of_gravity_in([100.0, 100.0, 200.0], [50.0, 90.0, 150.0])
    assert [float(weight), float(moment), float(cg)] == [400.0, 44_000.0, 110.0]


@pytest.mark.published
def test_weighing_a_nose_wheel_aircraft():
    """FAA-H-8083-1, chapter 3: datum 128 in ahead of the main wheels, nose 340 lb, wheelbase 78 in, 2,006 lb."""
    _, _, cg = centre_of_gravity_in([340.0, 2006.0 - 340.0], [128.0 - 78.0, 128.0])
    assert float(cg) == pytest.approx(114.8, abs=0.05)


@pytest.mark.published
def test_fuel_to_drain_when_110_lb_too_heavy():
    """FAA private-pilot question (answer printed 18.4 gal); avgas 6 lb a gallon, FAA-H-8083-1."""
    p = sample()
    full = 3400.0 + 110.0 - 6.0 * 75.0
    assert 75.0 - float(max_fuel_gal(p, full, A)) == pytest.approx(18.4, abs=0.1)
    assert A["aircraft.avgas_lb_per_gal"] == 6.0
