from __future__ import annotations

import time

import numpy as np
import pytest
from aircraft_cases import NAMES, demo, profile, tables, whole
from hypothesis import given
from hypothesis import strategies as st
from polar import MIN_POWER_SPEED_RATIO

from missionsim.aircraft.fit import derived, fit_report
from missionsim.aircraft.fitted import FittedPerformance, fitted_from_book
from missionsim.aircraft.handbook import multilinear
from missionsim.aircraft.performance import book_performance, performance_of
from missionsim.base.assumptions import packaged_assumptions
from missionsim.base.errors import ValidityError

A = packaged_assumptions()
PERFORMANCE = {name: performance_of(demo(name), A) for name in NAMES}
BOTH = st.sampled_from(NAMES)
level = st.floats(2_000, 12_000)
deviation = st.floats(-30, 25)
load = st.floats(0.75, 1.0)


def weight(name: str, share: float) -> float:
    return share * demo(name).max_takeoff_lb


# --- the fit ---------------------------------------------------------------------------------------------------

@pytest.mark.parametrize("name", NAMES)
def test_fitted_figures_are_met_and_checks_are_near(name):
    lines = fit_report(whole(name), A)
    for line in lines:
        if line.used_in_fit:
            assert line.residual_share == pytest.approx(0.0, abs=1e-9), line
        else:
            assert abs(line.residual_share) < 0.08, line
    fitted = whole(name).form == "fitted"
    assert any(line.used_in_fit for line in lines) is fitted
    assert not fitted or any(not line.used_in_fit for line in lines)


def test_a_wrong_book_figure_shows_as_a_residual():
    good = {line.figure: line for line in fit_report(profile(book__service_ceiling_ft=13_000.0), A)}
    bad = {line.figure: line for line in fit_report(profile(book__service_ceiling_ft=22_000.0), A)}
    assert good["service ceiling"].predicted == bad["service ceiling"].predicted
    assert bad["service ceiling"].residual_share < -0.2


def test_derived_quantities_say_what_was_assumed():
    assumed = {d.name: d.assumed for d in derived(profile(), A)}
    assert assumed["wing span"]
    assert not assumed["flat-plate drag area"]
    assert not {d.name: d.assumed for d in derived(demo("retractable_260"), A)}["wing span"]


def test_figures_of_no_aircraft_are_an_error_with_both_limits():
    with pytest.raises(ValidityError, match=r"book\.climb_fpm.*accepted: 0\.35 to 0\.92"):
        fitted_from_book(profile(book__climb_fpm=1900.0), A)


def test_power_required_is_least_at_the_textbook_ratio_of_speeds():
    """Minimum power at 3^(-1/4) of the speed for least drag: found by search on the fitted drag."""
    fit = fitted_from_book(profile(), A)
    v = np.linspace(60.0, 250.0, 200_001)
    drag = fit.drag_lb(v, np.asarray(2500.0))
    ratio = v[np.argmin(drag * v)] / v[np.argmin(drag)]
    assert ratio == pytest.approx(MIN_POWER_SPEED_RATIO, abs=2e-5)


def test_cruise_speed_solves_power_required():
    fit = fitted_from_book(profile(), A)
    levels = np.linspace(0, 12_000, 13)
    tas, flow = fit.cruise(levels, 0.0, 2300.0)
    from missionsim.physics.atmosphere import standard_density_ratio

    sigma = standard_density_ratio(levels)
    eas_fps = tas * 1.6878099 * np.sqrt(sigma)
    hp_required = fit.drag_lb(eas_fps, np.asarray(2300.0)) * tas * 1.6878099 / 550.0
    hp_brake = flow * 6.0 / fit.bsfc_lb_per_hp_h
    np.testing.assert_allclose(hp_required, 0.85 * hp_brake, rtol=1e-9)


def test_climb_by_quadrature_agrees_with_small_steps():
    fit = fitted_from_book(profile(), A)
    edges = np.linspace(1000.0, 9000.0, 80_001)
    middle = 0.5 * (edges[1:] + edges[:-1])
    hours = np.diff(edges) / 60.0 / fit.climb_rate_fpm(middle, 10.0, 2400.0)
    time_h, _, distance = fit.climb(1000.0, 9000.0, 10.0, 2400.0)
    assert float(time_h) == pytest.approx(hours.sum(), rel=1e-5)
    assert float(distance) == pytest.approx((hours * fit.climb_tas_kt(middle, 10.0, 2400.0)).sum(), rel=1e-5)


def test_no_climb_beyond_the_absolute_ceiling():
    perf = performance_of(profile(), A)
    assert np.isnan(perf.climb(0.0, 25_000.0, 0.0, 2500.0)[0])
    assert perf.climb_rate_fpm(25_000.0, 0.0, 2500.0) < 0.0


def test_no_climb_to_a_lower_level():
    for name in NAMES:
        assert [float(x) for x in PERFORMANCE[name].climb(5000.0, 3000.0, 0.0, weight(name, 0.9))] == [0.0, 0.0, 0.0]


def test_turbo_keeps_power_to_its_critical_altitude():
    perf = PERFORMANCE["boosted_six"]
    speeds, flows = perf.cruise(np.array([6000.0, 12_000.0, 18_000.0, 28_000.0]), 0.0, 3700.0)
    assert speeds[0] < speeds[1] < speeds[2]
    assert flows[0] == flows[1] == flows[2] > flows[3]


# --- what a pilot believes -------------------------------------------------------------------------------------

def test_the_retractable_burns_what_pilots_of_260_hp_report():
    """Rich 13 to 15 gal/h, lean 11 to 12 (common practice, 260 hp injected six-cylinder engines)."""
    known = demo("retractable_260")
    for feet in (6000.0, 8000.0, 9000.0):
        speed, flow = performance_of(known, A).cruise(feet, 0.0, 2800.0)
        assert 13.0 <= flow <= 15.0
        assert 160.0 <= speed <= 173.0
        lean_speed, lean_flow = performance_of(known.changed({"cruise.mixture": "lean"}), A).cruise(feet, 0.0, 2800.0)
        assert 11.0 <= lean_flow <= 12.0
        assert 0.92 <= lean_speed / speed <= 0.97
        assert 1.10 <= (lean_speed / lean_flow) / (speed / flow) <= 1.20


@pytest.mark.parametrize(("name", "feet", "speed", "flow"), [
    ("fixed_180", 8000.0, (125, 133), (9.5, 11.0)),
    ("carrier_230", 7000.0, (127, 135), (12.3, 13.8)),
    ("boosted_six", 18_000.0, (175, 186), (16.5, 18.5)),
])
def test_other_candidates_are_of_their_class(name, feet, speed, flow):
    perf = PERFORMANCE[name]
    tas, gph = perf.cruise(feet, 0.0, weight(name, 0.95))
    assert speed[0] <= tas <= speed[1]
    assert flow[0] <= gph <= flow[1]


def test_still_air_leg_of_250_nm_takes_a_little_longer_than_its_cruise():
    perf = PERFORMANCE["retractable_260"]
    climb_h, climb_gal, climb_nm = (float(x) for x in perf.climb(1850.0, 8000.0, 0.0, 2800.0))
    down_h, down_gal, down_nm = (float(x) for x in perf.descent(8000.0, 1850.0, 0.0, 2650.0))
    tas, flow = (float(x) for x in perf.cruise(8000.0, 0.0, 2700.0))
    cruise_h = (250.0 - climb_nm - down_nm) / tas
    hours = climb_h + cruise_h + down_h
    assert 1.03 <= hours / (250.0 / tas) <= 1.10
    assert 13.0 <= (climb_gal + cruise_h * flow + down_gal) / hours <= 15.5


# --- properties, both forms ------------------------------------------------------------------------------------

@given(BOTH, level, deviation, load, st.floats(0.005, 0.1))
def test_speed_falls_with_weight(name, feet, dev, share, more):
    perf = PERFORMANCE[name]
    light, heavy = perf.cruise(feet, dev, np.array([weight(name, share), weight(name, share + more)]))[0]
    assert not heavy >= light


@given(BOTH, st.floats(0, 9_000), st.floats(0, 40), st.floats(0.6, 0.95), st.floats(0.01, 0.05), st.floats(-5, 25))
def test_more_weight_never_shortens_the_takeoff(name, feet, celsius, share, more, wind):
    pair = PERFORMANCE[name].takeoff_ft(feet, celsius, weight(name, 1.0) * np.array([share, share + more]), wind)
    for light, heavy in pair:
        assert not heavy < light


@given(BOTH, st.floats(0, 9_000), st.floats(0, 40), load, st.floats(-5, 40), st.floats(0, 10))
def test_more_headwind_never_lengthens_takeoff_or_landing(name, feet, celsius, share, wind, more):
    for method in (PERFORMANCE[name].takeoff_ft, PERFORMANCE[name].landing_ft):
        for less, greater in method(feet, celsius, weight(name, share), np.array([wind, wind + more])):
            assert not greater > less


@given(BOTH, st.floats(0, 8_000), st.floats(0, 35), st.floats(0, 9), load)
def test_hotter_or_higher_never_shortens_the_takeoff(name, feet, celsius, more, share):
    perf, lb = PERFORMANCE[name], weight(name, share)
    base = perf.takeoff_ft(feet, celsius, lb, 0.0)[1]
    assert not perf.takeoff_ft(feet, celsius + more, lb, 0.0)[1] < base - 1e-6
    assert not perf.takeoff_ft(feet + 200 * more, celsius, lb, 0.0)[1] < base - 1e-6


@given(BOTH, level, st.floats(-20, 20), st.floats(0, 10), load)
def test_climb_is_slower_when_hotter_or_heavier(name, feet, dev, hotter, share):
    perf, lb = PERFORMANCE[name], weight(name, share)
    rate = perf.climb_rate_fpm(feet, dev, lb)
    assert not perf.climb_rate_fpm(feet, dev + hotter, lb) > rate + 1e-6
    assert not perf.climb_rate_fpm(feet, dev, lb * 1.02) > rate + 1e-6
    assert not perf.ceiling_ft(dev + hotter, lb) > perf.ceiling_ft(dev, lb) + 1.0


@given(BOTH, st.floats(0, 6_000), st.floats(100, 3_000), st.floats(100, 3_000), st.floats(0, 15))
def test_two_climbs_add_up_to_one(name, bottom, first, second, dev):
    perf, lb = PERFORMANCE[name], weight(name, 0.9)
    whole = perf.climb(bottom, bottom + first + second, dev, lb)
    parts = zip(perf.climb(bottom, bottom + first, dev, lb),
                perf.climb(bottom + first, bottom + first + second, dev, lb), strict=True)
    for one, (a, b) in zip(whole, parts, strict=True):
        np.testing.assert_allclose(a + b, one, rtol=2e-4)


@pytest.mark.parametrize("name", NAMES)
def test_arrays_broadcast(name):
    perf = PERFORMANCE[name]
    feet, lb = np.array([4000.0, 8000.0])[:, None, None], np.full(4, 2400.0)
    dev = np.array([-5.0, 5.0, 9.0])[:, None]
    for result in (*perf.cruise(feet, dev, lb), *perf.climb(1000.0, feet, dev, lb),
                   *perf.descent(feet, 1000.0, dev, lb),
                   perf.climb_rate_fpm(feet, dev, lb), perf.climb_gradient_ft_per_nm(feet, dev, lb),
                   *perf.takeoff_ft(feet, 20.0 + dev, lb, 5.0), *perf.landing_ft(feet, 20.0 + dev, lb, 5.0)):
        assert result.shape == (2, 3, 4)
    assert perf.ceiling_ft(dev, lb).shape == (3, 4)


@pytest.mark.parametrize("name", NAMES)
def test_ceiling_is_where_the_climb_ends(name):
    perf, lb = PERFORMANCE[name], weight(name, 1.0)
    top = perf.ceiling_ft(0.0, lb)
    rate = float(perf.climb_rate_fpm(top - 1.0, 0.0, lb))
    assert rate >= 100.0 - 0.1
    assert name == "boosted_six" or rate < 115.0


@pytest.mark.benchmark
def test_ten_thousand_points_are_quick():
    """Bound: 10,000 rows of climb, cruise and field figures in well under what a year can spare; generous for CI."""
    perf, n = PERFORMANCE["retractable_260"], 10_000
    feet, lb = np.linspace(3000, 12_000, n), np.linspace(2000, 2960, n)
    best = np.inf
    for _ in range(3):
        start = time.perf_counter()
        perf.cruise(feet, 5.0, lb)
        best = min(best, time.perf_counter() - start)
    assert best < 0.1


# --- the handbook form -----------------------------------------------------------------------------------------

def handbook(**changes):
    return book_performance(profile(book=..., tables=tables(**changes)), A)


def test_handbook_is_exact_at_its_nodes():
    perf = handbook()
    assert [float(x) for x in perf.cruise(2000.0, 20.0, 2500.0)] == [118.0, 10.0]
    assert [float(x) for x in perf.takeoff_ft(4000.0, 20.0, 2500.0, 0.0)] == [1360.0, 2600.0]
    assert [float(x) for x in perf.climb(0.0, 8000.0, 0.0, 2500.0)] == pytest.approx([14 / 60, 3.0, 20.0])
    assert float(perf.climb_rate_fpm(4000.0, 0.0, 2500.0)) == 560.0


def test_every_printed_cell_of_the_demo_handbook_is_met():
    p = demo("carrier_230")
    base, table = book_performance(p, A), p.tables
    feet, dev = np.meshgrid(table.cruise.level_ft, table.cruise.isa_deviation_c, indexing="ij")
    for k, share in enumerate(table.cruise.power_share):
        tas, flow = base.with_power(share).cruise(feet, dev, table.cruise.weight_lb)
        printed = table.cruise.array("tas_kt")[..., k]
        seen = np.isfinite(printed)
        np.testing.assert_allclose(tas[seen], printed[seen], atol=1e-9)
        np.testing.assert_allclose(flow[seen], table.cruise.array("fuel_flow_gph")[..., k][seen], atol=1e-9)
    lb, feet, celsius = np.meshgrid(table.takeoff.weight_lb, table.takeoff.pressure_altitude_ft,
                                    table.takeoff.temperature_c, indexing="ij")
    np.testing.assert_allclose(base.takeoff_ft(feet, celsius, lb, 0.0)[1], table.takeoff.array("over_50ft_ft"))


def test_power_that_is_not_printed_falls_back_to_the_most_that_is():
    assert [float(x) for x in handbook().cruise(10_000.0, 20.0, 2500.0)] == [118.0, 8.6]


@pytest.mark.parametrize("result", [
    lambda p: p.cruise(19_500.0, 0.0, 2500.0)[0],
    lambda p: p.cruise(1_500.0, 0.0, 2500.0)[0],
    lambda p: p.cruise(4_000.0, 25.0, 2500.0)[0],
    lambda p: p.takeoff_ft(4_100.0, 20.0, 2500.0, 0.0)[1],
    lambda p: p.takeoff_ft(1_000.0, 41.0, 2500.0, 0.0)[1],
    lambda p: p.takeoff_ft(3_900.0, 39.0, 2500.0, 0.0)[1],
    lambda p: p.takeoff_ft(1_000.0, 20.0, 2500.0, -11.0)[1],
    lambda p: p.landing_ft(5_000.0, 5.0, 2500.0, 0.0)[1],
    lambda p: p.climb(0.0, 9_000.0, 0.0, 2500.0)[0],
    lambda p: p.climb(0.0, 4_000.0, 31.0, 2500.0)[0],
])
def test_outside_the_table_is_not_in_the_table(result):
    assert np.isnan(result(handbook()))


def test_heavier_than_the_table_is_not_in_the_table_and_lighter_is_its_edge():
    section = {"pressure_altitude_ft": [0.0, 4000.0], "weight_lb": [2000.0, 2400.0],
               "ground_roll_ft": [[600.0, 800.0], [850.0, 1150.0]],
               "over_50ft_ft": [[1100.0, 1500.0], [1600.0, 2200.0]], "above_standard_for_tenth_more_c": 10.0}
    perf = handbook(takeoff=section)
    assert np.isnan(perf.takeoff_ft(0.0, 15.0, 2500.0, 0.0)[0])
    assert float(perf.takeoff_ft(0.0, 15.0, 1800.0, 0.0)[0]) == 600.0
    assert float(perf.takeoff_ft(0.0, -20.0, 2400.0, 0.0)[1]) == 1600.0


def test_colder_and_lower_than_a_field_table_count_as_its_edge():
    perf = handbook()
    assert float(perf.takeoff_ft(-500.0, -25.0, 2500.0, 0.0)[0]) == 850.0


def test_warm_climb_takes_a_tenth_longer_for_each_step_of_the_note():
    standard, warm = (handbook().climb(0.0, 4000.0, dev, 2500.0)[0] for dev in (0.0, 10.0))
    assert float(warm / standard) == pytest.approx(1.1)


@given(st.floats(0, 1), st.floats(0, 1), st.floats(0, 1))
def test_multilinear_reproduces_a_multilinear_function(a, b, c):
    axes = ([0.0, 0.3, 1.0], [0.0, 1.0], [0.0, 0.5, 0.6, 1.0])

    def f(x, y, z):
        return 3.0 + 2.0 * x - y + 4.0 * z

    values = f(*np.meshgrid(*map(np.array, axes), indexing="ij"))
    assert float(multilinear(axes, values, (a, b, c))) == pytest.approx(f(a, b, c), abs=1e-12)


def test_blank_next_door_does_not_spoil_a_node():
    values = np.array([1.0, 2.0, np.nan])
    found = multilinear(([0.0, 1.0, 2.0],), values, (np.array([1.0, 1.5, 2.0, 0.5]),))
    np.testing.assert_array_equal(found, [2.0, np.nan, np.nan, 1.5])


def test_the_two_forms_share_one_interface():
    assert isinstance(PERFORMANCE["retractable_260"].base, FittedPerformance)
    assert PERFORMANCE["carrier_230"].taxi_fuel_gal == 2.2
