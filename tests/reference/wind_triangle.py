"""The wind triangle of the textbooks, which the program does without: it takes along-course winds from its fields.

Winds are *from*, degrees true; where the wind allows no progress along the course, `solvable` is False and the
groundspeed is 0.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from missionsim.base.arrays import Bools
from missionsim.physics.units import FloatArray, real
from missionsim.physics.wind import uv_kt


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


def groundspeed_kt(tas_kt: npt.ArrayLike, headwind_kt: npt.ArrayLike, crosswind_kt: npt.ArrayLike,
                   ) -> tuple[FloatArray, Bools]:
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


@dataclass(frozen=True, slots=True)
class WindTriangle:
    """Solution of the wind triangle; all fields broadcast to the shape of the arguments.

    Parameters
    ----------
    heading_deg : float or array       True heading; where not solvable, the course. [deg]
    wca_deg : float or array           Wind correction angle, positive to the right; 0 where not solvable. [deg]
    groundspeed_kt : float or array    Along the course; 0 where not solvable. [kt]
    solvable : bool or array           Whether the course can be flown forward at this airspeed.
    """

    heading_deg: FloatArray
    wca_deg: FloatArray
    groundspeed_kt: FloatArray
    solvable: Bools


def components_of_uv(course_deg: npt.ArrayLike, u_kt: npt.ArrayLike, v_kt: npt.ArrayLike,
                     ) -> tuple[FloatArray, FloatArray]:
    """Return headwind and crosswind from eastward and northward motion, without a detour over direction. [kt]."""
    angle = np.deg2rad(real(course_deg))
    sine, cosine = np.sin(angle), np.cos(angle)
    u, v = real(u_kt), real(v_kt)
    return -(u * sine + v * cosine), v * sine - u * cosine


def wind_triangle(course_deg: npt.ArrayLike, tas_kt: npt.ArrayLike, wind_from_deg: npt.ArrayLike,
                  wind_kt: npt.ArrayLike) -> WindTriangle:
    """Return heading, wind correction angle and groundspeed for a course.

    Parameters
    ----------
    course_deg : float or array      Course to be made good. [deg]
    tas_kt : float or array          True airspeed. [kt]
    wind_from_deg : float or array   Direction the wind comes from. [deg]
    wind_kt : float or array         Wind speed. [kt]

    Returns
    -------
    WindTriangle
    """
    course, tas = np.broadcast_arrays(real(course_deg), real(tas_kt))
    headwind, crosswind = components(course, wind_from_deg, wind_kt)
    speed, solvable = groundspeed_kt(tas, headwind, crosswind)
    sine = np.where(solvable, crosswind / np.where(solvable, tas, 1.0), 0.0)
    wca = np.rad2deg(np.arcsin(sine))
    return WindTriangle(_circle(course + wca), wca, speed, solvable)


def track_of_heading(heading_deg: npt.ArrayLike, tas_kt: npt.ArrayLike, wind_from_deg: npt.ArrayLike,
                     wind_kt: npt.ArrayLike) -> tuple[FloatArray, FloatArray]:
    """Return the track and groundspeed that result from holding a heading.

    Returns
    -------
    track_deg : float or array         0 up to 360; the heading where there is no motion over the ground. [deg]
    groundspeed_kt : float or array    [kt]
    """
    heading, tas = np.deg2rad(real(heading_deg)), real(tas_kt)
    u, v = uv_kt(wind_from_deg, wind_kt)
    east, north = tas * np.sin(heading) + u, tas * np.cos(heading) + v
    speed = np.hypot(east, north)
    track = np.where(speed > 0.0, np.rad2deg(np.arctan2(east, north)), np.rad2deg(heading))
    return _circle(track), speed


def out_and_back_h(distance_nm: npt.ArrayLike, tas_kt: npt.ArrayLike, headwind_kt: npt.ArrayLike,
                   crosswind_kt: npt.ArrayLike = 0.0) -> FloatArray:
    """Return the hours out and back over a distance in one steady wind; infinite where a way is not solvable. [h]."""
    out, _ = groundspeed_kt(tas_kt, headwind_kt, crosswind_kt)
    back, _ = groundspeed_kt(tas_kt, -real(headwind_kt), crosswind_kt)
    return time_h(distance_nm, out) + time_h(distance_nm, back)
