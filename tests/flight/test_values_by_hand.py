"""Flights, stops, minima and rules worked by hand where a small slip would go unnoticed."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from missionsim.base.assumptions import packaged_assumptions
from missionsim.flight.minima import Crew, landing_minima, takeoff_minimum
from missionsim.flight.rules import Rules, crew_oxygen_h, oxygen_allows
from missionsim.flight.segments import Segments, fly, still_air
from missionsim.flight.stops import CoarseFlight, StopWishes, itinerary

A = packaged_assumptions()
CALM = np.zeros(1)


class _Thirsty:
    """An aircraft at its level at once, at 150 kt, that burns a hundredth of its weight in gallons an hour."""

    landed_lb = np.zeros(1)

    def cruise(self, level_ft: Any, isa_deviation_c: Any, weight_lb: Any) -> tuple[Any, Any]:
        return np.array([150.0]), np.asarray(weight_lb) / 100.0

    def climb(self, *_: Any) -> tuple[Any, Any, Any]:
        return CALM, CALM, CALM

    def descent(self, from_ft: Any, to_ft: Any, isa_deviation_c: Any, weight_lb: Any) -> tuple[Any, Any, Any]:
        self.landed_lb = np.asarray(weight_lb)
        return CALM, CALM, CALM

    def climb_rate_fpm(self, *_: Any) -> Any:
        return np.array([500.0])


def test_cruise_is_planned_at_the_weight_half_way() -> None:
    # 1,000 lb burn 10 gal/h; two hours take 20 gal or 120 lb, half-way 60: 940 lb burn 9.4; 18.8 gal later 887.2 land.
    aircraft = _Thirsty()
    parts = still_air(aircraft, CALM, CALM, CALM, np.array([300.0]), CALM, np.array([1000.0]), 6.0)
    assert parts.fuel_flow_gph == pytest.approx([9.4])
    assert aircraft.landed_lb == pytest.approx([887.2])


PARTS = Segments(climb_h=np.array([0.1]), climb_gal=np.array([2.0]), climb_nm=np.array([11.0]),
                 tas_kt=np.array([150.0]),
                 fuel_flow_gph=np.array([10.0]), climb_rate_fpm=np.array([500.0]), descent_h=np.array([0.15]),
                 descent_gal=np.array([1.2]), descent_nm=np.array([24.0]))


def test_a_steep_descent_against_the_wind_makes_good_less_ground() -> None:
    # Against 20 kt the climb makes good 9 nm and the descent 21: 30. On a way of 28 the descent loses 2 of its 21 nm.
    wind = np.array([20.0])
    flown = fly(PARTS, np.array([28.0]), wind, CALM, wind, least_descent_share=0.5)
    assert flown.possible.all()
    assert flown.flight_h == pytest.approx([0.1 + 0.15 * 19.0 / 21.0])
    assert flown.fuel_gal == pytest.approx([2.0 + 1.2 * 19.0 / 21.0])


def test_an_hour_on_the_ground_weighs_against_a_second_stop() -> None:
    # Over 1: 420 nm and one stop, 4.2 + 1 h. Over 2 and 3: 400 nm and two stops, 4.0 + 2 h.
    nm = np.full((5, 5), 999.0)
    for a, b, miles in ((0, 1, 210.0), (1, 4, 210.0), (0, 2, 134.0), (2, 3, 133.0), (3, 4, 133.0)):
        nm[a, b] = nm[b, a] = miles
    flight = CoarseFlight(tas_kt=100.0, fuel_flow_gph=10.0, overhead_h=0.0, overhead_gal=0.0)
    assert itinerary(nm, flight, 100.0, 2.5, 0.0, StopWishes(1.0)) == (0, 1, 4)
    assert itinerary(nm, flight, 100.0, 2.5, 0.0, StopWishes(0.0)) == (0, 2, 3, 4)


def crew(panel: str = "lpv", autopilot: bool = True) -> Crew:
    return Crew(instrument=True, current=True, panel=panel, autopilot=autopilot, ceiling_addition_ft=200.0,
                visibility_addition_sm=0.5)


@pytest.mark.parametrize(("autopilot", "relief_ft", "ceiling_ft"), [(False, 150, 600.0), (True, 150, 450.0),
                                                                   (True, 500, 200.0)])
def test_an_autopilot_lowers_the_ceiling_wanted_for_departure_to_200_ft_at_least(autopilot: bool, relief_ft: int,
                                                                                ceiling_ft: float) -> None:
    assumed = A.replaced({"flight.autopilot_minima_relief_ft": relief_ft})
    assert takeoff_minimum(crew(autopilot=autopilot), assumed) == (ceiling_ft, 1.5)


def test_without_vertical_guidance_on_board_an_lpv_approach_is_flown_to_its_lnav_minimum() -> None:
    found = landing_minima(["lpv"], [None], [None], np.array([1000.0]), np.array([False]), crew("lnav", False), A)
    assert (found.ceiling_ft[0], found.visibility_sm[0], bool(found.precision[0])) == (650.0, 1.5, False)


def test_oxygen_by_height_and_time() -> None:
    # 14 CFR 91.211: none up to 12,500 ft, to 14,000 beyond 30 minutes, above at once; some want it from 10,000 ft on.
    assert crew_oxygen_h([12_000, 13_000, 13_500, 14_500], [3.0, 0.4, 1.5, 0.2]).tolist() == [0.0, 0.0, 1.0, 0.2]
    levels = np.array([10_000, 11_000, 12_500, 13_000, 13_001, 14_500])
    hours = np.array([2.0, 0.2, 2.0, 0.5, 0.6, 0.1])
    assert oxygen_allows(levels, hours, False, 12_500).tolist() == [True, True, True, True, False, False]
    assert oxygen_allows(levels, hours, False, 10_000).tolist() == [True, False, False, False, False, False]
    assert oxygen_allows(levels, hours, True, 10_000).all()


def test_reserves_by_night_and_legs_with_passengers() -> None:
    rules = Rules(True, True, 60.0, 75.0, False, 12_500.0, 2.3, 3.3, 7.0, 12.0, 1.5, 30.0, 12.0, 3.0)
    assert (rules.reserve_min(night=False), rules.reserve_min(night=True)) == (60.0, 75.0)
    assert rules.max_leg_h([1, 2, 4]).tolist() == [3.3, 2.3, 2.3]
