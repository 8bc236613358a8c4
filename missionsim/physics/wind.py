"""Winds as direction and speed, and as motion of the air.

Winds are *from*, degrees true: 360 is north, a calm is 0 at 0 kt.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from missionsim.physics.units import FloatArray, real


def uv_kt(wind_from_deg: npt.ArrayLike, wind_kt: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return the eastward and northward motion of the air. [kt]."""
    angle, speed = np.deg2rad(real(wind_from_deg)), real(wind_kt)
    return -speed * np.sin(angle), -speed * np.cos(angle)


def from_uv(u_kt: npt.ArrayLike, v_kt: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return direction and speed of a wind from its eastward and northward motion.

    Returns
    -------
    wind_from_deg : float or array   Above 0 up to 360, north is 360; 0 for a calm. [deg]
    wind_kt : float or array         Speed. [kt]
    """
    u, v = real(u_kt), real(v_kt)
    speed = np.hypot(u, v)
    direction = np.mod(np.rad2deg(np.arctan2(-u, -v)), 360.0)
    direction = np.where(speed == 0.0, 0.0, np.where(direction == 0.0, 360.0, direction))
    return direction[()], speed
