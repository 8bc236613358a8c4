"""Up to which temperature fields do for sure that are too short, or too high, on the hottest afternoon.

Most hours of a year are cooler: what is found here once a study spares them the look at distances and gradients.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from missionsim.base.arrays import Array, Ints
from missionsim.decide.candidate_plan import CoolAir, FieldRows, warmest_of
from missionsim.decide.runways import SPARE
from missionsim.flight.rules import Rules
from missionsim.study.prepare.aircraft import Equipped
from missionsim.study.prepare.runways import LOW_PRESSURE_FT

TRIED_C = np.array([-30.0, -15.0, -5.0, 0.0, 5.0, 10.0, 15.0, 20.0, 25.0, 30.0, 35.0], dtype=np.float32)
"""Temperatures tried. [°C]"""
TAKEOFF_OVER_LB, LANDING_OVER_LB = np.array([-75.0, 0.0, 75.0, 150.0]), np.array([-225.0, -150.0, -75.0, 0.0])
"""Weights tried, about the take-off weight expected; a flight lands lighter by what it burned. [lb]"""
BLOCK = 500
"""Fields tried at once."""


def cool_fields(fields: FieldRows, equipped: Equipped, elevation_ft: Array, takeoff_lb: Array, rules: Rules,
                landing: bool, drawn: bool) -> FieldRows:
    """Return fields with the air in which their longest runway both ways is long enough.

    Parameters
    ----------
    fields : FieldRows
    equipped : Equipped            The aircraft as the study sees it.
    elevation_ft : (place,) array  [ft]
    takeoff_lb : (row,) array      Weight expected. [lb]
    rules : Rules                  The pilot's.
    landing : bool                 Of landings, else of take-offs.
    drawn : bool                   Whether distances are drawn about those of the aircraft.
    """
    distance_ft = equipped.landing_ft if landing else equipped.takeoff_ft
    # Nobody takes off heavier; whether a flight lands too heavy is looked at elsewhere.
    top_lb = np.inf if landing else equipped.profile.max_takeoff_lb

    def needed(some: Ints, altitude_ft: Array, temperature_c: Array, weight_lb: Array) -> Array:
        calm_ft = distance_ft(altitude_ft, temperature_c, weight_lb, np.zeros(np.shape(weight_lb)))
        with np.errstate(divide="ignore"):
            return calm_ft * (rules.runway_margin * SPARE) / fields.both_ways_ft[some, None, None]

    return replace(fields, cool=cool_air(needed, elevation_ft[fields.place], takeoff_lb[fields.row],
                                         LANDING_OVER_LB if landing else TAKEOFF_OVER_LB, top_lb, drawn))


def cool_climb(rows: Ints, equipped: Equipped, elevation_ft: Array, takeoff_lb: Array, least_ft_per_nm: float,
               drawn: bool) -> CoolAir:
    """Return the air in which the departures of some rows climb steeply enough.

    Parameters
    ----------
    rows : (k,) int array         Which of all rows.
    equipped : Equipped           The aircraft as the study sees it.
    elevation_ft : (row,) array   Of the fields left. [ft]
    takeoff_lb : (row,) array     Weight expected. [lb]
    least_ft_per_nm : float       Gradient wanted. [ft/nm]
    drawn : bool                  Whether climbs are drawn about those of the aircraft.
    """
    def needed(some: Ints, altitude_ft: Array, temperature_c: Array, weight_lb: Array) -> Array:
        gradient = equipped.departure_gradient_ft_per_nm(altitude_ft, temperature_c, weight_lb)
        with np.errstate(divide="ignore"):
            return np.where(gradient > 0.0, least_ft_per_nm * SPARE / gradient, np.inf)

    return cool_air(needed, elevation_ft[rows], takeoff_lb[rows], TAKEOFF_OVER_LB, equipped.profile.max_takeoff_lb,
                    drawn)


def cool_air(needed: Callable[[Ints, Array, Array, Array], Array], elevation_ft: Array, nominal_lb: Array,
             over_lb: Array, top_lb: float, drawn: bool) -> CoolAir:
    """Return up to which temperatures fields [k] do.

    Parameters
    ----------
    needed : callable            Share of some fields that is needed, [k, step, t], by pressure altitude, temperature
                                 and weight; it rises with each.
    elevation_ft : (k,) array    [ft]
    nominal_lb : (k,) array      Weight expected. [lb]
    over_lb : (step,) array      Weights tried, over the one expected. [lb]
    top_lb : float               No flight is heavier. [lb]
    drawn : bool                 Whether what is needed is kept, to be scaled.
    """
    altitude_ft = elevation_ft + LOW_PRESSURE_FT
    share = np.empty((len(nominal_lb), len(over_lb), len(TRIED_C)), dtype=np.float32)
    for first in range(0, len(nominal_lb), BLOCK):
        some = np.arange(first, min(first + BLOCK, len(nominal_lb)))
        weight_lb = np.minimum(nominal_lb[some, None, None] + over_lb[:, None], top_lb)
        share[some] = needed(some, *np.broadcast_arrays(
            altitude_ft[some, None, None], TRIED_C.astype(float), weight_lb))
    return CoolAir(warmest_of(share, TRIED_C), altitude_ft.astype(np.float32), nominal_lb.astype(np.float32), over_lb,
                   TRIED_C, share if drawn else None)
