"""Climb, cruise and descent of a flight in still air, and what the wind makes of them."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Protocol

import numpy as np

from missionsim.base.arrays import Array, Bools


class FlightPerformance(Protocol):
    """What a plan asks of an aircraft; arrays in, arrays out. NaN says: not in the table."""

    def cruise(self, level_ft: Any, isa_deviation_c: Any, weight_lb: Any) -> tuple[Array, Array]:
        """Return true airspeed [kt] and fuel flow [gal/h]."""
        ...

    def climb(self, from_ft: Any, to_ft: Any, isa_deviation_c: Any, weight_lb: Any) -> tuple[Array, Array, Array]:
        """Return time [h], fuel [gal] and distance through the air; arguments as for `Performance.climb`. [nm]"""
        ...

    def descent(self, from_ft: Any, to_ft: Any, isa_deviation_c: Any, weight_lb: Any) -> tuple[Array, Array, Array]:
        """Return time [h], fuel [gal] and distance through the air; arguments as for `climb`. [nm]"""
        ...

    def climb_rate_fpm(self, level_ft: Any, isa_deviation_c: Any, weight_lb: Any) -> Array:
        """Return the rate of climb [ft/min]."""
        ...


FIELDS = ("climb_h", "climb_gal", "climb_nm", "tas_kt", "fuel_flow_gph", "climb_rate_fpm")
"""The parts of `Segments` that vary with temperature and weight enough to matter."""


@dataclass(frozen=True, slots=True)
class Segments:
    """Still-air parts of flights; every array broadcasts against the others.

    `climb_rate_fpm` is at the cruising level. Descent is taken at the landing weight, standard temperature.
    """

    climb_h: Array
    climb_gal: Array
    climb_nm: Array
    tas_kt: Array
    fuel_flow_gph: Array
    climb_rate_fpm: Array
    descent_h: Array
    descent_gal: Array
    descent_nm: Array


@dataclass(frozen=True, slots=True)
class FlownLeg:
    """Flights with wind. Where `possible` is False the other figures are zero, or mean nothing: see `with_wind`."""

    possible: Bools
    flight_h: Array
    fuel_gal: Array
    groundspeed_kt: Array
    cruise_h: Array


def still_air(performance: FlightPerformance, from_ft: Array, to_ft: Array, level_ft: Array, distance_nm: Array,
              isa_deviation_c: Array, takeoff_weight_lb: Array, fuel_lb_per_gal: float) -> Segments:
    """Return the still-air parts of flights at a level, take-off weight and temperature deviation.

    Climb is at take-off weight; cruise at the weight half way, with the burn of a still-air cruise; the descent at
    the weight on arrival.

    Parameters
    ----------
    performance : FlightPerformance
    from_ft, to_ft : array         Field pressure altitudes. [ft]
    level_ft, distance_nm, isa_deviation_c, takeoff_weight_lb : arrays that broadcast together.
    """
    climb_h, climb_gal, climb_nm = performance.climb(from_ft, level_ft, isa_deviation_c, takeoff_weight_lb)
    after_climb_lb = takeoff_weight_lb - climb_gal * fuel_lb_per_gal
    tas_kt, flow_gph = performance.cruise(level_ft, isa_deviation_c, after_climb_lb)
    cruise_h = np.maximum(distance_nm - climb_nm, 0.0) / tas_kt
    half_way_lb = after_climb_lb - 0.5 * cruise_h * flow_gph * fuel_lb_per_gal
    tas_kt, flow_gph = performance.cruise(level_ft, isa_deviation_c, half_way_lb)
    landing_lb = after_climb_lb - cruise_h * flow_gph * fuel_lb_per_gal
    descent_h, descent_gal, descent_nm = performance.descent(level_ft, to_ft, np.zeros(1), landing_lb)
    rate_fpm = performance.climb_rate_fpm(level_ft, isa_deviation_c, after_climb_lb)
    return Segments(climb_h, climb_gal, climb_nm, tas_kt, flow_gph, rate_fpm, descent_h, descent_gal, descent_nm)


def fly(parts: Segments, distance_nm: Array, headwind_kt: Array, crosswind_kt: Array, low_headwind_kt: Array,
        low_crosswind_kt: Array | float = 0.0, least_descent_share: float = 1.0) -> FlownLeg:
    """Return time and fuel of flights with wind, from lift-off to touchdown.

    Parameters
    ----------
    parts : Segments          Still-air parts.
    distance_nm : array       Distance over ground. [nm]
    headwind_kt, crosswind_kt : arrays   Means along the way at the cruising level; headwind positive on the nose. [kt]
    low_headwind_kt, low_crosswind_kt : arrays   Near the fields; climb and descent meet the mean of these and those at
                              the level. [kt]
    least_descent_share       Where the way is too short for the comfortable descent, one that takes no less than this
                              share of its time is flown, steeper.

    Returns
    -------
    FlownLeg   Not possible where the air is not in the table, the crosswind exceeds the airspeed, the aircraft would
               not advance, or climb and descent are longer than the way.
    """
    found = with_wind(parts, distance_nm, headwind_kt, crosswind_kt, low_headwind_kt, low_crosswind_kt,
                      least_descent_share)
    zero = np.zeros((), dtype=found.flight_h.dtype)
    return FlownLeg(found.possible, *(np.where(found.possible, values, zero) for values in (
        found.flight_h, found.fuel_gal, found.groundspeed_kt, found.cruise_h)))


def with_wind(parts: Segments, distance_nm: Array, headwind_kt: Array, crosswind_kt: Array, low_headwind_kt: Array,
              low_crosswind_kt: Array | float, least_descent_share: float) -> FlownLeg:
    """Return flights as `fly` does, but with figures that mean nothing where `possible` is False.

    For batches that look at the possible ones alone: zeros in place of the others take a third of all the time.
    """
    with np.errstate(invalid="ignore", divide="ignore"):
        along_kt = np.sqrt(np.maximum(parts.tas_kt**2 - crosswind_kt**2, 0.0))
        groundspeed_kt = along_kt - headwind_kt
        slope_headwind_kt = 0.5 * (headwind_kt + low_headwind_kt)
        slope_h = parts.climb_h + parts.descent_h
        cruise_nm = distance_nm - (_made_good_nm(parts.climb_nm + parts.descent_nm, slope_h,
                                                 0.5 * (crosswind_kt + low_crosswind_kt)) - slope_headwind_kt * slope_h)
        slope_gal = parts.climb_gal + parts.descent_gal
        if least_descent_share < 1.0:
            slope_h, slope_gal, cruise_nm = _steeper(parts, slope_headwind_kt, slope_h, slope_gal, cruise_nm,
                                                     least_descent_share)
        cruise_h = cruise_nm / groundspeed_kt
        possible = (groundspeed_kt > 1.0) & (cruise_h >= 0.0) & (np.abs(crosswind_kt) < parts.tas_kt)
        fuel_gal = slope_gal + cruise_h * parts.fuel_flow_gph
        flight_h = slope_h + cruise_h
        possible &= np.isfinite(fuel_gal) & np.isfinite(flight_h)
    return FlownLeg(possible, flight_h, fuel_gal, groundspeed_kt, cruise_h)


def _made_good_nm(through_air_nm: Array, hours_h: Array, crosswind_kt: Array) -> Array:
    """Return what is left along the track of a distance through the air when the nose is held into a crosswind."""
    across_nm = crosswind_kt * hours_h
    return np.sqrt(np.maximum(through_air_nm**2 - across_nm**2, 0.0))


def _steeper(parts: Segments, headwind_kt: Array, slope_h: Array, slope_gal: Array, cruise_nm: Array,
             least_share: float) -> tuple[Array, Array, Array]:
    """Return hours and fuel of climb and descent, and the way left to cruise, with steep descents where it is short.

    A descent takes the share of its time that leaves no cruise, if that is not too steep; a cruise of less than nothing
    is left where it is.
    """
    shape = cruise_nm.shape
    short = np.flatnonzero(cruise_nm < 0.0)
    if not len(short):
        return slope_h, slope_gal, cruise_nm
    descent_h, descent_gal, descent_nm, wind_kt = (np.broadcast_to(x, shape).reshape(-1).take(short) for x in (
        parts.descent_h, parts.descent_gal, parts.descent_nm, headwind_kt))
    hours, gallons, left_nm = (np.broadcast_to(x, shape).flatten() for x in (slope_h, slope_gal, cruise_nm))
    over_ground_nm = descent_nm - wind_kt * descent_h
    saved = np.where(over_ground_nm > 0.0, np.minimum(-left_nm[short] / over_ground_nm, 2.0), 2.0)
    steep = np.flatnonzero(saved <= 1.0 - least_share)
    short, saved = short[steep], saved[steep]
    hours[short] -= (saved * descent_h[steep]).astype(hours.dtype)
    gallons[short] -= (saved * descent_gal[steep]).astype(gallons.dtype)
    left_nm[short] = 0.0
    return hours.reshape(shape), gallons.reshape(shape), left_nm.reshape(shape)
