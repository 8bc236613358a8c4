from __future__ import annotations

import numpy as np
import pytest
from aircraft_cases import demo, profile
from hypothesis import given
from hypothesis import strategies as st
from wind_triangle import components

from missionsim.aircraft.performance import performance_of
from missionsim.aircraft.runway import (
    SURFACES,
    accepted_surface,
    blocked_by,
    choose_end,
    crosswind_limit_kt,
    required_landing_ft,
    required_takeoff_ft,
    surface_codes,
)
from missionsim.base.assumptions import packaged_assumptions

A = packaged_assumptions()
PAVED, GRASS = SURFACES.index("paved"), SURFACES.index("grass")


def ends(head, cross, there, need, accepted=True):
    return choose_end([head], [cross], [there], [need], np.broadcast_to(accepted, (1, len(head))), 12.0, 5.0)


def test_factors_multiply_and_the_margin_comes_last():
    assert required_takeoff_ft(1000.0, PAVED, A) == 1500.0
    assert required_takeoff_ft(1000.0, GRASS, A, slope_share=0.02, margin=1.3) == pytest.approx(1000 * 1.2 * 1.1 * 1.3)
    assert required_landing_ft(1000.0, GRASS, A, slope_share=-0.01) == pytest.approx(1000 * 1.15 * 1.05 * 1.5)
    assert required_landing_ft(1000.0, PAVED, A, wet=True, margin=1.0) == pytest.approx(1150.0)
    assert required_takeoff_ft(1000.0, GRASS, A, wet=True, margin=1.0) == pytest.approx(1300.0, abs=1.0)
    assert required_landing_ft(1000.0, GRASS, A, wet=True, margin=1.0) == pytest.approx(1600.0, abs=1.0)


def test_a_helpful_slope_earns_nothing():
    assert required_takeoff_ft(1000.0, PAVED, A, slope_share=-0.03) == 1500.0
    assert required_landing_ft(1000.0, PAVED, A, slope_share=0.03) == 1500.0


def test_end_into_the_wind_is_chosen():
    choice = ends([-8.0, 8.0], [3.0, -3.0], [4000.0, 4000.0], [2500.0, 1800.0])
    assert choice.index[0] == 1
    assert choice.ok[0]
    assert choice.margin_ft[0] == 2200.0


def test_longer_runway_with_crosswind_beats_a_short_one_into_the_wind():
    choice = ends([12.0, 4.0], [0.0, 11.0], [1500.0, 6000.0], [2000.0, 2200.0])
    assert choice.index[0] == 1
    assert choice.ok[0]


@pytest.mark.parametrize(("arguments", "blocked", "margin"), [
    (([5.0, -5.0], [0.0, 0.0], [1500.0, 1500.0], [2000.0, 2300.0]), "length", -500.0),
    (([0.0, 0.0], [15.0, -15.0], [5000.0, 5000.0], [2000.0, 2000.0]), "wind", 3000.0),
    (([-6.0, -7.0], [0.0, 0.0], [5000.0, 5000.0], [2000.0, 2000.0]), "wind", 3000.0),
    (([5.0, -5.0], [0.0, 0.0], [5000.0, 5000.0], [2000.0, 2300.0], False), "surface", 3000.0),
    (([5.0, -5.0], [0.0, 0.0], [np.nan, np.nan], [2000.0, 2300.0]), "surface", np.nan),
    (([5.0, -5.0], [0.0, 0.0], [5000.0, 5000.0], [np.nan, np.nan]), "length", np.nan),
])
def test_what_stands_in_the_way_is_told_apart(arguments, blocked, margin):
    choice = ends(*arguments)
    assert not choice.ok[0]
    named = {"surface": choice.blocked_by_surface, "wind": choice.blocked_by_wind, "length": choice.blocked_by_length}
    assert [name for name, flag in named.items() if flag[0]] == [blocked]
    np.testing.assert_equal(choice.margin_ft[0], margin)


def test_calm_takes_the_longer_margin():
    assert ends([0.0, 0.0], [0.0, 0.0], [4000.0, 3800.0], [2000.0, 2000.0]).index[0] == 0
    assert ends([0.0, 0.0], [0.0, 0.0], [3800.0, 4000.0], [2000.0, 2000.0]).index[0] == 1


@given(st.integers(0, 2**32 - 1))
def test_choice_agrees_with_a_plain_search(seed):
    rng = np.random.default_rng(seed)
    head, cross = rng.uniform(-15, 20, (20, 4)), rng.uniform(-20, 20, (20, 4))
    there, need = rng.uniform(1000, 6000, (20, 4)), rng.uniform(1000, 5000, (20, 4))
    accepted = rng.random((20, 4)) < 0.8
    choice = choose_end(head, cross, there, need, accepted, 12.0, 5.0)
    for flags, same in zip((choice.blocked_by_surface, choice.blocked_by_wind, choice.blocked_by_length),
                           blocked_by(head, cross, there, need, accepted, 12.0, 5.0), strict=True):
        assert np.array_equal(flags, same)
    for i in range(20):
        usable = [j for j in range(4) if accepted[i, j] and abs(cross[i, j]) <= 12 and head[i, j] >= -5
                  and there[i, j] >= need[i, j]]
        assert choice.ok[i] == bool(usable)
        flags = [choice.blocked_by_surface[i], choice.blocked_by_wind[i], choice.blocked_by_length[i]]
        assert sum(flags) == (not usable)
        if usable:
            assert choice.index[i] == max(usable, key=lambda j, i=i: head[i, j])


def test_surfaces_by_word():
    assert surface_codes(["paved", "grass", "lava"]).tolist() == [0, 2, 5]
    small_wheels, carrier = demo("retractable_260"), demo("carrier_230")
    codes = surface_codes(["paved", "grass"])
    assert accepted_surface(small_wheels, codes).tolist() == [True, False]
    assert accepted_surface(carrier, codes).tolist() == [True, True]


def test_crosswind_limit_falls_back_to_the_stalling_speed_and_then_to_practice():
    assert crosswind_limit_kt(demo("retractable_260"), A) == 15.0
    assert crosswind_limit_kt(profile(), A) == pytest.approx(0.2 * 48.0)
    assert crosswind_limit_kt(profile(book__vs0_cas_kt=...), A) == 12.0


def test_mountain_strip_on_a_july_afternoon_and_at_dawn_by_hand():
    """A 4,800 ft strip at 7,820 ft (pressure altitude the same): 30 °C at 14:00, 8 °C at 06:30, full weight, calm.

    By hand, 260 hp retractable: sigma 0.712 and 0.768; lift-off at 1.2 x 53 = 63.6 kt, 107.3 ft/s in 880 ft asks for
    107.3² / (2 x 880 x 32.17) = 0.2035 g and, with 0.05 of resistance, thrust of 0.2535 W. Power ratio
    1.132 sigma - 0.132 = 0.674 and 0.737; thrust ratio P^(2/3) sigma^(1/3) = 0.686 and 0.747; net 0.1239 and 0.1394 g;
    roll 880 / sigma x 0.2035 / net = 2,030 and 1,673 ft.
    """
    perf = performance_of(demo("retractable_260"), A)
    roll, over = perf.takeoff_ft(7820.0, np.array([30.0, 8.0]), 2960.0, 0.0)
    np.testing.assert_allclose(roll, [2030.0, 1673.0], rtol=0.005)
    margin = 4800.0 - required_takeoff_ft(over, PAVED, A)
    assert margin[0] < 0.0 < margin[1]


def test_wind_components_and_choice_work_together():
    head, cross = components(np.array([[180.0, 360.0, 90.0, 270.0]]), 200.0, 20.0)
    choice = choose_end(head, cross, 5000.0, 2000.0, np.ones((1, 4), dtype=bool), 12.0, 5.0)
    assert choice.index[0] == 0
