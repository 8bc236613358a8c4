"""Wind components, the wind triangle, and times along a course.

Winds are *from*, degrees true: 360 is north, a calm is 0 at 0 kt. Courses, headings and tracks run from 0 up to, not
including, 360. A headwind is positive on the nose, a crosswind positive from the right.
Where the wind allows no progress along the course, `solvable` is False and the groundspeed is 0: never NaN.
"""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

from missionsim.physics.units import BoolArray, FloatArray, real


def components(course_deg: npt.ArrayLike, wind_from_deg: npt.ArrayLike, wind_kt: npt.ArrayLike,
               ) -> tuple[FloatArray, FloatArray]:
    """Return a wind's components along and across a course (or runway).

    Parameters
    ----------
    course_deg : float or array      Course, or true heading of a runway. [deg]
    wind_from_deg : float or array   Direction the wind comes from. [deg]
    wind_kt : float or array         Wind speed. [kt]

    Returns
    -------
    headwind_kt : float or array     Positive on the nose, negative from behind. [kt]
    crosswind_kt : float or array    Positive from the right. [kt]
    """
    angle = np.deg2rad(real(wind_from_deg) - real(course_deg))
    speed = real(wind_kt)
    return speed * np.cos(angle), speed * np.sin(angle)


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


def groundspeed_kt(tas_kt: npt.ArrayLike, headwind_kt: npt.ArrayLike, crosswind_kt: npt.ArrayLike,
                   ) -> tuple[FloatArray, BoolArray]:
    """Return the groundspeed along a course held against the wind.

    Parameters
    ----------
    tas_kt : float or array          True airspeed. [kt]
    headwind_kt : float or array     Component on the nose. [kt]
    crosswind_kt : float or array    Component across; its sign does not matter. [kt]

    Returns
    -------
    groundspeed_kt : float or array  0 where not solvable. [kt]
    solvable : bool or array         False where the crosswind exceeds the airspeed, the headwind allows no progress,
                                     there is no airspeed, or an argument is not a number.
    """
    tas, cross = real(tas_kt), real(crosswind_kt)
    square = tas * tas - cross * cross
    along = np.sqrt(np.maximum(square, 0.0)) - real(headwind_kt)
    solvable = (square >= 0.0) & (along > 0.0) & (tas > 0.0)
    return np.where(solvable, along, 0.0)[()], solvable


def time_h(distance_nm: npt.ArrayLike, groundspeed_kt: npt.ArrayLike) -> FloatArray:
    """Return the hours a distance takes; infinite where there is a distance but no groundspeed. [h]."""
    distance, speed = np.broadcast_arrays(real(distance_nm), real(groundspeed_kt))
    moving = speed > 0.0
    hours = distance / np.where(moving, speed, 1.0)
    return np.where(moving | (distance == 0.0), hours, np.inf)[()]


def _circle(angle_deg: FloatArray) -> FloatArray:
    """Return an angle from 0 up to, not including, 360; rounding may not lift a tiny negative angle to 360."""
    angle = np.mod(angle_deg, 360.0)
    return np.where(angle >= 360.0, 0.0, angle)[()]
