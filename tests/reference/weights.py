"""Rules of the textbooks on weights, balance and runways that the program does without."""

from __future__ import annotations

import numpy.typing as npt

from missionsim.physics.units import FloatArray, real


def centre_of_gravity_in(weight_lb: npt.ArrayLike, arm_in: npt.ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return total weight, total moment and centre of gravity of items along the last axis. [lb, lb in, in]."""
    weight, moment = real(weight_lb).sum(axis=-1), (real(weight_lb) * real(arm_in)).sum(axis=-1)
    return weight, moment, moment / weight


def shift_lb(total_lb: npt.ArrayLike, cg_in: npt.ArrayLike, wanted_cg_in: npt.ArrayLike, from_arm_in: npt.ArrayLike,
             to_arm_in: npt.ArrayLike) -> FloatArray:
    """Return the weight to move from one arm to another so that the centre of gravity comes where it is wanted.

    Negative where the move would have to go the other way. [lb]
    """
    return real(total_lb) * (real(wanted_cg_in) - real(cg_in)) / (real(to_arm_in) - real(from_arm_in))


def square_law_share(headwind_kt: npt.ArrayLike, speed_kt: npt.ArrayLike) -> FloatArray:
    """Return distance with wind over distance in calm, the acceleration being the same: ((V - w) / V)²."""
    return (1.0 - real(headwind_kt) / real(speed_kt)) ** 2
