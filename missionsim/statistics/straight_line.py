"""The mean of one quantity at a given value of another, by a straight line through simulated years."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from missionsim.statistics.intervals import CONFIDENCE_SHARE, Interval, exact_mean, student_t_quantile

LEAST_POINTS = 8
"""Points from which an interval is told."""


def mean_at(x: ArrayLike, y: ArrayLike, value: float, confidence_share: float = CONFIDENCE_SHARE) -> Interval:
    """Return mean, low and high of y where x has a value, by least squares.

    Parameters
    ----------
    x, y : (n,) array         One pair a replication.
    value : float             Of x; beyond the values met the interval widens.
    confidence_share : float  Chance that the interval covers the true mean, where the relation is straight.

    Returns
    -------
    tuple                     None where undefined: x does not vary; an interval from fewer than eight points.

    References
    ----------
    .. [1] NIST/SEMATECH e-Handbook of Statistical Methods, 4.5.1.1, "How can I predict the value and estimate the
       uncertainty of a single response?"
    """
    xs, ys = np.asarray(x, dtype=np.float64), np.asarray(y, dtype=np.float64)
    if xs.size < 2:
        return None, None, None
    middle, level = exact_mean(xs), exact_mean(ys)
    about = xs - middle
    square = math.fsum(about * about)
    if square <= 0.0:
        return (level, None, None) if value == middle else (None, None, None)
    slope = math.fsum(about * (ys - level)) / square
    mean = level + slope * (value - middle)
    if xs.size < LEAST_POINTS:
        return mean, None, None
    rest = ys - level - slope * about
    variance = math.fsum(rest * rest) / (xs.size - 2)
    error = math.sqrt(variance * (1.0 / xs.size + (value - middle) ** 2 / square))
    half = student_t_quantile(0.5 + 0.5 * confidence_share, float(xs.size - 2)) * error
    return mean, mean - half, mean + half
