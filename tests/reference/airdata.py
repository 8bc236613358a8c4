"""Airspeeds: calibrated, equivalent and true, with compressibility.

Indicated airspeed is taken as calibrated unless the flight manual's correction is given.

References
----------
.. [1] Pitot relations for subsonic flow with a ratio of specific heats of 1.4, on the ICAO standard atmosphere.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from missionsim.physics.atmosphere import P0_HPA, R_AIR_J_KG_K, T0_K, density_ratio, pressure_hpa
from missionsim.physics.units import KELVIN, M_PER_NM, FloatArray, real, require_within

_SOUND_KT_PER_ROOT_K = (1.4 * R_AIR_J_KG_K) ** 0.5 * 3600.0 / M_PER_NM
SOUND0_KT = _SOUND_KT_PER_ROOT_K * T0_K ** 0.5
"""Speed of sound of the standard at sea level. [kt]"""

HIGHEST_CAS_KT = 600.0
HIGHEST_MACH = 0.95


def speed_of_sound_kt(temperature_c: npt.ArrayLike) -> FloatArray:
    """Return the speed of sound in dry air. [kt]"""
    return _SOUND_KT_PER_ROOT_K * np.sqrt(real(temperature_c) + KELVIN)


def tas_kt(cas_kt: npt.ArrayLike, pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike, *,
           check: bool = True) -> FloatArray:
    """Return true airspeed from calibrated airspeed.

    Parameters
    ----------
    cas_kt : float or array                 Calibrated airspeed, 0 to 600. [kt]
    pressure_altitude_ft : float or array   Pressure altitude, -2,000 to 65,000. [ft]
    temperature_c : float or array          Outside air temperature, -100 to 60. [°C]
    check : bool                            Whether to check the ranges.

    Returns
    -------
    float or array                          True airspeed. [kt]

    Raises
    ------
    ValidityError                           If a value lies outside its range, or the Mach number exceeds 0.95.
    """
    cas = real(cas_kt)
    if check:
        require_within("cas_kt", cas, 0.0, HIGHEST_CAS_KT)
    delta = pressure_hpa(pressure_altitude_ft, check=check) / P0_HPA
    mach = _mach(_impact(cas / SOUND0_KT) / delta)
    if check:
        require_within("Mach number", mach, 0.0, HIGHEST_MACH)
    return mach * speed_of_sound_kt(temperature_c)


def cas_kt(tas_kt: npt.ArrayLike, pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike, *,
           check: bool = True) -> FloatArray:
    """Return calibrated airspeed from true airspeed; the inverse of `tas_kt`, with the same ranges. [kt].

    Raises
    ------
    ValidityError                           If a value lies outside its range, or the Mach number exceeds 0.95.
    """
    mach = real(tas_kt) / speed_of_sound_kt(temperature_c)
    if check:
        require_within("Mach number", mach, 0.0, HIGHEST_MACH)
    delta = pressure_hpa(pressure_altitude_ft, check=check) / P0_HPA
    return SOUND0_KT * _mach(_impact(mach) * delta)


def eas_kt(tas_kt: npt.ArrayLike, pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike, *,
           check: bool = True) -> FloatArray:
    """Return equivalent airspeed: true airspeed times the square root of the density ratio. [kt].

    Raises
    ------
    ValidityError                           If altitude or temperature lies outside its range.
    """
    return real(tas_kt) * np.sqrt(density_ratio(pressure_altitude_ft, temperature_c, check=check))


def tas_of_eas_kt(eas_kt: npt.ArrayLike, pressure_altitude_ft: npt.ArrayLike, temperature_c: npt.ArrayLike, *,
                  check: bool = True) -> FloatArray:
    """Return true airspeed from equivalent airspeed; with calibrated airspeed put in, the incompressible rule. [kt].

    Raises
    ------
    ValidityError                           If altitude or temperature lies outside its range.
    """
    return real(eas_kt) / np.sqrt(density_ratio(pressure_altitude_ft, temperature_c, check=check))


def cas_of_ias_kt(ias_kt: npt.ArrayLike, table_ias_kt: Sequence[float] = (), table_cas_kt: Sequence[float] = (),
                  ) -> FloatArray:
    """Return calibrated airspeed from indicated airspeed by the flight manual's correction table.

    Parameters
    ----------
    ias_kt : float or array            Indicated airspeed. [kt]
    table_ias_kt, table_cas_kt         Columns of the correction table, indicated rising; empty: IAS is taken as CAS.

    Returns
    -------
    float or array                     Calibrated airspeed. [kt]

    Raises
    ------
    ValidityError                      If a speed lies outside the table (no extrapolation).
    """
    ias = real(ias_kt)
    if len(table_ias_kt) == 0:
        return ias
    require_within("ias_kt", ias, table_ias_kt[0], table_ias_kt[-1])
    return np.interp(ias, table_ias_kt, table_cas_kt)


def _impact(mach: FloatArray) -> FloatArray:
    """Impact pressure over static pressure."""
    # expm1 and log1p keep every digit at taxi speeds, where the plain power cancels.
    return np.expm1(3.5 * np.log1p(0.2 * mach * mach))


def _mach(impact: FloatArray) -> FloatArray:
    return np.sqrt(5.0 * np.expm1(np.log1p(impact) / 3.5))
