from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from flight_cases import FUEL, performance
from hypothesis import given
from hypothesis import strategies as st

from missionsim.flight.segments import Segments, fly, still_air

PARTS = Segments(climb_h=np.array(0.1), climb_gal=np.array(2.0), climb_nm=np.array(11.0), tas_kt=np.array(150.0),
                 fuel_flow_gph=np.array(10.0), climb_rate_fpm=np.array(500.0), descent_h=np.array(0.15),
                 descent_gal=np.array(1.2), descent_nm=np.array(24.0))


def test_a_flight_in_calm_air_worked_by_hand():
    # 200 nm less 11 climbing and 24 descending: 165 nm at 150 kt is 1.1 h; 1.35 h and 2 + 1.2 + 11 gal in all.
    flown = fly(PARTS, np.array(200.0), np.array(0.0), np.array(0.0), np.array(0.0))
    assert flown.possible
    assert (float(flown.flight_h), float(flown.fuel_gal), float(flown.cruise_h)) == pytest.approx((1.35, 14.2, 1.1))


def test_a_headwind_worked_by_hand():
    # 30 kt in cruise and none below: climb and descent meet 15, and make good 3.75 nm less in their quarter hour.
    flown = fly(PARTS, np.array(200.0), np.array(30.0), np.array(0.0), np.array(0.0))
    assert float(flown.cruise_h) == pytest.approx((200.0 - 35.0 + 15.0 * 0.25) / 120.0)
    assert float(flown.groundspeed_kt) == 120.0


def test_a_crosswind_takes_its_share_of_the_airspeed():
    # 90 kt across 150 leave 120 along: the 3-4-5 triangle.
    assert float(fly(PARTS, np.array(200.0), np.array(0.0), np.array(90.0), np.array(0.0)).groundspeed_kt) == 120.0


def test_a_crosswind_is_held_off_in_climb_and_descent_too():
    # 35 nm through the air in a quarter hour are 140 kt; 112 kt across at the level and 56 below are 84 on the way, the
    # 3-4-5 triangle again: 140 leave 112 along, 28 nm instead of 35. Cruise: sqrt(150**2 - 112**2) is 99.78 kt.
    flown = fly(PARTS, np.array(200.0), np.array(0.0), np.array(112.0), np.array(0.0), np.array(56.0))
    assert float(flown.cruise_h) == pytest.approx((200.0 - 28.0) / np.sqrt(150.0**2 - 112.0**2))


@pytest.mark.parametrize(("distance_nm", "head_kt", "cross_kt"), [(200.0, 160.0, 0.0), (200.0, 0.0, 151.0),
                                                                   (20.0, 0.0, 0.0)])
def test_what_cannot_be_flown_is_said_and_carries_no_figures(distance_nm, head_kt, cross_kt):
    flown = fly(PARTS, np.array(distance_nm), np.array(head_kt), np.array(cross_kt), np.array(0.0))
    assert not flown.possible
    assert float(flown.flight_h) == float(flown.fuel_gal) == 0.0


def test_a_short_hop_may_be_flown_with_a_steeper_descent():
    # 30 nm: five short of climb and descent; a descent of 19/24 of its time leaves no cruise.
    short, calm = np.array([30.0]), np.zeros(1)
    flown = fly(PARTS, short, calm, calm, calm, least_descent_share=0.5)
    assert flown.possible.all()
    assert flown.flight_h == pytest.approx([0.1 + 0.15 * 19.0 / 24.0])
    assert not fly(PARTS, short, calm, calm, calm, least_descent_share=0.9).possible.any()


@given(distance_nm=st.floats(60, 800), head_kt=st.floats(-80, 80), cross_kt=st.floats(-80, 80))
def test_distance_over_ground_adds_up(distance_nm, head_kt, cross_kt):
    flown = fly(PARTS, np.array(distance_nm), np.array(head_kt), np.array(cross_kt), np.array(head_kt),
                np.array(cross_kt))
    slope_nm = np.sqrt(35.0**2 - (cross_kt * 0.25) ** 2) - head_kt * 0.25
    if flown.possible:
        assert float(flown.cruise_h * flown.groundspeed_kt) + slope_nm == pytest.approx(distance_nm)


def test_climb_cruise_and_descent_lose_weight_on_the_way():
    level, zero = np.array([8000.0]), np.zeros(1)
    heavy, light = (still_air(performance(), np.full(1, 1000.0), np.full(1, 1000.0), level, np.full(1, 400.0), zero,
                              np.full(1, w), FUEL.lb_per_gal) for w in (2740.0, 2400.0))
    assert heavy.climb_h > light.climb_h
    assert heavy.tas_kt < light.tas_kt
    assert heavy.climb_rate_fpm < light.climb_rate_fpm


def test_parts_are_frozen():
    with pytest.raises(AttributeError):
        PARTS.climb_h = 1.0
    assert replace(PARTS, climb_h=np.array(0.2)).climb_h == 0.2
