from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from missionsim.base.errors import ValidityError
from missionsim.physics import atmosphere as air

LEVELS = st.floats(-2_000, 65_000)
LOW_LEVELS = st.floats(-2_000, 36_000)
TEMPERATURES = st.floats(-60, 50)


@given(LEVELS)
def test_pressure_and_level_are_inverse(level_ft):
    assert air.level_ft_of_pressure(air.pressure_hpa(level_ft)) == pytest.approx(level_ft, abs=1e-5)


@given(LEVELS)
def test_density_altitude_of_standard_air_is_the_level(level_ft):
    t = air.standard_temperature_c(level_ft)
    assert air.density_altitude_ft(level_ft, t) == pytest.approx(level_ft, abs=1e-4)
    assert air.isa_deviation_c(level_ft, t) == pytest.approx(0.0, abs=1e-9)


@given(LEVELS, TEMPERATURES)
def test_density_altitude_has_the_density(level_ft, t_c):
    da = air.density_altitude_ft(level_ft, t_c)
    sigma = float(air.density_ratio(level_ft, t_c))
    assert air.standard_density_ratio(da, check=False) == pytest.approx(sigma, rel=1e-9)


@given(LEVELS, LEVELS)
def test_higher_is_thinner(a_ft, b_ft):
    low, high = sorted((a_ft, b_ft))
    if high - low < 1.0:
        return
    assert air.pressure_hpa(high) < air.pressure_hpa(low)
    assert air.standard_density_ratio(high) < air.standard_density_ratio(low)
    assert air.standard_temperature_c(high) <= air.standard_temperature_c(low)


@given(LEVELS, TEMPERATURES, st.floats(0.1, 10))
def test_warmer_air_is_thinner(level_ft, t_c, warmer_c):
    assert air.density_altitude_ft(level_ft, t_c + warmer_c) > air.density_altitude_ft(level_ft, t_c)
    assert air.isa_deviation_c(level_ft, t_c + warmer_c) == pytest.approx(
        air.isa_deviation_c(level_ft, t_c) + warmer_c, abs=1e-9)


@given(st.floats(25.5, 32.5))
def test_low_setting_means_high_pressure_altitude(altimeter_inhg):
    pa = air.pressure_altitude_ft(1_000, altimeter_inhg)
    assert (pa > 1_000) == (altimeter_inhg < air.STANDARD_INHG)
    # At sea level the setting is the pressure itself.
    assert air.pressure_altitude_ft(0, altimeter_inhg) == pytest.approx(
        float(air.level_ft_of_pressure(altimeter_inhg * 33.86389, check=False)), abs=1e-6)


def test_both_layers_meet_at_the_tropopause():
    around = air.TROPOPAUSE_FT + np.array([-1e-3, 1e-3])
    for f in (air.pressure_hpa, air.standard_density_ratio, air.standard_temperature_c):
        below, above = f(around)
        assert below == pytest.approx(above, rel=1e-6)


def test_hydrostatic_balance_in_both_layers():
    # dp = -rho g dh ties pressure, density and temperature to each other without the closed forms.
    levels = np.array([-1_000.0, 5_000.0, 20_000.0, 35_000.0, 40_000.0, 60_000.0])
    step_ft = 1.0
    drop_pa = 100.0 * (air.pressure_hpa(levels - step_ft) - air.pressure_hpa(levels + step_ft))
    weight_pa = air.standard_density_ratio(levels) * 1.225 * air.G0_M_S2 * 2 * step_ft * 0.3048
    assert drop_pa == pytest.approx(weight_pa, rel=1e-6)


@pytest.mark.parametrize(("call", "name"), [
    (lambda: air.pressure_hpa(65_001), "pressure altitude in ft is 65,001; valid from -2,000 to 65,000"),
    (lambda: air.standard_temperature_c([0, -2_001]), "-2,001; valid from -2,000 to 65,000"),
    (lambda: air.density_ratio(0, 61), "temperature_c is 61; valid from -100 to 60"),
    (lambda: air.density_altitude_ft(np.nan, 0), "is nan"),
    (lambda: air.pressure_altitude_ft(0, 1_013), "altimeter_inhg is 1,013; valid from 25 to 33"),
    (lambda: air.level_ft_of_pressure(29.92), "pressure_hpa is 29.92"),
    (lambda: air.density_altitude_of_ratio_ft(0.0), "density_ratio is 0; valid from 0.05 to 1.6"),
])
def test_out_of_range_is_an_error_with_value_and_limits(call, name):
    with pytest.raises(ValidityError, match=name):
        call()


def test_no_check_when_asked():
    assert air.pressure_hpa(70_000, check=False) < air.pressure_hpa(65_000)


def test_arrays_broadcast_and_single_precision_is_kept():
    levels = np.linspace(0, 20_000, 5, dtype=np.float32)[:, None]
    temperatures = np.linspace(-20, 30, 3, dtype=np.float32)[None, :]
    found = air.density_altitude_ft(levels, temperatures)
    assert found.shape == (5, 3)
    assert found.dtype == np.float32
    exact = air.density_altitude_ft(levels.astype(float), temperatures.astype(float))
    assert found == pytest.approx(exact, abs=0.5)


def test_numbers_give_numbers():
    assert np.ndim(air.density_altitude_ft(5_000, 30)) == 0
    assert isinstance(float(air.pressure_hpa(0)), float)
