"""Figures of aircraft worked by hand where a small slip would go unnoticed."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from aircraft_cases import profile

from missionsim.aircraft.fitted import fitted_from_book
from missionsim.aircraft.loading import arrange
from missionsim.aircraft.performance import AsFlown
from missionsim.aircraft.profile_sections import Changes
from missionsim.aircraft.runway import crosswind_limit_kt
from missionsim.base.assumptions import packaged_assumptions

A = packaged_assumptions()


class _Book:
    """Performance that is the same whatever is asked."""

    taxi_fuel_gal = 1.0

    def descent(self, *_: Any) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        return np.array(0.2), np.array(1.5), np.array(30.0)

    def climb_rate_fpm(self, *_: Any) -> np.ndarray:
        return np.array(600.0)

    def climb_tas_kt(self, *_: Any) -> np.ndarray:
        return np.array(90.0)

    def takeoff_ft(self, *_: Any) -> tuple[np.ndarray, np.ndarray]:
        return np.array(900.0), np.array(1600.0)

    def landing_ft(self, *_: Any) -> tuple[np.ndarray, np.ndarray]:
        return np.array(500.0), np.array(1200.0)


def as_flown() -> AsFlown:
    changes = Changes(cruise_kt=5.0, climb_fpm=100.0, takeoff_share=0.9, landing_share=0.8)
    return AsFlown(_Book(), changes, 0.98, 1.1, 30_000.0, 100.0, 0.02)  # type: ignore[arg-type]


def test_a_change_of_speed_carries_through_the_descent() -> None:
    # 30 nm at 0.98 of the book's speed are 29.4; 5 kt more for 0.2 h are another mile.
    time_h, fuel_gal, distance_nm = as_flown().descent(8000.0, 1000.0, 0.0, 2400.0)
    assert (float(time_h), float(fuel_gal), float(distance_nm)) == pytest.approx((0.2, 1.65, 30.4))


def test_take_off_and_landing_have_changes_of_their_own() -> None:
    assert as_flown().takeoff_ft(0.0, 15.0, 2400.0, 0.0) == pytest.approx((810.0, 1440.0))
    assert as_flown().landing_ft(0.0, 15.0, 2400.0, 0.0) == pytest.approx((400.0, 960.0))


def test_a_climb_gradient_is_feet_a_mile() -> None:
    # 700 ft/min are 42,000 ft in an hour, in which 90 nm pass: 467 ft a mile.
    assert float(as_flown().climb_gradient_ft_per_nm(0.0, 0.0, 2400.0)) == pytest.approx(42_000.0 / 90.0)


def test_a_descent_burns_its_share_of_the_cruise_flow() -> None:
    # 6,000 ft at 500 ft/min are 0.2 h, flown at the speed and three quarters of the flow of cruise half-way down.
    fitted = fitted_from_book(profile(), A)
    tas_kt, flow_gph = fitted.cruise(5000.0, 0.0, 2400.0)
    time_h, fuel_gal, distance_nm = fitted.descent(8000.0, 2000.0, 0.0, 2400.0)
    assert float(time_h) == pytest.approx(0.2)
    assert float(fuel_gal) == pytest.approx(0.2 * float(flow_gph) * 0.75)
    assert float(distance_nm) == pytest.approx(0.2 * float(tas_kt))


@pytest.mark.parametrize(("wind_kt", "counted_kt"), [(10.0, 5.0), (-10.0, -15.0), (80.0, 15.0)])
def test_wind_shortens_a_roll_by_the_square_of_what_counts_over_the_speed_at_lift_off(wind_kt: float,
                                                                                     counted_kt: float) -> None:
    # Half of a headwind counts, of 30 kt at most, and one and a half of a tail wind; the speed at lift-off falls with
    # the root of weight and rises as air thins. At 6,000 ft and 3.1 C density is 0.836 of that at sea level.
    fitted = fitted_from_book(profile(), A)
    calm, windy = (float(fitted.takeoff_ft(6000.0, 3.113, 2000.0, w)[0]) for w in (0.0, wind_kt))
    liftoff_kt = 1.2 * 48.0 * np.sqrt(0.8 / 0.8359)
    assert windy / calm == pytest.approx((1.0 - counted_kt / liftoff_kt) ** 2, rel=2e-3)


def test_the_speed_of_climb_falls_with_the_root_of_weight() -> None:
    fitted = fitted_from_book(profile(), A)
    full, half = (float(fitted.climb_tas_kt(0.0, 0.0, w)) for w in (2500.0, 1250.0))
    assert half / full == pytest.approx(np.sqrt(0.5))


def test_only_a_share_of_the_demonstrated_crosswind_is_accepted() -> None:
    careful = A.replaced({"runway.crosswind_of_demonstrated_share": 0.8})
    assert crosswind_limit_kt(profile(limits__demonstrated_crosswind_kt=15.0), careful) == pytest.approx(12.0)


def test_balance_must_hold_with_empty_tanks_too() -> None:
    # Empty (1,500 * 34 + 190 * 37) / 1,690 is 34.3, ahead of the limit at 35; 300 lb of fuel at 48 bring 36.4, inside.
    nose_heavy = arrange(profile(weights__empty_arm_in=34.0), [[190.0]], [0.0], A, [50.0])
    assert not nose_heavy.balance_ok[0]
    assert nose_heavy.balance_margin_in[0] == pytest.approx((1500 * 34 + 190 * 37) / 1690 - 35.0)


def test_bags_are_tied_down_on_free_seats_alone() -> None:
    # Four people fill the rear bench, so that the 30 lb beyond the 120 of the hold find no place; a free seat has some.
    four, three = (arrange(profile(), [[190.0, 180.0, *rest]], [150.0], A) for rest in ([170.0, 90.0], [170.0]))
    assert not four.bags_ok[0]
    assert three.bags_ok[0]


def test_five_do_not_fit_on_four_seats() -> None:
    assert arrange(profile(), [[190.0, 180.0, 170.0, 160.0, 90.0]], [0.0], A).seats_ok.tolist() == [False]
    assert arrange(profile(), [[190.0, 180.0, 170.0, 160.0]], [0.0], A).seats_ok.tolist() == [True]
