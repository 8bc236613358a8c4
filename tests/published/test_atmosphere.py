"""Standard atmosphere, pressure altitude and density altitude against published values and independent programs."""

from __future__ import annotations

import ambiance
import fluids.atmosphere
import numpy as np
import pytest
from airdata import speed_of_sound_kt

from missionsim.physics import atmosphere as air
from missionsim.physics.units import KELVIN

pytestmark = pytest.mark.published

# Source: ICAO Doc 7488 / U.S. Standard Atmosphere 1976; constants from memory, rows computed and confirmed by two
# independent programs. Columns: geopotential ft, °C, Pa, kg/m³, pressure, density and temperature ratio, sound kt.
STANDARD = [
    (0, 15.000, 101_325.0, 1.22500, 1.00000, 1.00000, 1.00000, 661.48),
    (5_000, 5.094, 84_307.3, 1.05555, 0.83205, 0.86167, 0.96562, 650.01),
    (8_000, -0.850, 75_262.4, 0.96287, 0.74278, 0.78602, 0.94500, 643.03),
    (10_000, -4.812, 69_681.6, 0.90464, 0.68770, 0.73848, 0.93124, 638.33),
    (18_000, -20.662, 50_599.8, 0.69815, 0.49938, 0.56991, 0.87624, 619.20),
]


@pytest.mark.parametrize(("h_ft", "t_c", "p_pa", "rho", "delta", "sigma", "theta", "sound_kt"), STANDARD)
def test_standard_atmosphere_rows(h_ft, t_c, p_pa, rho, delta, sigma, theta, sound_kt):
    temperature = air.standard_temperature_c(h_ft)
    assert temperature == pytest.approx(t_c, abs=0.002)
    assert (temperature + KELVIN) / air.T0_K == pytest.approx(theta, abs=2e-5)
    assert 100.0 * air.pressure_hpa(h_ft) == pytest.approx(p_pa, abs=1.0)
    assert air.pressure_hpa(h_ft) / air.P0_HPA == pytest.approx(delta, abs=2e-5)
    assert air.standard_density_ratio(h_ft) == pytest.approx(sigma, abs=2e-5)
    assert air.density_ratio(h_ft, temperature) == pytest.approx(sigma, abs=2e-5)
    assert air.standard_density_ratio(h_ft) * 1.225 == pytest.approx(rho, abs=2e-5)
    assert speed_of_sound_kt(temperature) == pytest.approx(sound_kt, abs=0.01)


def test_tropopause_of_the_standard():
    # Source: ICAO Doc 7488: 11 km, -56.5 °C, 226.32 hPa; and 20 km at 54.749 hPa lies just above the range here.
    assert pytest.approx(36_089.24, abs=0.005) == air.TROPOPAUSE_FT
    assert air.standard_temperature_c(air.TROPOPAUSE_FT) == pytest.approx(-56.5, abs=1e-9)
    assert air.pressure_hpa(air.TROPOPAUSE_FT) == pytest.approx(226.32, abs=0.005)
    assert air.pressure_hpa(20_000.0 / 0.3048, check=False) == pytest.approx(54.749, abs=0.0005)


# Both programs take geometric height; fed with geopotential height they are 13 Pa off at 10,000 ft.
EARTH_RADIUS_M = 6_356_766.0
LEVELS_FT = np.array([-1_500.0, 0.0, 500.0, 3_300.0, 7_500.0, 10_000.0, 12_500.0, 18_000.0, 25_000.0, 36_000.0,
                      36_200.0, 41_000.0, 51_000.0, 64_000.0])


def _geometric_m(level_ft):
    h = level_ft * 0.3048
    return EARTH_RADIUS_M * h / (EARTH_RADIUS_M - h)


def test_against_ambiance():
    other = ambiance.Atmosphere(_geometric_m(LEVELS_FT))
    assert 100.0 * air.pressure_hpa(LEVELS_FT) == pytest.approx(other.pressure, abs=0.2)
    assert air.standard_temperature_c(LEVELS_FT) + KELVIN == pytest.approx(other.temperature, abs=0.001)
    assert air.standard_density_ratio(LEVELS_FT) * 1.225 == pytest.approx(other.density, abs=1e-5)
    sound_m_s = speed_of_sound_kt(air.standard_temperature_c(LEVELS_FT)) * 1852.0 / 3600.0
    assert sound_m_s == pytest.approx(other.speed_of_sound, abs=0.001)


@pytest.mark.parametrize("level_ft", LEVELS_FT)
def test_against_fluids(level_ft):
    other = fluids.atmosphere.ATMOSPHERE_1976(_geometric_m(level_ft))
    assert 100.0 * air.pressure_hpa(level_ft) == pytest.approx(other.P, abs=0.2)
    assert air.standard_temperature_c(level_ft) + KELVIN == pytest.approx(other.T, abs=0.001)


def test_geopotential_and_geometric_height_are_not_confused():
    # 10,000 ft taken as geometric height gives 69,694.6 Pa, the standard gives 69,681.6 Pa.
    trap = ambiance.Atmosphere(10_000 * 0.3048).pressure[0]
    assert trap == pytest.approx(69_694.6, abs=0.5)
    assert 100.0 * air.pressure_hpa(10_000) == pytest.approx(69_681.6, abs=1.0)


def test_pressure_altitude_of_sample_problem():
    # Source: FAA-H-8083-25, performance chapter, Sample Problem 1 (altimeter column of the density-altitude chart).
    assert air.pressure_altitude_ft(5_883, 30.10) == pytest.approx(5_718, abs=1.0)
    assert air.pressure_altitude_ft(5_883, 30.10) - 5_883 == pytest.approx(-165, abs=1.0)


# Source: FAA-H-8083-25, performance chapter, altimeter-setting column of the density-altitude chart (from memory,
# confirmed by computing).
ALTIMETER_COLUMN = [(28.0, 1_824), (28.5, 1_340), (29.0, 863), (29.5, 392), (29.9, 20), (30.0, -73), (30.2, -257),
                    (30.5, -531), (31.0, -983)]


@pytest.mark.parametrize(("altimeter_inhg", "correction_ft"), ALTIMETER_COLUMN)
def test_altimeter_column(altimeter_inhg, correction_ft):
    assert air.pressure_altitude_ft(0, altimeter_inhg) == pytest.approx(correction_ft, abs=1.0)


# Source: (1) FAA-H-8083-25, performance chapter, Sample Problem 1, chart reading; (2), (3) FAA commercial
# knowledge-test questions with printed choices 7,800 and 14,130 ft. The last column is the exact dry-air relation,
# worked apart.
DENSITY_ALTITUDES = [(5_718, (70 - 32) / 1.8, 7_700, 100, 7_709), (5_000, 30, 7_800, 50, 7_801),
                     (12_000, 10, 14_130, 10, 14_134)]


@pytest.mark.parametrize(("pa_ft", "t_c", "printed_ft", "reading_error_ft", "exact_ft"), DENSITY_ALTITUDES)
def test_density_altitude_of_published_problems(pa_ft, t_c, printed_ft, reading_error_ft, exact_ft):
    found = air.density_altitude_ft(pa_ft, t_c)
    assert found == pytest.approx(printed_ft, abs=reading_error_ft)
    assert found == pytest.approx(exact_ft, abs=2.0)


@pytest.mark.parametrize(("pa_ft", "t_c", "exact_ft"), [(2_000, 22, 3_270), (0, 35, 2_275)])
def test_density_altitude_worked_by_hand(pa_ft, t_c, exact_ft):
    # Source: the exact relation of the standard, (T0/L)(1 - sigma^(1/4.25588)), worked apart from this program.
    assert air.density_altitude_ft(pa_ft, t_c) == pytest.approx(exact_ft, abs=2.0)


def test_standard_lapse_per_thousand_feet():
    # Source: FAA-H-8083-25: 2 °C (3.5 °F) and 1 inHg per 1,000 ft near sea level, printed rounded.
    assert air.standard_temperature_c(0) - air.standard_temperature_c(1_000) == pytest.approx(2.0, abs=0.05)
    assert (air.pressure_hpa(0) - air.pressure_hpa(1_000)) / 33.86389 == pytest.approx(1.0, abs=0.1)


@pytest.mark.parametrize(("psi", "level_ft"), [(3.55, 18_000.0), (4.2, 20_000.0), (5.0, 23_000.0), (5.5, 25_000.0),
                                               (6.5, 29_500.0)])
def test_cabins_of_eight_thousand_feet(psi, level_ft):
    """Differentials that give an 8,000 ft cabin, tabulated from the standard atmosphere to the nearest 500 ft."""
    assert air.cabin_altitude_ft(level_ft, psi) == pytest.approx(8_000.0, abs=500.0)


def test_a_cabin_is_never_above_the_aircraft_nor_below_the_sea_and_one_without_pressure_is_outside():
    np.testing.assert_array_equal(air.cabin_altitude_ft(np.array([2_000.0, 9_000.0]), 0.0), [2_000.0, 9_000.0])
    inside_ft = air.cabin_altitude_ft(np.array([-500.0, 1_000.0, 9_000.0]), 5.5)
    np.testing.assert_allclose(inside_ft, [-500.0, 0.0, 0.0], atol=1e-6)
    assert air.cabin_altitude_ft(air.level_of_cabin_ft(12_500.0, 3.9), 3.9) == pytest.approx(12_500.0, abs=1e-6)
    assert air.level_of_cabin_ft(14_000.0, 0.0) == pytest.approx(14_000.0, abs=1e-9)
