"""Parabolic drag polar CD = CD0 + k CL², and range by Breguet.

References
----------
.. [1] Anderson, Introduction to Flight, chapter on airplane performance: lift-drag ratio, range.
"""

from __future__ import annotations

import math

import numpy as np
import numpy.typing as npt

from missionsim.physics.units import M_PER_FT, M_PER_NM, FloatArray, real

FT_PER_NM = M_PER_NM / M_PER_FT
FT_LB_PER_HP_H = 550.0 * 3600.0
"""One horsepower is 550 foot-pounds a second, by definition."""

MIN_POWER_SPEED_RATIO = 3.0 ** -0.25
"""Speed for least power over speed for best lift-drag ratio, for any parabolic polar."""

MIN_POWER_DRAG_RATIO = 2.0 / math.sqrt(3.0)
"""Drag at the speed for least power over the least drag."""


def induced_factor(aspect_ratio: npt.ArrayLike, span_efficiency: npt.ArrayLike) -> FloatArray:
    """Return k of the polar: 1 / (pi e AR)."""
    return 1.0 / (math.pi * real(span_efficiency) * real(aspect_ratio))


def drag_coefficient(lift_coefficient: npt.ArrayLike, zero_lift_drag: npt.ArrayLike, induced_factor: npt.ArrayLike,
                     ) -> FloatArray:
    """Return CD of the polar."""
    lift = real(lift_coefficient)
    return real(zero_lift_drag) + real(induced_factor) * lift * lift


def best_lift_coefficient(zero_lift_drag: npt.ArrayLike, induced_factor: npt.ArrayLike) -> FloatArray:
    """Return CL at the best lift-drag ratio, where induced drag equals zero-lift drag."""
    return np.sqrt(real(zero_lift_drag) / real(induced_factor))


def max_lift_drag_ratio(zero_lift_drag: npt.ArrayLike, induced_factor: npt.ArrayLike) -> FloatArray:
    """Return the best CL/CD, which sets range and glide."""
    return 0.5 / np.sqrt(real(zero_lift_drag) * real(induced_factor))


def max_endurance_factor(zero_lift_drag: npt.ArrayLike, induced_factor: npt.ArrayLike) -> FloatArray:
    """Return the best CL^1.5/CD, which sets endurance and rate of climb behind a propeller."""
    cd0 = real(zero_lift_drag)
    return 0.25 * (3.0 / real(induced_factor)) ** 0.75 * cd0 ** -0.25


def relative_drag(speed_ratio: npt.ArrayLike) -> FloatArray:
    """Return drag over least drag at a speed over the speed for least drag, same weight and density."""
    square = real(speed_ratio) ** 2
    return 0.5 * (square + 1.0 / square)


def breguet_range_nm(propeller_efficiency: npt.ArrayLike, bsfc_lb_per_hp_h: npt.ArrayLike,
                     lift_drag_ratio: npt.ArrayLike, start_weight_lb: npt.ArrayLike, end_weight_lb: npt.ArrayLike,
                     ) -> FloatArray:
    """Return still-air range of a propeller aircraft cruised at one lift-drag ratio.

    Parameters
    ----------
    propeller_efficiency : float or array   Thrust power over brake power, 0 to 1.
    bsfc_lb_per_hp_h : float or array       Brake specific fuel consumption. [lb/(hp h)]
    lift_drag_ratio : float or array        Lift over drag, held throughout.
    start_weight_lb, end_weight_lb          Weight before and after the fuel is burned. [lb]

    Returns
    -------
    float or array                          Range, without climb, reserve or wind. [nm]
    """
    feet_per_log = real(propeller_efficiency) / real(bsfc_lb_per_hp_h) * FT_LB_PER_HP_H * real(lift_drag_ratio)
    return feet_per_log / FT_PER_NM * np.log(real(start_weight_lb) / real(end_weight_lb))
