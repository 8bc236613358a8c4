"""ICAO standard atmosphere to 20 km, and the altitudes that pilots derive from it.

Heights are geopotential, as an altimeter shows them; `level_ft` and `pressure_altitude_ft` are pressure altitudes.
Air is dry: saturated air at 30 °C is 1.6 % lighter, which is some 500 ft of density altitude more, not counted here.
Functions take numbers or arrays that broadcast; `check=False` skips the range check in batch code.

References
----------
.. [1] ICAO Doc 7488, Manual of the ICAO Standard Atmosphere: constants, lapse rate, tropopause at 11 km.
.. [2] U.S. Standard Atmosphere, 1976: the same values up to 32 km.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from missionsim.physics.units import (
    HPA_PER_INHG,
    HPA_PER_PSI,
    KELVIN,
    M_PER_FT,
    FloatArray,
    real,
    require_within,
)

# Constants of the cited standard.
G0_M_S2 = 9.80665
R_AIR_J_KG_K = 287.05287
T0_K = 288.15
P0_HPA = 1013.25
LAPSE_K_M = 0.0065
TROPOPAUSE_M = 11_000.0

LOWEST_FT = -2_000.0
HIGHEST_FT = 65_000.0
COLDEST_C = -100.0
HOTTEST_C = 60.0
LOWEST_INHG = 25.0
HIGHEST_INHG = 33.0

TROPOPAUSE_FT = TROPOPAUSE_M / M_PER_FT
T11_K = T0_K - LAPSE_K_M * TROPOPAUSE_M
STANDARD_INHG = P0_HPA / HPA_PER_INHG
_LAPSE_K_FT = LAPSE_K_M * M_PER_FT
_FT_AT_ZERO_K = T0_K / _LAPSE_K_FT
_PRESSURE_POWER = G0_M_S2 / (R_AIR_J_KG_K * LAPSE_K_M)
_DENSITY_POWER = _PRESSURE_POWER - 1.0
_DECAY_PER_FT = G0_M_S2 * M_PER_FT / (R_AIR_J_KG_K * T11_K)
_DELTA11 = (T11_K / T0_K) ** _PRESSURE_POWER
_SIGMA11 = (T11_K / T0_K) ** _DENSITY_POWER


def standard_temperature_c(level_ft: npt.ArrayLike, *, check: bool = True) -> FloatArray:
    """Return the temperature of the standard atmosphere.

    Parameters
    ----------
    level_ft : float or array   Pressure altitude, -2,000 to 65,000. [ft]
    check : bool                Whether to check the range.

    Returns
    -------
    float or array              Standard temperature. [°C]

    Raises
    ------
    ValidityError               If a level lies outside the range.
    """
    h = _level(level_ft, check)
    return _standard_k(h) - KELVIN


def pressure_hpa(level_ft: npt.ArrayLike, *, check: bool = True) -> FloatArray:
    """Return the static pressure at a pressure altitude (-2,000 to 65,000 ft). [hPa].

    Raises
    ------
    ValidityError               If a level lies outside the range.
    """
    return P0_HPA * _delta(_level(level_ft, check))


def level_ft_of_pressure(pressure_hpa: npt.ArrayLike, *, check: bool = True) -> FloatArray:
    """Return the pressure altitude that has a static pressure; the inverse of `pressure_hpa`.

    Parameters
    ----------
    pressure_hpa : float or array   Static pressure, 56.4 to 1,088. [hPa]
    check : bool                    Whether to check the range.

    Returns
    -------
    float or array                  Pressure altitude. [ft]

    Raises
    ------
    ValidityError                   If a pressure lies outside the range.
    """
    p = real(pressure_hpa)
    if check:
        require_within("pressure_hpa", p, _LEAST_HPA, _MOST_HPA)
    return _height_ft(p / P0_HPA, _DELTA11, 1.0 / _PRESSURE_POWER)


def cabin_altitude_ft(level_ft: npt.ArrayLike, differential_psi: float) -> FloatArray:
    """Return the pressure altitude inside a cabin that holds so much more than the air outside, at most sea level's.

    Parameters
    ----------
    level_ft : float or array   Pressure altitude outside. [ft]
    differential_psi : float    Cabin pressure over that outside; 0 for a cabin that is not pressurised. [psi]
    """
    if differential_psi <= 0.0:
        return real(level_ft)
    inside = np.minimum(pressure_hpa(level_ft, check=False) + HPA_PER_PSI * differential_psi, P0_HPA)
    return np.minimum(level_ft_of_pressure(inside, check=False), real(level_ft))


def level_of_cabin_ft(cabin_ft: float, differential_psi: float) -> float:
    """Return the pressure altitude at which a cabin has this altitude inside; the inverse of `cabin_altitude_ft`."""
    outside = float(pressure_hpa(cabin_ft)) - HPA_PER_PSI * max(differential_psi, 0.0)
    return float(level_ft_of_pressure(max(outside, _LEAST_HPA)))


def standard_density_ratio(level_ft: npt.ArrayLike, *, check: bool = True) -> FloatArray:
    """Return the density of the standard atmosphere over that at sea level.

    Raises
    ------
    ValidityError               If a level lies outside -2,000 to 65,000 ft.
    """
    h = _level(level_ft, check)
    return _delta(h) * T0_K / _standard_k(h)


def density_ratio(pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike, *,
                  check: bool = True) -> FloatArray:
    """Return the density of dry air over the standard density at sea level.

    Parameters
    ----------
    pressure_altitude_ft : float or array   Pressure altitude, -2,000 to 65,000. [ft]
    temperature_c : float or array          Outside air temperature, -100 to 60. [°C]
    check : bool                            Whether to check the ranges.

    Returns
    -------
    float or array                          Density ratio.

    Raises
    ------
    ValidityError                           If a value lies outside its range.
    """
    h = _level(pressure_altitude_ft, check)
    return _delta(h) * (T0_K / _kelvin(temperature_c, check))


def density_altitude_ft(pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike, *,
                        check: bool = True) -> FloatArray:
    """Return the standard-atmosphere altitude that has the same air density. Dry air.

    Parameters
    ----------
    pressure_altitude_ft : float or array   Pressure altitude, -2,000 to 65,000. [ft]
    temperature_c : float or array          Outside air temperature, -100 to 60. [°C]
    check : bool                            Whether to check the ranges.

    Returns
    -------
    float or array                          Density altitude; in dense cold air it may lie below -2,000. [ft]

    Raises
    ------
    ValidityError                           If a value lies outside its range.
    """
    return density_altitude_of_ratio_ft(density_ratio(pressure_altitude_ft, temperature_c, check=check), check=False)


def density_altitude_of_ratio_ft(density_ratio: npt.ArrayLike, *, check: bool = True) -> FloatArray:
    """Return the density altitude of a density ratio (0.05 to 1.6). [ft].

    Raises
    ------
    ValidityError               If a ratio lies outside the range.
    """
    sigma = real(density_ratio)
    if check:
        require_within("density_ratio", sigma, 0.05, 1.6)
    return _height_ft(sigma, _SIGMA11, 1.0 / _DENSITY_POWER)


def pressure_altitude_ft(elevation_ft: npt.ArrayLike, altimeter_inhg: npt.ArrayLike, *,
                         check: bool = True) -> FloatArray:
    """Return pressure altitude from elevation (or indicated altitude) and altimeter setting.

    An altimeter subtracts the standard height of its setting, so the correction depends on the setting alone.

    Parameters
    ----------
    elevation_ft : float or array     Elevation or indicated altitude, -2,000 to 65,000. [ft]
    altimeter_inhg : float or array   Altimeter setting, 25 to 33. [inHg]
    check : bool                      Whether to check the ranges.

    Returns
    -------
    float or array                    Pressure altitude. [ft]

    Raises
    ------
    ValidityError                     If a value lies outside its range.
    """
    elevation, setting = real(elevation_ft), real(altimeter_inhg)
    if check:
        require_within("elevation_ft", elevation, LOWEST_FT, HIGHEST_FT)
        require_within("altimeter_inhg", setting, LOWEST_INHG, HIGHEST_INHG)
    return elevation + _height_ft(setting / STANDARD_INHG, _DELTA11, 1.0 / _PRESSURE_POWER)


def isa_deviation_c(pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike, *,
                    check: bool = True) -> FloatArray:
    """Return how much warmer the air is than standard at its pressure altitude. [°C].

    Raises
    ------
    ValidityError               If a value lies outside its range.
    """
    h = _level(pressure_altitude_ft, check)
    return _kelvin(temperature_c, check) - _standard_k(h)


def _level(level_ft: npt.ArrayLike, check: bool) -> FloatArray:
    h = real(level_ft)
    if check:
        require_within("pressure altitude in ft", h, LOWEST_FT, HIGHEST_FT)
    return h


def _kelvin(temperature_c: npt.ArrayLike, check: bool) -> FloatArray:
    t = real(temperature_c)
    if check:
        require_within("temperature_c", t, COLDEST_C, HOTTEST_C)
    return t + KELVIN


def _standard_k(h_ft: FloatArray) -> FloatArray:
    return np.maximum(T0_K - _LAPSE_K_FT * h_ft, T11_K)


def _delta(h_ft: FloatArray) -> FloatArray:
    # Below the tropopause the exponential is 1, above it the power is constant: no branch, no mask.
    above = np.maximum(h_ft - TROPOPAUSE_FT, 0.0)
    return (_standard_k(h_ft) / T0_K) ** _PRESSURE_POWER * np.exp(-_DECAY_PER_FT * above)


def _height_ft(ratio: FloatArray, ratio11: float, power: float) -> FloatArray:
    below = _FT_AT_ZERO_K * (1.0 - np.maximum(ratio, ratio11) ** power)
    return below + np.log(ratio11 / np.minimum(ratio, ratio11)) / _DECAY_PER_FT


_LEAST_HPA = float(P0_HPA * _delta(np.float64(HIGHEST_FT)))  # type: ignore[arg-type]
_MOST_HPA = float(P0_HPA * _delta(np.float64(LOWEST_FT)))  # type: ignore[arg-type]
